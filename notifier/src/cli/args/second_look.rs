//! What a second look asks for.

use crate::cli::date;
use chrono::NaiveDate;
use clap::Subcommand;

/// `second-look`
#[derive(Debug, clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Example:\n  wingtide --dir skerrow-ness second-look --since 2026-07-01"
)]
pub struct SecondLook {
    /// Keep an answer
    #[command(subcommand)]
    pub command: Option<SecondLookCommand>,
    /// Only this site, by its id; all where left out
    #[arg(long)]
    pub site: Option<String>,
    /// Records from this date on, YYYY-MM-DD; those of the last 365 days where left out
    #[arg(long, value_parser = date::read, value_name = "DATE")]
    pub since: Option<NaiveDate>,
    /// Records that this load brought or changed, a batch as `batches` lists it
    #[arg(long, conflicts_with = "since", value_name = "N")]
    pub batch: Option<i64>,
    /// Write the letter to whoever found this record
    #[arg(long, value_name = "RECORD", conflicts_with_all = ["json", "answers"])]
    pub letter: Option<String>,
    /// Every answer that was ever given
    #[arg(long, conflicts_with_all = ["since", "batch"])]
    pub answers: bool,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// What else a second look does.
#[derive(Debug, Subcommand)]
pub enum SecondLookCommand {
    /// Keep what came of a second look; earlier answers stay
    Answer(Answering),
}

/// `second-look answer`
#[derive(Debug, clap::Args)]
#[command(
    group = clap::ArgGroup::new("verdict").required(true).args(["accepted", "changed", "withdrawn"]),
    after_help = "Example:\n  wingtide second-look answer RECORD --accepted --note \"two observers\""
)]
pub struct Answering {
    /// The record, as the list calls it
    pub record: String,
    /// It stands as it is
    #[arg(long)]
    pub accepted: bool,
    /// It was put right in the file
    #[arg(long)]
    pub changed: bool,
    /// Its finder took it back: no forecast uses it any more
    #[arg(long)]
    pub withdrawn: bool,
    /// What the reviewer says
    #[arg(long)]
    pub note: Option<String>,
    /// What it rests on: a description, pictures, a witness
    #[arg(long)]
    pub evidence: Option<String>,
    /// When it was answered, YYYY-MM-DD; today where left out
    #[arg(long, value_parser = date::read)]
    pub date: Option<NaiveDate>,
}

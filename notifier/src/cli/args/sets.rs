//! What shows, prints and teaches look-alike sets.

use chrono::NaiveDate;
use std::path::PathBuf;

/// `set`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide set small-sandpipers")]
pub struct Set {
    /// The set's id; all are listed where it is left out
    #[arg(conflicts_with = "check")]
    pub name: Option<String>,
    /// Only what holds on this date, YYYY-MM-DD; the whole year where left out
    #[arg(long, requires = "name")]
    pub date: Option<NaiveDate>,
    /// Only this part of the world; that of the site where there is a workspace
    #[arg(long, requires = "name", value_name = "REGION")]
    pub region: Option<String>,
    /// Site whose region and counts the key starts from; may be left out where there is one site
    #[arg(long, requires = "name")]
    pub site: Option<String>,
    /// Ask one mark at a time, to learn by; today's month where no date is given
    #[arg(long, requires = "name")]
    pub key: bool,
    /// Write line drawings of bill, tail, wing and legs into this folder, as SVG
    #[arg(long, requires = "name", conflicts_with = "key", value_name = "DIR")]
    pub drawings: Option<PathBuf>,
    /// Check this set file: does it hold, and does it separate every two members that meet?
    #[arg(long, value_name = "FILE")]
    pub check: Option<PathBuf>,
}

/// `handout`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness handout small-sandpipers --site long-bank --pdf"
)]
pub struct Handout {
    /// The set's id, as `set` lists it
    pub set: String,
    /// Site id; may be left out where there is one site
    #[arg(long)]
    pub site: Option<String>,
    /// Folder for it; handouts in the workspace where left out
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Also as a PDF of two pages, by Chromium where it is found
    #[arg(long)]
    pub pdf: bool,
    /// Make the PDF without a browser
    #[arg(long, requires = "pdf")]
    pub without_browser: bool,
    /// What others may do with it, instead of what [handout] in wingtide.toml says
    #[arg(long, value_name = "TEXT")]
    pub licence: Option<String>,
}

/// `practice`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness practice --site long-bank --birds 6"
)]
pub struct Practice {
    /// Only this site; any, by lot, where left out
    #[arg(long)]
    pub site: Option<String>,
    /// Only this set; any, by lot, where left out
    #[arg(long, value_name = "SET")]
    pub set: Option<String>,
    /// Number that the first bird is drawn by, the next ones by those after it; where left out, one that each day has for itself
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=999_999_900))]
    pub seed: Option<u64>,
    /// How many birds
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=40))]
    pub birds: u32,
    /// Without the key
    #[arg(long)]
    pub without_key: bool,
    /// Folder for it; handouts in the workspace where left out
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
}

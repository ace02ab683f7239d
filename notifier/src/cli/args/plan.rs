//! What a plan of visits asks for.

use crate::cli::date;
use chrono::{NaiveDate, Weekday};
use config::settings::NotOn;
use std::path::PathBuf;

/// `plan`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness plan --from 2027-08-01 --to 2027-10-31"
)]
pub struct Plan {
    /// First date to plan for, YYYY-MM-DD
    #[arg(long, value_parser = date::read)]
    pub from: NaiveDate,
    /// Last date to plan for, YYYY-MM-DD
    #[arg(long, value_parser = date::read)]
    pub to: NaiveDate,
    /// Site id; may be given again; those of [plan] in wingtide.toml, else all
    #[arg(long)]
    pub site: Vec<String>,
    /// How many visits in all, past ones of the kept plan among them; 8 where nothing says so
    #[arg(long, value_name = "K", value_parser = clap::value_parser!(u32).range(1..=366))]
    pub visits: Option<u32>,
    /// As many visits as make it so sure, in percent, that each target is found
    #[arg(long, value_name = "PERCENT", conflicts_with = "visits", value_parser = clap::value_parser!(u32).range(1..=99))]
    pub sure: Option<u32>,
    /// A species, "set:ID" or "all", with "=2" behind it if it counts twice; may be given again
    #[arg(long, value_name = "WHAT")]
    pub target: Vec<String>,
    /// Days of the week on which people go out, such as sat,sun
    #[arg(long, value_delimiter = ',', value_name = "DAYS")]
    pub weekdays: Vec<Weekday>,
    /// A date on which nobody goes out, or a day of every year such as 12-25; may be given again
    #[arg(long, value_name = "DAY")]
    pub not: Vec<NotOn>,
    /// Least days from one visit of a site to its next; 1 where nothing says so
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(1..=60))]
    pub gap: Option<u32>,
    /// Most visits in a week, all sites together; no limit where nothing says so
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=100))]
    pub per_week: Option<u32>,
    /// How many teams go out, each to one site a day; 1 where nothing says so
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=20))]
    pub teams: Option<u32>,
    /// How many km apart a team's sites of two consecutive days may lie; no limit where nothing says so
    #[arg(long, value_name = "KM", value_parser = kilometres)]
    pub farthest: Option<f64>,
    /// Name a date within so many days to go instead when it rains; none where nothing says so
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(0..=14))]
    pub rain: Option<u32>,
    /// Tide times to start by: a CSV file with the columns date,time,height in local time
    #[arg(long, value_name = "FILE")]
    pub tides: Option<PathBuf>,
    /// Plan as on this date, YYYY-MM-DD; today where left out
    #[arg(long, value_parser = date::read)]
    pub date: Option<NaiveDate>,
    /// Keep the plan, so that the next one knows which dates moved
    #[arg(long)]
    pub keep: bool,
    /// As JSON
    #[arg(long)]
    pub json: bool,
    /// Write a row for each visit to this file
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Write a calendar to this file, and keep the plan
    #[arg(long, value_name = "FILE")]
    pub ics: Option<PathBuf>,
    /// Write field sheets to print to this file, and keep the plan
    #[arg(long, value_name = "FILE")]
    pub sheets: Option<PathBuf>,
}

fn kilometres(text: &str) -> Result<f64, String> {
    let km = text.parse().ok().filter(|km| (0.0..=1000.0).contains(km));
    km.ok_or_else(|| "expected kilometres, a number from 0 to 1000".to_owned())
}

//! What tells of curves, weeks and seasons, and how well they did.

use crate::cli::{date, season};
use chrono::NaiveDate;
use config::settings::Stretch;
use forecast::fit::PassageName;
use std::path::PathBuf;

/// `windows`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness windows --site long-bank")]
pub struct Windows {
    /// Only this site, by its id; all where left out
    #[arg(long)]
    pub site: Option<String>,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// `curve`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness curve --site long-bank --species Dunlin"
)]
pub struct Curve {
    /// Site id; may be left out where there is one site
    #[arg(long)]
    pub site: Option<String>,
    /// Scientific or common name
    #[arg(long)]
    pub species: String,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// `week`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness week --site long-bank --date 2026-09-09"
)]
pub struct Week {
    /// Site id; may be left out where there is one site
    #[arg(long)]
    pub site: Option<String>,
    /// Any day of the week, YYYY-MM-DD; today at the site where left out
    #[arg(long, value_parser = date::read)]
    pub date: Option<NaiveDate>,
    /// Also how often such chances came true, as issued and over past seasons
    #[arg(long)]
    pub record: bool,
    /// Only this look-alike set
    #[arg(long)]
    pub set: Option<String>,
    /// Every mark, not the few that matter most
    #[arg(long)]
    pub all: bool,
    /// Without the records of the last 365 days that a second look asks about, unanswered
    #[arg(long)]
    pub without_pending: bool,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// `season`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness season --site long-bank --date 2026-09-09"
)]
pub struct Season {
    /// Site id; may be left out where there is one site
    #[arg(long)]
    pub site: Option<String>,
    /// As it was known on this day, YYYY-MM-DD; today at the site where left out
    #[arg(long, value_parser = date::read)]
    pub date: Option<NaiveDate>,
    /// A season, such as 2010-autumn, looked back on; the passages under way where left out
    #[arg(long, value_name = "YEAR-NAME", value_parser = season::read)]
    pub season: Option<SeasonName>,
    /// Sentences on every passage, not on the three oddest alone
    #[arg(long)]
    pub all: bool,
    /// Draw all passages at a glance into this .png or .svg file
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// Write the report as a page, with tables and a chart of every passage, to this .html file
    #[arg(long, value_name = "FILE")]
    pub page: Option<PathBuf>,
    /// For yourself alone: page and chart with sensitive species, and of a sensitive site
    #[arg(long)]
    pub with_sensitive: bool,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// A season as it is called: the year in which its birds arrive, and the passage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeasonName {
    /// Year.
    pub year: i32,
    /// Passage.
    pub name: PassageName,
}

/// `backtest`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness backtest --from 2015 --to 2020")]
pub struct Backtest {
    /// First year to test
    #[arg(long, value_name = "YEAR")]
    pub from: i32,
    /// Last year to test
    #[arg(long, value_name = "YEAR")]
    pub to: i32,
    /// Only this site, by its id; all where left out
    #[arg(long)]
    pub site: Option<String>,
    /// Learn from so many preceding years only; from all where left out
    #[arg(long, value_name = "YEARS", value_parser = clap::value_parser!(i32).range(1..))]
    pub history: Option<i32>,
    /// Stretch of the year on whose Mondays forecasts are issued; may be given again. Left out,
    /// those of [backtest] in wingtide.toml, else 03-01..06-05 and 08-15..11-30
    #[arg(long, value_name = "MM-DD..MM-DD")]
    pub mondays: Vec<Stretch>,
    /// Write every forecast to this CSV file
    #[arg(long, value_name = "FILE")]
    pub predictions: Option<PathBuf>,
    /// Draw reliability and PIT of ours and both climatologies into this .png or .svg file
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// The whole summary as JSON
    #[arg(long)]
    pub json: bool,
}

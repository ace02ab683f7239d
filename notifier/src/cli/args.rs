//! What can be typed.

use chrono::{NaiveDate, Weekday};
use clap::{Parser, Subcommand};
use config::settings::{NotOn, Stretch};
use forecast::fit::PassageName;
use std::net::SocketAddr;
use std::path::PathBuf;

/// Which look-alike birds are about together this week, and which marks to trust.
#[derive(Debug, Parser)]
#[command(
    name = "wingtide",
    version,
    after_help = "Example:\n  wingtide --dir skerrow-ness week --site long-bank\n\n\
                  \"wingtide COMMAND --help\" tells of one command, with an example."
)]
pub struct Args {
    /// The workspace: the folder with wingtide.toml
    #[arg(long, global = true, default_value = ".", value_name = "DIR")]
    pub dir: PathBuf,
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Start a workspace: a folder with a commented wingtide.toml
    New(New),
    /// Make an invented reserve, load and fit it, and show this week's guidance
    Demo(Demo),
    /// Load the counts, visits and temperatures that wingtide.toml names
    Load(Load),
    /// List every load of a source, what became of it and what the store takes on the disk; or show one
    Batches(Batches),
    /// Undo a load of one source: the rows that it replaced come back
    Undo(Undo),
    /// Erase an observer's name from all that the store keeps; counts stay as they are
    EraseObserver(EraseObserver),
    /// Fit the seasonal curves of every species at every site
    #[command(after_help = "Example, after every load:\n  wingtide --dir skerrow-ness fit")]
    Fit,
    /// Show arrival, median, peak and departure of every passage
    Windows(Windows),
    /// Show the year curve of one species at one site
    Curve(Curve),
    /// Show a week's guidance for a site
    Week(Week),
    /// Tell whether a season runs early or late, strong or weak, against the other years
    Season(Season),
    /// Show a look-alike set, ask through it, draw it, or check one of your own
    Set(Set),
    /// Write a look-alike set at a site as two sides to print and hand out
    Handout(Handout),
    /// Write birds drawn by lot as a page to practise on, with a key for the teacher
    Practice(Practice),
    /// Plan on which dates to go out, so that most is found
    Plan(Plan),
    /// Write a week's digest as web page, text and mail, or send it
    Digest(Digest),
    /// Show what became of the digests that were sent, try again, give up
    Deliveries(Deliveries),
    /// Take in a mail that came back, from the mail server on standard input
    #[command(after_help = "Example:\n  wingtide --dir skerrow-ness bounce < returned.eml")]
    Bounce,
    /// Load, fit and send the digest at set times, for as long as the program runs
    Serve(Serve),
    /// Pack the settings and the store into one archive
    Backup(Backup),
    /// Take a workspace out of an archive that "backup" made
    Restore(Restore),
    /// Write the pages and feeds that the service shows to everybody as a folder of files
    Pages(Pages),
    /// Pass counts on: tables that load again, or a Darwin Core Archive
    Export(Export),
    /// Records that the forecast did not expect: list them, write to a finder, keep an answer
    SecondLook(SecondLook),
    /// Test the forecasts on past years against what was found, beside two climatologies
    Backtest(Backtest),
}

/// `new`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide new mine --from counts.csv")]
pub struct New {
    /// Folder to make
    pub dir: PathBuf,
    /// Propose the settings from this file's own header and rows; a commented example where left out
    #[arg(long, value_name = "FILE")]
    pub from: Option<PathBuf>,
}

/// `demo`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide demo skerrow-ness")]
pub struct Demo {
    /// Folder to make
    #[arg(default_value = "skerrow-ness")]
    pub dir: PathBuf,
    /// Whole number from which the invented counts are drawn: the same one, the same counts
    #[arg(long, default_value_t = crate::demo::SEED)]
    pub seed: u64,
}

/// `batches`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness batches 3")]
pub struct Batches {
    /// Show this one, and write the page on it
    pub batch: Option<i64>,
    /// Write that page to this file, not to report/batch-N.html in the workspace
    #[arg(long, value_name = "FILE", requires = "batch")]
    pub report: Option<PathBuf>,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// `undo`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness undo 3")]
pub struct Undo {
    /// Number of the batch, as `batches` lists it
    pub batch: i64,
}

/// `erase-observer`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness erase-observer \"Ann Warden\"")]
pub struct EraseObserver {
    /// The name as it is kept; first letters where no more is kept
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    pub name: Option<String>,
    /// The names of all observers
    #[arg(long)]
    pub all: bool,
}

/// `load`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness load")]
pub struct Load {
    /// Also files that look as they did, and files whose batches were undone
    #[arg(long)]
    pub again: bool,
    /// Write the report as a page to this file, not to report/load.html in the workspace
    #[arg(long, value_name = "FILE")]
    pub report: Option<PathBuf>,
    /// Fetch nothing: use the copies of the sources with a url
    #[arg(long)]
    pub offline: bool,
    /// The whole report as JSON
    #[arg(long)]
    pub json: bool,
}

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
    #[arg(long, value_parser = super::date::read)]
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
    #[arg(long, value_parser = super::date::read)]
    pub date: Option<NaiveDate>,
    /// A season, such as 2010-autumn, looked back on; the passages under way where left out
    #[arg(long, value_name = "YEAR-NAME", value_parser = super::season::read)]
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
    #[arg(long, value_parser = super::date::read, value_name = "DATE")]
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
    #[arg(long, value_parser = super::date::read)]
    pub date: Option<NaiveDate>,
}

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
    /// Number that the first bird is drawn by, the next ones by those after it; today's date where left out
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

/// `plan`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness plan --from 2026-08-01 --to 2026-10-31"
)]
pub struct Plan {
    /// First date to plan for, YYYY-MM-DD
    #[arg(long, value_parser = super::date::read)]
    pub from: NaiveDate,
    /// Last date to plan for, YYYY-MM-DD
    #[arg(long, value_parser = super::date::read)]
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
    #[arg(long, value_parser = super::date::read)]
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

/// `digest`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness digest --out digest")]
pub struct Digest {
    /// Any day of the week, YYYY-MM-DD; today where left out
    #[arg(long, value_parser = super::date::read)]
    pub date: Option<NaiveDate>,
    /// Folder for digest.html, digest.txt and digest.eml
    #[arg(long, value_name = "DIR", required_unless_present = "send")]
    pub out: Option<PathBuf>,
    /// Send it to the recipients and webhooks of wingtide.toml, each once
    #[arg(long)]
    pub send: bool,
}

/// `deliveries`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness deliveries --retry refused")]
pub struct Deliveries {
    /// Only of this digest, by its key; else of the last one, and what waits of earlier ones
    #[arg(long, value_name = "KEY")]
    pub digest: Option<String>,
    /// Try what waits or was refused again, now: an address, a webhook's id, "waiting",
    /// "refused" or "all"
    #[arg(long, value_name = "WHO")]
    pub retry: Vec<String>,
    /// Give up what waits or was refused: whom, as above
    #[arg(long, value_name = "WHO")]
    pub abandon: Vec<String>,
    /// Mail a reader again who was paused or had left
    #[arg(long, value_name = "ADDRESS")]
    pub resume: Vec<String>,
    /// Whole addresses, which are else shown in part
    #[arg(long)]
    pub addresses: bool,
    /// As JSON
    #[arg(long)]
    pub json: bool,
}

/// `serve`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness serve --listen 127.0.0.1:7878")]
pub struct Serve {
    /// Where the status page answers, instead of where [service] says; port 0 takes a free one
    #[arg(long, value_name = "ADDRESS:PORT")]
    pub listen: Option<SocketAddr>,
    /// How the log is written to standard error
    #[arg(long, value_enum, default_value_t = LogForm::Text)]
    pub log: LogForm,
}

/// The form of a log's lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum LogForm {
    /// For people
    Text,
    /// An object a line, for programs
    Json,
}

/// `backup`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness backup skerrow-2026-09-07.zip")]
pub struct Backup {
    /// The archive to write, such as skerrow-2026-09-07.zip
    pub file: PathBuf,
}

/// `restore`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide restore skerrow-2026-09-07.zip --into skerrow-again")]
pub struct Restore {
    /// The archive
    pub file: PathBuf,
    /// A new or empty folder for the workspace; the one that --dir names where left out
    #[arg(long, value_name = "DIR")]
    pub into: Option<PathBuf>,
}

/// `export`
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  wingtide --dir skerrow-ness export --format csv --out passed-on"
)]
pub struct Export {
    /// What to write
    #[arg(long, value_enum)]
    pub format: ExportFormat,
    /// A new folder for it, or one that an earlier export made
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
}

/// `pages`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness pages --out public")]
pub struct Pages {
    /// A new folder for them, or one that an earlier run made
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
}

/// What counts are passed on as.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum ExportFormat {
    /// Counts, visits and temperature as CSV, with a wingtide.toml that loads them
    Csv,
    /// The same as Parquet
    Parquet,
    /// A Darwin Core Archive with the Humboldt Extension
    DarwinCore,
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

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    /// The command lines of a help text: indented, and beginning with the program.
    fn examples(command: &clap::Command) -> Vec<String> {
        let told = command.get_after_help().map(ToString::to_string);
        let told = told.unwrap_or_default();
        let lines = told.lines().filter_map(|l| l.strip_prefix("  "));
        lines
            .filter(|l| l.starts_with("wingtide "))
            .map(str::to_owned)
            .collect()
    }

    /// As a shell splits it: at spaces, but not within double quotes; input is none of ours.
    fn split(line: &str) -> Vec<String> {
        let line = line.split(" < ").next().unwrap_or(line);
        let mut words = Vec::new();
        for (i, part) in line.split('"').enumerate() {
            match i % 2 {
                0 => words.extend(part.split_whitespace().map(str::to_owned)),
                _ => words.push(part.to_owned()),
            }
        }
        words
    }

    #[test]
    fn every_command_has_an_example_that_is_understood() {
        let program = Args::command();
        let answer = program
            .find_subcommand("second-look")
            .and_then(|c| c.find_subcommand("answer"));
        let mut commands: Vec<&clap::Command> = program.get_subcommands().collect();
        commands.extend([&program, answer.expect("a command")]);
        for command in commands.into_iter().filter(|c| c.get_name() != "help") {
            let examples = examples(command);
            assert!(!examples.is_empty(), "{}: no example", command.get_name());
            for example in examples {
                let read = Args::try_parse_from(split(&example));
                assert!(read.is_ok(), "{example}: {}", read.unwrap_err());
                let words = split(&example);
                let name = command.get_name().to_owned();
                assert!(words.contains(&name), "{example} is not one of {name}");
            }
        }
    }
}

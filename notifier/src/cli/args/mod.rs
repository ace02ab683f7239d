//! What can be typed: the commands here, their options in a file a group.

#[cfg(test)]
mod examples;
mod forecasts;
mod plan;
mod rows;
mod second_look;
mod service;
mod sets;
mod workspace;
mod year;

pub use forecasts::{Backtest, Curve, Season, SeasonName, Week, Windows};
pub use plan::Plan;
pub use rows::{Batches, EraseObserver, Export, ExportFormat, Load, Undo};
pub use second_look::{Answering, SecondLook, SecondLookCommand};
pub use service::{Deliveries, Digest, LogForm, Pages, Serve};
pub use sets::{Handout, Practice, Set};
pub use workspace::{Backup, Demo, New, Restore};
pub use year::{PaperSize, Year};

use clap::{Parser, Subcommand};
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
    /// Write the year of a site, all its species, as a chart to hang on a wall
    Year(Year),
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

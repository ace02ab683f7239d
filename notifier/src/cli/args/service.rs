//! What goes out to readers: digests, pages, and the service that sends them.

use crate::cli::date;
use chrono::NaiveDate;
use std::net::SocketAddr;
use std::path::PathBuf;

/// `digest`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness digest --out digest")]
pub struct Digest {
    /// Any day of the week, YYYY-MM-DD; today where left out
    #[arg(long, value_parser = date::read)]
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

/// `pages`
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  wingtide --dir skerrow-ness pages --out public")]
pub struct Pages {
    /// A new folder for them, or one that an earlier run made
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
}

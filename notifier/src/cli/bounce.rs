//! `wingtide bounce`, called by the mail server for each mail to the bounces' address.

use super::{Failure, Streams, program};
use crate::deliveries::key::StoreKey;
use crate::deliveries::returned::{self, Returned};
use crate::service::tables;
use chrono::Utc;
use std::io::Read;
use std::path::Path;

/// Exit codes that mail servers go by (sysexits.h): what is no mail is not worth another try, and
/// what cannot be recorded now is.
const DATA_ERROR: u8 = 65;
const TRY_LATER: u8 = 75;

/// The longest mail that is looked at; what comes back carries the digest, of some 100 kB.
const LONGEST: u64 = 16 << 20;

/// Takes in one mail.
pub fn run(dir: &Path, streams: &mut Streams) -> Result<(), Failure> {
    let mut bytes = Vec::new();
    let read = (&mut *streams.input).take(LONGEST).read_to_end(&mut bytes);
    read.map_err(|e| Failure::from(e).code(TRY_LATER))?;
    let taken = take_in(dir, &bytes).map_err(|failure| failure.code(TRY_LATER))?;
    let Some(taken) = taken else {
        let none = "what came on standard input is no mail (RFC 5322)";
        return Err(Failure::new(none).code(DATA_ERROR));
    };
    let words = program::complete(&words(&taken), dir);
    writeln!(streams.err, "{words}")?;
    Ok(())
}

fn take_in(dir: &Path, bytes: &[u8]) -> Result<Option<Returned>, Failure> {
    let workspace = config::load(dir)?;
    let conn = tables::open(&workspace.root)?;
    let key = StoreKey::open(&workspace.root)?;
    Ok(returned::take_in(&conn, &key, bytes, Utc::now())?)
}

fn words(taken: &Returned) -> String {
    match taken {
        Returned::Paused { mail, why } => format!(
            "{mail} is paused: mail to them comes back ({why}). To mail them again: wingtide \
             deliveries --resume {mail}"
        ),
        Returned::Passing { mail, why } => {
            format!("Nothing to do for {mail}: what is reported may pass ({why}).")
        }
        Returned::Left { mail } => format!("{mail} is off the list, as they wish."),
        Returned::NotOurs => "Nothing to do: the report returns no mail of this workspace.".into(),
        Returned::NoReport => {
            "Nothing to do: this is neither a report (RFC 3464) nor a wish to leave.".into()
        }
    }
}

//! `wingtide new DIR`

use super::args::New;
use super::{Failure, Streams};
use crate::demo;
use config::settings::Species;
use ingest::propose::{FILL_IN, Proposal, propose};
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::Path;

/// Makes the folder and writes the commented settings, or those that a file proposes; an existing
/// file is left alone.
pub fn run(args: &New, streams: &mut Streams) -> Result<(), Failure> {
    // before anything is written: a file that proposes nothing leaves no folder behind
    let proposal = args.from.as_ref().map(|file| proposed(&args.dir, file));
    let proposal = proposal.transpose()?;
    fs::create_dir_all(&args.dir).map_err(|e| {
        Failure::new(format!(
            "cannot make the folder {}: {e}",
            args.dir.display()
        ))
    })?;
    let text = match &proposal {
        Some(proposal) => proposal.toml(),
        None => config::new_workspace_toml().to_owned(),
    };
    let path = write_settings(&args.dir, &text)?;
    if let Some(proposal) = &proposal {
        write!(streams.out, "{proposal}")?;
    }
    writeln!(streams.out, "{}", path.display())?;
    streams.remark(&next(&args.dir, proposal.as_ref()))
}

fn write_settings(dir: &Path, text: &str) -> Result<std::path::PathBuf, Failure> {
    let path = dir.join(config::FILE_NAME);
    let mut file = fs::File::create_new(&path).map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => Failure::new(format!(
            "{} exists already; it was left as it is",
            path.display()
        )),
        _ => Failure::new(format!("cannot write {}: {e}", path.display())),
    })?;
    file.write_all(text.as_bytes())?;
    Ok(path)
}

/// Settings for a file, which they name within the folder or by its whole path.
fn proposed(dir: &Path, file: &Path) -> Result<Proposal, Failure> {
    let whole = |path: &Path| fs::canonicalize(path).or_else(|_| std::path::absolute(path));
    let (from, into) = (whole(file)?, whole(dir)?);
    let named = from.strip_prefix(&into).unwrap_or(&from);
    let zone = iana_time_zone::get_timezone().ok();
    Ok(propose(
        file,
        &named.display().to_string(),
        zone.as_deref(),
        &listed_species(&from),
    )?)
}

/// The species of a workspace in which the file lies, then those of the demo: people's own words
/// for a bird go before ours.
fn listed_species(file: &Path) -> Vec<Species> {
    let around = file.parent().map(config::load);
    let own = around.and_then(Result::ok).map(|around| around.species);
    let mut species = own.unwrap_or_default();
    species.extend(demo::listed_species());
    species
}

fn next(dir: &Path, proposal: Option<&Proposal>) -> String {
    let dir = dir.display();
    match proposal {
        None => format!(
            "Write your sites and files into it, then run: wingtide --dir {dir} load, then fit, then week."
        ),
        Some(proposal) if proposal.is_ready() => {
            format!("Read it through, then run: wingtide --dir {dir} load, then fit, then week.")
        }
        Some(_) => format!(
            "Read it through and write the truth wherever \"{FILL_IN}\" stands, then run: wingtide --dir {dir} load"
        ),
    }
}

//! `wingtide new DIR`

use super::args::New;
use super::{Failure, Streams};
use crate::demo;
use config::settings::Species;
use ingest::propose::{FILL_IN, Proposal, propose};
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

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

fn write_settings(dir: &Path, text: &str) -> Result<PathBuf, Failure> {
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

/// Settings for a file, which they name as seen from the folder where it lies below or beside it,
/// so that both can be moved together, else by its whole path.
fn proposed(dir: &Path, file: &Path) -> Result<Proposal, Failure> {
    let from = fs::canonicalize(file).or_else(|_| std::path::absolute(file))?;
    let named = named(&from, &to_be(dir)?);
    let zone = iana_time_zone::get_timezone().ok();
    Ok(propose(
        file,
        &named.display().to_string(),
        zone.as_deref(),
        &listed_species(&from),
    )?)
}

/// The whole path of a folder that may not be there yet, without symbolic links.
fn to_be(dir: &Path) -> std::io::Result<PathBuf> {
    let whole = std::path::absolute(dir)?;
    for there in whole.ancestors() {
        if let (Ok(real), Ok(rest)) = (fs::canonicalize(there), whole.strip_prefix(there)) {
            return Ok(real.join(rest));
        }
    }
    Ok(whole)
}

fn named(file: &Path, dir: &Path) -> PathBuf {
    if let Ok(below) = file.strip_prefix(dir) {
        return below.to_owned();
    }
    // all files have the root above them, which is no neighbourhood
    let around = dir.parent().filter(|around| around.parent().is_some());
    match around.and_then(|around| file.strip_prefix(around).ok()) {
        Some(beside) => Path::new("..").join(beside),
        None => file.to_owned(),
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_named_as_seen_from_the_folder() {
        for (file, dir, expected) in [
            ("/birds/mine/counts.csv", "/birds/mine", "counts.csv"),
            (
                "/birds/mine/old/counts.csv",
                "/birds/mine",
                "old/counts.csv",
            ),
            ("/birds/counts.csv", "/birds/mine", "../counts.csv"),
            (
                "/birds/sheets/counts.csv",
                "/birds/mine",
                "../sheets/counts.csv",
            ),
            (
                "/elsewhere/counts.csv",
                "/birds/mine",
                "/elsewhere/counts.csv",
            ),
            ("/tmp/counts.csv", "/mine", "/tmp/counts.csv"),
        ] {
            assert_eq!(
                named(Path::new(file), Path::new(dir)),
                Path::new(expected),
                "{file} from {dir}"
            );
        }
    }
}

//! `wingtide set`

mod check;

use super::args::Set;
use super::{Failure, Streams};
use crate::words;
use config::look_alikes::{LookAlikeSet, shipped};
use std::path::Path;

/// Lists the sets, or does with one what is asked.
pub fn run(dir: &Path, args: &Set, streams: &mut Streams) -> Result<(), Failure> {
    match &args.check {
        Some(file) => check::run(file, streams),
        None => list(&known(dir)?, streams),
    }
}

/// The sets of the workspace before all others that ship; the shipped ones where there is no
/// workspace.
fn known(dir: &Path) -> Result<Vec<LookAlikeSet>, Failure> {
    let mut sets = match dir.join(config::FILE_NAME).exists() {
        true => config::load(dir)?.look_alikes,
        false => Vec::new(),
    };
    for set in shipped()? {
        if !sets.iter().any(|own| own.id == set.id) {
            sets.push(set);
        }
    }
    Ok(sets)
}

fn list(sets: &[LookAlikeSet], streams: &mut Streams) -> Result<(), Failure> {
    for set in sets {
        let regions: Vec<&str> = set.regions().iter().map(|r| r.0.as_str()).collect();
        let members = words::count_of(set.members.len(), "species", "species");
        let about = words::plain_spaces(&format!("{}, {members}", set.title));
        writeln!(streams.out, "{:<24} {about}", set.id)?;
        if !regions.is_empty() {
            writeln!(streams.out, "{:<24} {}", "", words::list(&regions))?;
        }
    }
    Ok(())
}

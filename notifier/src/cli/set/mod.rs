//! `wingtide set`

mod check;
mod drawings;
mod key;
mod place;

use super::args::Set;
use super::{Failure, Streams};
use crate::lesson::page;
use crate::words;
use config::look_alikes::{LookAlikeSet, shipped};
use config::nearest::nearest;
use config::settings::Workspace;
use place::Place;
use std::path::Path;

/// Lists the sets, or does with one what is asked.
pub fn run(dir: &Path, args: &Set, streams: &mut Streams) -> Result<(), Failure> {
    if let Some(file) = &args.check {
        return check::run(file, streams);
    }
    let workspace = workspace(dir)?;
    let sets = known(workspace.as_ref())?;
    let Some(name) = &args.name else {
        return list(&sets, streams);
    };
    let set = one(&sets, name)?;
    let place = Place::new(workspace.as_ref(), set, args)?;
    if args.key {
        return key::run(dir, &place, set, streams);
    }
    if let Some(folder) = &args.drawings {
        return drawings::run(folder, &place.lesson(set), streams);
    }
    let text = page(&place.lesson(set), streams.width, streams.colour);
    write!(streams.out, "{text}")?;
    Ok(())
}

/// The workspace in the folder; None where there is none, since the library needs none.
fn workspace(dir: &Path) -> Result<Option<Workspace>, Failure> {
    match dir.join(config::FILE_NAME).exists() {
        true => Ok(Some(config::load(dir)?)),
        false => Ok(None),
    }
}

/// The library of the workspace; what ships where there is none.
fn known(workspace: Option<&Workspace>) -> Result<Vec<LookAlikeSet>, Failure> {
    match workspace {
        Some(workspace) => Ok(workspace.library.clone()),
        None => Ok(shipped()?),
    }
}

fn one<'s>(sets: &'s [LookAlikeSet], name: &str) -> Result<&'s LookAlikeSet, Failure> {
    if let Some(set) = sets.iter().find(|s| s.id == name) {
        return Ok(set);
    }
    let failure = Failure::new(format!("there is no set \"{name}\""));
    let near = nearest(name, sets.iter().map(|s| s.id.as_str()));
    Err(match near {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => failure.hint("list them: wingtide set"),
    })
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

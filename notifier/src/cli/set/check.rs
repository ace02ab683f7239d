//! `wingtide set --check FILE`

use crate::cli::{Failure, Streams};
use crate::words;
use std::path::Path;

/// Tells what is wrong with a set file, which members it does not separate, and what it leaves
/// out.
///
/// # Errors
/// A file that does not hold, or a pair of members that is not separated.
pub fn run(file: &Path, streams: &mut Streams) -> Result<(), Failure> {
    let set = config::load_set(file)?;
    let name = file.display();
    for advice in set.advice() {
        writeln!(streams.err, "{name}: {advice}")?;
    }
    let broken = set.unseparated();
    if broken.is_empty() {
        let (members, marks) = (set.members.len(), set.marks.len());
        let marks = words::plain_spaces(&words::count_of(marks, "mark", "marks"));
        writeln!(
            streams.out,
            "{name} holds: {members} members, {marks}, and every two members that meet are separated"
        )?;
        return Ok(());
    }
    let told: Vec<String> = broken.iter().map(|b| format!("{name}: {b}")).collect();
    Err(Failure::new(told.join("\n")))
}

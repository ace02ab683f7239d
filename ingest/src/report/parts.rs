//! Which file, sheet or member each line of a report stands in.

use super::SourceReport;
use serde::{Deserialize, Serialize};

/// A file, sheet or member of a source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartLines {
    /// Its name.
    pub name: String,
    /// Lines of the parts before it: what the store adds to the lines of this one.
    pub lines_before: u64,
}

impl SourceReport {
    /// Turns lines that run on over all parts into lines of their part.
    pub(crate) fn place_lines(&mut self) {
        let parts = std::mem::take(&mut self.parts);
        if parts.len() < 2 {
            return;
        }
        let place = |file: &mut Option<String>, line: &mut u64| {
            let part = parts.iter().rfind(|p| p.lines_before < *line);
            if let Some(part) = part.filter(|_| file.is_none()) {
                *line -= part.lines_before;
                *file = Some(part.name.clone());
            }
        };
        self.refused
            .iter_mut()
            .for_each(|r| place(&mut r.file, &mut r.line));
        for repair in &mut self.repairs {
            place(&mut repair.file, &mut repair.first_line);
            let examples = &mut repair.examples;
            examples
                .iter_mut()
                .for_each(|e| place(&mut e.file, &mut e.line));
        }
        let species = &mut self.species;
        species
            .iter_mut()
            .for_each(|s| place(&mut s.file, &mut s.first_line));
        self.parts = parts;
    }
}

//! Which file, sheet or member each line of a report stands in.

use super::{Note, SourceReport};
use serde::{Deserialize, Serialize};
use std::fmt::{self, Display, Formatter};

/// A file, sheet or member of a source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartLines {
    /// Its name.
    pub name: String,
    /// Lines of the parts before it: what the store adds to the lines of this one.
    pub lines_before: u64,
}

/// A line with the part that it stands in, where one is named.
pub fn at(file: Option<&str>, line: u64) -> String {
    match file {
        Some(file) => format!("{file}, line {line}"),
        None => format!("line {line}"),
    }
}

impl Display for Note {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let text = &self.text;
        match (&self.file, self.line) {
            (Some(file), Some(line)) => write!(f, "{file}, line {line}: {text}"),
            (Some(file), None) => write!(f, "{file}: {text}"),
            (None, Some(line)) => write!(f, "Line {line}: {text}"),
            (None, None) => f.write_str(text),
        }
    }
}

impl SourceReport {
    /// The file, sheet or member of a line as the store keeps it, and the line there.
    pub fn place(&self, line: u64) -> (&str, u64) {
        let part = self.parts.iter().rfind(|p| p.lines_before < line);
        part.map_or((&self.file, line), |p| (&p.name, line - p.lines_before))
    }

    /// Encoding and separator, or what the file is.
    pub fn read_as(&self) -> String {
        match self.separator.as_str() {
            "" => self.encoding.clone(),
            separator => format!("{}, {separator}", self.encoding),
        }
    }

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
        for note in &mut self.notes {
            if let Some(line) = &mut note.line {
                place(&mut note.file, line);
            }
        }
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

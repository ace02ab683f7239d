//! What is wrong with a file that people wrote: one sentence a problem, all of them at once.

use crate::FILL_IN;
use std::fmt;

/// One thing wrong with a file. Its [`Display`](fmt::Display) is one sentence that names the
/// file, the line, the value and what was expected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The file as the user knows it: `wingtide.toml`, or the set file's name as written there.
    pub file: String,
    /// Line, counted from 1; absent where the problem is of the whole file.
    pub line: Option<usize>,
    /// Column in characters, counted from 1; only where the line holds more than one value.
    pub column: Option<usize>,
    /// The value and what was expected instead, without a full stop.
    pub message: String,
    /// The way out, mostly the nearest name.
    pub hint: Option<String>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, " line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        write!(f, ": {}", self.message)?;
        match &self.hint {
            Some(hint) => write!(f, "; {hint}"),
            None => Ok(()),
        }
    }
}

/// A workspace or look-alike set that cannot be used: every problem found, in the order of its
/// lines, never empty. Displays as one sentence a line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", sentences(.problems))]
pub struct ConfigError {
    /// What is wrong.
    pub problems: Vec<Problem>,
}

impl ConfigError {
    /// A problem of a whole file, such as one that cannot be read.
    pub(crate) fn of_file(file: &str, message: String, hint: Option<String>) -> Self {
        ConfigError {
            problems: vec![Problem {
                file: file.to_owned(),
                line: None,
                column: None,
                message,
                hint,
            }],
        }
    }
}

fn sentences(problems: &[Problem]) -> String {
    let mut lines: Vec<String> = problems.iter().map(Problem::to_string).collect();
    lines.extend(to_fill_in(problems));
    lines.join("\n")
}

/// How much is left for the user to write; None where each line says it alone.
fn to_fill_in(problems: &[Problem]) -> Option<String> {
    let place = format!("\"{FILL_IN}\"");
    let of_it = problems.iter().filter(|p| p.message.contains(&place));
    match of_it.count() {
        0 | 1 => None,
        many => Some(format!(
            "{place} stands in {many} places: write the truth in each of them"
        )),
    }
}

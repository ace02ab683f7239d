//! Files as written: their tables and values with the place where each stands.
//!
//! Deserialising into structs stops at the first fault and speaks of types; these readers go on,
//! collect every fault, and speak of what the key is for.

mod lists;
mod refuse;
mod section;
mod value;

pub(crate) use refuse::did_you_mean;
pub(crate) use section::{Key, Section};

use crate::error::{ConfigError, Problem};
use std::cell::RefCell;
use std::ops::Range;
use toml::Spanned;
use toml::de::DeTable;

/// One file's text and what was found wrong with it so far.
pub(crate) struct Document<'t> {
    file: &'t str,
    text: &'t str,
    problems: RefCell<Vec<Problem>>,
}

impl<'t> Document<'t> {
    /// `file` is the name shown in problems.
    pub(crate) fn new(file: &'t str, text: &'t str) -> Self {
        // A byte order mark, which spreadsheet-minded editors write, is no part of the text.
        Document {
            file,
            text: text.strip_prefix('\u{feff}').unwrap_or(text),
            problems: RefCell::default(),
        }
    }

    /// The tree of tables, or the places where the text is not TOML.
    pub(crate) fn tree(&self) -> Result<Spanned<DeTable<'t>>, ConfigError> {
        let (tree, faults) = DeTable::parse_recoverable(self.text);
        for fault in &faults {
            let at = fault.span().unwrap_or(0..0);
            let message = match fault.message() {
                said if said.starts_with("duplicate key") => {
                    let key = self.written(at.clone()).unwrap_or_default();
                    format!("{key} stands already above; expected it once")
                }
                said => format!("this is not TOML: {}", said.replace('\n', ", ")),
            };
            let mut problem = self.problem(at.clone(), message, None);
            problem.column = Some(self.column(at.start));
            self.problems.borrow_mut().push(problem);
        }
        self.finish().map(|()| tree)
    }

    /// Notes a problem of the value or key at `at`, in bytes.
    pub(crate) fn refuse(&self, at: Range<usize>, message: String, hint: Option<String>) {
        let problem = self.problem(at, message, hint);
        self.problems.borrow_mut().push(problem);
    }

    /// Takes over the problems of another file.
    pub(crate) fn take_over(&self, other: ConfigError) {
        self.problems.borrow_mut().extend(other.problems);
    }

    /// All problems noted, this file's in the order of its lines; Ok where there are none.
    pub(crate) fn finish(&self) -> Result<(), ConfigError> {
        let mut problems = self.problems.borrow().clone();
        problems.sort_by_key(|p| (p.file != self.file, p.line, p.column));
        match problems.is_empty() {
            true => Ok(()),
            false => Err(ConfigError { problems }),
        }
    }

    /// The text at a place, as written.
    pub(crate) fn written(&self, at: Range<usize>) -> Option<&str> {
        self.text.get(at).map(str::trim)
    }

    /// Line of a place, counted from 1.
    pub(crate) fn line(&self, at: usize) -> usize {
        self.before(at).matches('\n').count() + 1
    }

    fn column(&self, at: usize) -> usize {
        self.line_before(at).chars().count() + 1
    }

    fn problem(&self, at: Range<usize>, message: String, hint: Option<String>) -> Problem {
        // The line alone finds a value unless a list or inline table holds several.
        let among_others = self.line_before(at.start).contains(['[', '{']);
        Problem {
            file: self.file.to_owned(),
            line: (at != (0..0)).then(|| self.line(at.start)),
            column: among_others.then(|| self.column(at.start)),
            message,
            hint,
        }
    }

    fn before(&self, at: usize) -> &str {
        self.text.get(..at).unwrap_or(self.text)
    }

    fn line_before(&self, at: usize) -> &str {
        self.before(at).rsplit('\n').next().unwrap_or("")
    }
}

//! Practice on paper: birds to work through, and the teacher's key on a page of its own.

use super::{SCORE, Told};
use crate::{templates, words};
use serde::Serialize;

/// Birds to work through.
#[derive(Debug, Clone, Serialize)]
pub struct Sheet {
    /// Name of the workspace.
    pub workspace: String,
    /// The birds.
    pub birds: Vec<Told>,
    /// With the key?
    pub key: bool,
    /// Where the same can be practised on a page: the address before the seed; None where no service
    /// is known by one.
    pub address: Option<String>,
}

#[derive(Serialize)]
struct View<'a> {
    language: &'static str,
    sheet: &'a Sheet,
    score_words: &'static str,
}

impl Sheet {
    /// The sheet as a page that stands alone.
    ///
    /// # Errors
    /// A template that does not fit, which is a fault of the program.
    pub fn html(&self) -> Result<String, minijinja::Error> {
        let view = View {
            language: words::LANGUAGE,
            sheet: self,
            score_words: SCORE,
        };
        let text = include_str!("../../templates/practice.html");
        templates::alone("practice.html", text, &view)
    }
}

//! The two sides as a PDF that is made without a browser.

use super::{Handout, HandoutError};
use crate::printed::{self, About, Paper, Side};
use crate::words;
use chrono::{DateTime, Utc};

impl Handout {
    /// Both sides as a PDF of two pages.
    ///
    /// # Errors
    /// [`HandoutError`].
    pub fn pdf(&self, made: DateTime<Utc>) -> Result<Vec<u8>, HandoutError> {
        let [first, second] = self.pages()?;
        let side = |svg, text| Side {
            svg,
            paper: Paper::A4,
            text,
        };
        let about = About {
            title: self.title.clone(),
            language: words::LANGUAGE.to_owned(),
            author: None,
            made,
        };
        let sides = [
            side(first, self.picture.text()),
            side(second, format!("Marks of the set: {}", self.title)),
        ];
        Ok(printed::pdf(&sides, &about)?)
    }
}

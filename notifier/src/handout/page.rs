//! The handout as a web page, which prints as the same two sides.

use super::fit::Fitted;
use super::said::Block;
use super::{Handout, HandoutError};
use crate::chart::{BOLD, REGULAR};
use crate::{templates, words};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::Serialize;

/// The style sheet of handouts.
pub const STYLE: &str = include_str!("../../templates/handout.css");

/// What a handout's page is dressed with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Dress {
    /// Alone in a file: style and letters are within it.
    Alone,
    /// Among the service's pages: the address of its style sheet, and links above it as words and
    /// address.
    Served {
        /// Address of the style sheet.
        style: String,
        /// The way back.
        trail: Vec<(String, String)>,
    },
}

#[derive(Serialize)]
struct View<'a> {
    language: &'static str,
    title: &'a str,
    under: &'a str,
    within: Option<String>,
    style: Option<&'a str>,
    trail: &'a [(String, String)],
    picture: String,
    caption: &'a Block,
    first: SideView<'a>,
    second: SideView<'a>,
}

#[derive(Serialize)]
struct SideView<'a> {
    /// Letters in tenths of a point, for the style sheet's classes.
    size: u32,
    fitted: &'a Fitted,
}

impl<'a> SideView<'a> {
    fn of(fitted: &'a Fitted) -> Self {
        SideView {
            size: (fitted.size * 10.0).round() as u32,
            fitted,
        }
    }
}

/// A style sheet with the letters within it, for a file that stands alone.
pub(crate) fn within(style: &str) -> String {
    let face = |bytes: &[u8], weight| {
        let data = STANDARD.encode(bytes);
        format!(
            "@font-face {{ font-family: 'Noto Sans'; font-weight: {weight}; \
             font-display: swap; src: url(data:font/ttf;base64,{data}); }}\n"
        )
    };
    let own = style.lines().filter(|line| !line.starts_with("@font-face"));
    let own: Vec<&str> = own.collect();
    face(REGULAR, "normal") + &face(BOLD, "bold") + &own.join("\n")
}

impl Handout {
    /// The page.
    ///
    /// # Errors
    /// [`HandoutError::Template`], a fault of the program.
    pub fn html(&self, dress: &Dress) -> Result<String, HandoutError> {
        let (style, trail) = match dress {
            Dress::Alone => (None, &[][..]),
            Dress::Served { style, trail } => (Some(style.as_str()), trail.as_slice()),
        };
        let view = View {
            language: words::LANGUAGE,
            title: &self.title,
            under: &self.under,
            within: style.is_none().then(|| within(STYLE)),
            style,
            trail,
            picture: self.picture.svg(self.picture_height, "year"),
            caption: &self.caption,
            first: SideView::of(&self.first),
            second: SideView::of(&self.second),
        };
        let text = include_str!("../../templates/handout.html");
        Ok(templates::alone("handout.html", text, &view)?)
    }
}

//! A set at a site on two sides of paper, to teach from: its year on the first side, its marks on
//! the second. What is said is worked out once; [`fit`] makes it fit, and [`page`] and [`sheet`]
//! put the same words on a web page and on pages of a PDF.

pub mod browser;
pub(crate) mod fit;
mod letters;
mod marks;
mod page;
mod pdf;
mod said;
mod sheet;
mod together;
mod year;

pub(crate) use letters::Letters;
pub(crate) use marks::licence;
pub use page::Dress;
pub use page::STYLE;
pub(crate) use page::within;
pub(crate) use said::{Block, Kind};
pub(crate) use sheet::spans;

use crate::chart::{ChartError, SetYear};
use crate::guidance::SiteView;
use crate::printed::PrintError;
use config::look_alikes::LookAlikeSet;
use fit::{Fitted, Room};

/// A handout that cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum HandoutError {
    /// A text cannot be measured.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// Its template, which is a fault of the program.
    #[error("the handout's page cannot be written: {0}")]
    Template(#[from] minijinja::Error),
    /// Its PDF.
    #[error(transparent)]
    Print(#[from] PrintError),
    /// Not even the least of it fits on a side.
    #[error("the handout of the set {0} does not fit on two sides")]
    TooLong(String),
}

/// What is told of a handout besides the set and its counts.
#[derive(Debug, Clone)]
pub struct About {
    /// What others may do with it; the usual line where None.
    pub licence: Option<String>,
    /// Where all of the set is told, for what has no room.
    pub whole: String,
    /// The date that the year's weeks are counted by.
    pub date: chrono::NaiveDate,
}

/// Two sides, laid out.
#[derive(Debug, Clone)]
pub struct Handout {
    /// The set's title.
    title: String,
    /// Where, and what it rests on.
    under: String,
    picture: SetYear,
    /// Millimetres.
    picture_height: f64,
    caption: Block,
    first: Fitted,
    second: Fitted,
}

/// Height of a row of the picture at most, millimetres.
const HIGHEST_ROW: f64 = 34.0;
/// Rows so high at least, with letters of so many points at least, and so many of the drafts: first
/// what looks well, last what can be read.
const ROWS: [(f64, f64, usize); 3] = [
    (22.0, 8.5, 2),
    (18.0, 8.5, 2),
    (14.0, fit::SMALLEST, usize::MAX),
];

/// The words of the first side beside a picture that can be read.
fn with_picture(
    letters: &Letters,
    picture: &SetYear,
    drafts: &[Vec<Block>],
    room: f64,
) -> Result<Option<Fitted>, HandoutError> {
    for (row, least, drafts_at_most) in ROWS {
        let room = Room {
            height: room - picture.height(row),
            foot: marks::first_foot(),
        };
        let drafts = drafts.iter().take(drafts_at_most).cloned();
        if let Some(fitted) = fit::side(letters, drafts, least, &room)? {
            return Ok(Some(fitted));
        }
    }
    Ok(None)
}

impl Handout {
    /// The handout of a set of which two members or more were counted at the site.
    ///
    /// # Errors
    /// [`HandoutError`].
    pub fn of(view: &SiteView, set: &LookAlikeSet, about: &About) -> Result<Self, HandoutError> {
        let letters = Letters::default();
        let picture = year::picture(view, set, about.date);
        let (title, under) = (set.title.clone(), year::under(view));
        let caption = Block::small("", &year::caption(&picture));
        let head = fit::head(&letters, &title, &under)?;
        let too_long = || HandoutError::TooLong(set.id.clone());

        let figure = fit::height(&letters, &caption, fit::CAPTION, fit::WIDTH)?;
        let room = fit::HEIGHT - head - figure;
        let drafts = marks::first_sides(view, set);
        let first = with_picture(&letters, &picture, &drafts, room)?.ok_or_else(too_long)?;
        let left_over = room - first.height;

        let second = marks::second_sides(view, set, &about.whole);
        let room = Room {
            height: fit::HEIGHT - head,
            foot: vec![marks::licence(view, about.licence.as_deref())],
        };
        let second = fit::side(&letters, second, fit::SMALLEST, &room)?.ok_or_else(too_long)?;
        Ok(Handout {
            title,
            under,
            picture_height: left_over.min(picture.height(HIGHEST_ROW)),
            picture,
            caption,
            first,
            second,
        })
    }

    /// The set's title.
    pub fn title(&self) -> &str {
        &self.title
    }
}

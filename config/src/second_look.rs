//! `[second_look]` and `[[finder]]`: how often records are asked about, and who may be written to.

use crate::digest::bare_address;
use crate::nearest::folded;
use crate::raw::{Key, Section};

/// `[second_look]`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondLookSettings {
    /// Questions about true records that are put up with in a week of visits, over all sites.
    pub false_questions_a_week: f64,
}

impl Default for SecondLookSettings {
    /// One in two weeks: few enough that each is read. Common practice, no source.
    fn default() -> Self {
        SecondLookSettings {
            false_questions_a_week: 0.5,
        }
    }
}

/// `[[finder]]`: somebody whose records may be asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finder {
    /// As the observer column has it.
    pub name: String,
    /// Their mail address.
    pub mail: String,
    /// They agreed to be written to.
    pub may_be_written_to: bool,
}

pub(crate) const SECOND_LOOK: Key = Key(
    "second_look",
    "[second_look] with how many false questions a week are put up with",
);
pub(crate) const FINDER: Key = Key(
    "finder",
    "a [[finder]] for each observer who may be asked about a record",
);

const KEYS: &[Key] = &[Key(
    "false_questions_a_week",
    "a number from 0 to 100, such as 0.5",
)];

const FINDER_KEYS: &[Key] = &[
    Key("name", "the observer's name as your files have it"),
    Key("mail", r#"one mail address such as "finder@example.org""#),
    Key(
        "may_be_written_to",
        "true where they agreed to be written to, else false",
    ),
];

/// The `[second_look]` of the file, or its defaults.
pub(crate) fn read(top: &Section<'_>) -> Option<SecondLookSettings> {
    match top.section("second_look", KEYS) {
        Some(section) if section.has("false_questions_a_week") => Some(SecondLookSettings {
            false_questions_a_week: section
                .need_number_in("false_questions_a_week", 0.0..=100.0)?,
        }),
        _ => Some(SecondLookSettings::default()),
    }
}

/// Every `[[finder]]`; no name twice.
pub(crate) fn finders(top: &Section<'_>) -> Vec<Finder> {
    let mut finders: Vec<Finder> = Vec::new();
    for section in top.sections("finder", FINDER_KEYS) {
        let name = section.need_text("name");
        let (Some(mail), Some(name)) = (bare_address(&section), name) else {
            continue;
        };
        let known = |f: &Finder| folded(&f.name) == folded(name.get_ref());
        if finders.iter().any(known) {
            let message = format!("the finder {:?} stands already above", name.get_ref());
            section.refuse(&name, message, None);
            continue;
        }
        finders.push(Finder {
            name: name.into_inner(),
            mail: mail.into_inner(),
            may_be_written_to: section.flag("may_be_written_to"),
        });
    }
    finders
}

impl Finder {
    /// Goes the finder by this name? Without regard to case and blanks.
    pub fn is(&self, name: &str) -> bool {
        folded(&self.name) == folded(name)
    }
}

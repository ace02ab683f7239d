//! Look-alike set files, from text to a checked [`LookAlikeSet`].

mod marks;
mod members;
mod proportions;

use super::LookAlikeSet;
use crate::error::ConfigError;
use crate::ids::Ids;
use crate::raw::{Document, Key, Section};
use toml::Spanned;

const SET: &[Key] = &[
    Key("id", crate::ID),
    Key("title", "the set's title in words"),
    Key(
        "source",
        r#"where the knowledge comes from, such as "common practice, no source""#,
    ),
    Key("review", r#"who has reviewed it, such as "author only""#),
    Key("member", "a [[member]] for each species, two or more"),
    Key("mark", "a [[mark]] for each feature that separates them"),
    Key(
        "cannot_tell",
        "a [[cannot_tell]] for what cannot be told apart",
    ),
];

/// Checks the text of a set file; `file` is its name for messages.
///
/// # Errors
/// Every problem of the text, each as one sentence.
pub fn parse_set(file: &str, text: &str) -> Result<LookAlikeSet, ConfigError> {
    let doc = Document::new(file, text);
    let tree = doc.tree()?;
    let set = set(&Section::top(&doc, &tree, SET));
    doc.finish()?;
    // Nothing was noted, so nothing that is needed was missing.
    set.ok_or_else(|| ConfigError::of_file(file, "this set is not complete".to_owned(), None))
}

fn set(top: &Section<'_>) -> Option<LookAlikeSet> {
    let id = Ids::default().take(top);
    let [title, source, review] =
        ["title", "source", "review"].map(|key| top.need_text(key).map(Spanned::into_inner));
    let members = members::read(top);
    let marks = marks::read(top, &members);
    let cannot_tell = marks::read_cannot_tell(top, &members);
    Some(LookAlikeSet {
        id: id?,
        title: title?,
        source: source?,
        review: review?,
        members,
        marks,
        cannot_tell,
    })
}

/// Notes what is wrong with a table as a whole.
fn refuse_all(section: &Section<'_>, faults: Vec<String>) {
    for fault in faults {
        section.refuse_here(fault);
    }
}

/// The months of `months`, each once; empty where left out.
fn months(section: &Section<'_>) -> Vec<u8> {
    let written = section.wholes("months", 1..=12);
    let mut months = Vec::new();
    for month in &written {
        if months.contains(month.get_ref()) {
            section.refuse(
                month,
                format!(
                    "month {} stands twice in months of {}",
                    month.get_ref(),
                    section.title()
                ),
                None,
            );
        }
        months.push(*month.get_ref());
    }
    if section.is_empty_list("months") {
        section.refuse_key(
            "months",
            format!(
                "months of {} are empty; expected one month or more",
                section.title()
            ),
        );
    }
    months
}

//! Ids: short names that files and commands use.

use crate::raw::Section;

/// Ids of one kind seen so far in a file, in order, with their lines.
#[derive(Debug, Default)]
pub(crate) struct Ids {
    seen: Vec<(String, usize)>,
}

impl Ids {
    /// The section's id, where it is there, simple and new. It is kept either way where it is
    /// simple, so that what refers to it is not refused because the rest of its section is.
    pub(crate) fn take(&mut self, section: &Section<'_>) -> Option<String> {
        let id = section.need_text("id")?;
        if !is_simple(id.get_ref()) {
            section.refuse_value("id", &id);
            return None;
        }
        if let Some((_, line)) = self.seen.iter().find(|(seen, _)| seen == id.get_ref()) {
            let message = format!(
                "id {:?} of {} is taken in line {line}",
                id.get_ref(),
                section.title()
            );
            section.refuse(&id, message, None);
            return None;
        }
        let line = section.doc().line(id.span().start);
        self.seen.push((id.get_ref().clone(), line));
        Some(id.into_inner())
    }

    /// Has this id been taken?
    pub(crate) fn has(&self, id: &str) -> bool {
        self.names().any(|seen| seen == id)
    }

    /// The ids in order.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        self.seen.iter().map(|(id, _)| id.as_str())
    }
}

/// Letters and digits of ASCII, `-` and `_`: safe in a file name, a command and a web address.
pub(crate) fn is_simple(id: &str) -> bool {
    let simple = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    !id.is_empty() && id.chars().all(simple)
}

//! Marks, plumages, and who vouches for them.

use super::{about_now, list, sentence, stop};
use crate::guidance::types::{MarkGuidance, SetGuidance};
use config::look_alikes::{Plumage, Trust};

/// What kind of mark it is, in one word.
pub fn trust(trust: Trust) -> &'static str {
    match trust {
        Trust::Structure => "structure",
        Trust::Pattern => "pattern",
        Trust::Voice => "voice",
        Trust::Behaviour => "behaviour",
        Trust::Light => "light",
    }
}

/// A plumage in words.
pub fn plumage(plumage: Plumage) -> &'static str {
    plumage.in_words()
}

/// Plumages in words, or None where there are none to name.
pub fn plumages(seen: &[Plumage]) -> Option<String> {
    let named: Vec<&str> = seen.iter().map(|p| plumage(*p)).collect();
    (!named.is_empty()).then(|| list(&named))
}

/// A mark's part, its kind, and the plumages about now that it is bound to.
pub fn mark_heading(mark: &MarkGuidance) -> String {
    let kind = trust(mark.trust);
    match plumages(&mark.plumages) {
        Some(seen) => format!("{} ({kind}; {seen})", sentence(&mark.part)),
        None => format!("{} ({kind})", sentence(&mark.part)),
    }
}

/// Does the set's review say that nobody but its author has read the marks?
pub fn unreviewed(set: &SetGuidance) -> bool {
    let said = set.review.trim();
    said.is_empty() || said.eq_ignore_ascii_case("author only")
}

/// Who has reviewed a set's marks and where they come from, plainly.
pub fn review(set: &SetGuidance) -> String {
    if set.marks.is_empty() && set.not_to_rely_on.is_empty() {
        return without_marks(set);
    }
    let review = if unreviewed(set) {
        "Nobody but their author has reviewed these marks.".to_string()
    } else {
        format!("These marks were reviewed: {}", stop(&set.review))
    };
    if set.source.trim().is_empty() {
        review
    } else {
        format!("{review} Where they come from: {}", stop(&set.source))
    }
}

/// Why a set shows no mark: marks are for telling apart what may be about.
fn without_marks(set: &SetGuidance) -> String {
    let about: Vec<&str> = set
        .members
        .iter()
        .filter(|m| about_now(m))
        .map(|m| m.name.as_str())
        .collect();
    match about[..] {
        [] => "None of these is to be expected this week, so no marks are shown.".to_owned(),
        [only] => {
            format!("Of these, only {only} is to be expected this week, so no marks are shown.")
        }
        _ => "The set has no mark that tells apart those to be expected on this date.".to_owned(),
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::digest::tests::digests::autumn;
    use crate::words::HARDLY;

    /// A set of an autumn with three members to be expected, its marks taken away.
    pub fn bare() -> SetGuidance {
        let mut set = autumn().sites.remove(0).guidance.sets.remove(0);
        set.marks.clear();
        set.not_to_rely_on.clear();
        set
    }

    #[test]
    fn why_there_are_no_marks_is_said_as_it_is() {
        let mut set = bare();
        assert_eq!(
            review(&set),
            "The set has no mark that tells apart those to be expected on this date."
        );
        let first = set.members[0].name.clone();
        for member in &mut set.members[1..] {
            member.chance_week = HARDLY / 2.0;
        }
        let only =
            format!("Of these, only {first} is to be expected this week, so no marks are shown.");
        assert_eq!(review(&set), only);
        set.members[0].recorded = false;
        assert!(review(&set).starts_with("None of these is to be expected"));
    }
}

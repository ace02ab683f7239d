//! An observer's name taken out of texts as people wrote them.

use crate::source::observers::PARTS;
use config::nearest::folded;
use serde_json::Value;

/// Stands where a name stood.
const BLOT: &str = "...";

/// What of a report is no text as people wrote it, but names that other things hang on.
const KEPT: [&str; 4] = ["species", "id", "site", "source"];

/// Names to take out, as they are compared.
pub(super) struct Blot {
    names: Vec<String>,
}

impl Blot {
    pub(super) fn new<'n>(names: impl IntoIterator<Item = &'n str>) -> Self {
        let names = names.into_iter().map(folded);
        Blot {
            names: names.filter(|name| !name.is_empty()).collect(),
        }
    }

    /// Is there nothing to take out?
    pub(super) fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// The names kept of a row without those to take out; None where none of them is there.
    pub(super) fn observers(&self, cell: &str) -> Option<String> {
        let all: Vec<&str> = cell.split(PARTS).collect();
        let gone = |name: &&&str| !self.names.contains(&folded(name));
        let left: Vec<&str> = all.iter().filter(gone).copied().collect();
        (left.len() < all.len()).then(|| left.join(PARTS))
    }

    /// A text without the names in it; None where none is there. A name of one word is left: it
    /// may be a bird's.
    pub(super) fn text(&self, text: &str) -> Option<String> {
        let mut blotted = None;
        for name in self.names.iter().filter(|name| name.contains(' ')) {
            blotted = without(blotted.as_deref().unwrap_or(text), name).or(blotted);
        }
        blotted
    }

    /// Takes the names out of a report; how many texts had any.
    pub(super) fn report(&self, value: &mut Value) -> u64 {
        match value {
            Value::String(text) => match self.text(text) {
                Some(blotted) => {
                    *text = blotted;
                    1
                }
                None => 0,
            },
            Value::Array(all) => all.iter_mut().map(|v| self.report(v)).sum(),
            Value::Object(all) => {
                let told = all
                    .iter_mut()
                    .filter(|(key, _)| !KEPT.contains(&key.as_str()));
                told.map(|(_, v)| self.report(v)).sum()
            }
            _ => 0,
        }
    }
}

fn without(text: &str, name: &str) -> Option<String> {
    let mut left = String::new();
    let mut rest = text;
    let mut found = false;
    while let Some(first) = rest.chars().next() {
        rest = match after(rest, name) {
            Some(after) => {
                left.push_str(BLOT);
                found = true;
                after
            }
            None => {
                left.push(first);
                &rest[first.len_utf8()..]
            }
        };
    }
    found.then_some(left)
}

/// What follows the name at the beginning of the text. Case and runs of blanks are not counted.
fn after<'t>(text: &'t str, name: &str) -> Option<&'t str> {
    let mut rest = text;
    for (place, word) in name.split(' ').enumerate() {
        if place > 0 {
            let trimmed = rest.trim_start();
            if trimmed.len() == rest.len() {
                return None;
            }
            rest = trimmed;
        }
        let mut wanted = word.chars().peekable();
        let mut letters = rest.chars();
        while wanted.peek().is_some() {
            let letter = letters.next()?;
            if !letter.to_lowercase().all(|l| wanted.next() == Some(l)) {
                return None;
            }
        }
        rest = letters.as_str();
    }
    Some(rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_go_and_the_rest_stays() {
        let blot = Blot::new(["Ann  Warden", "Robin"]);
        let text = |text: &str| blot.text(text);
        assert_eq!(text("juv (ANN warden) 3").as_deref(), Some("juv (...) 3"));
        assert_eq!(
            text("Ann Warden, Ann\u{a0} Warden").as_deref(),
            Some("..., ...")
        );
        for other in ["Ann", "Ann-Warden", "European Robin", ""] {
            assert_eq!(text(other), None, "{other}");
        }
        let kept = |cell: &str| blot.observers(cell);
        assert_eq!(kept("B. Keeper | ann warden").as_deref(), Some("B. Keeper"));
        assert_eq!(kept("robin").as_deref(), Some(""));
        assert_eq!(kept("Robin Goodfellow"), None);
    }

    #[test]
    fn a_report_keeps_what_others_hang_on() {
        let mut report = serde_json::json!({
            "id": "ann warden",
            "species": [{ "name": "Ann warden" }],
            "refused": [{ "line": 3, "value": "Ann Warden" }, { "line": 4, "value": "many" }],
        });
        assert_eq!(Blot::new(["Ann Warden"]).report(&mut report), 1);
        assert_eq!(report["refused"][0]["value"], "...");
        assert_eq!(report["species"][0]["name"], "Ann warden");
    }
}

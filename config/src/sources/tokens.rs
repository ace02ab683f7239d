//! How inexact counts are written.

use crate::nearest::folded;
use crate::raw::{Key, Section};
use crate::settings::CountTokens;
use toml::Spanned;

const BESIDE: &str = r#"a list of signs beside a number, such as ["+"]"#;
const INSTEAD: &str = r#"a list of words instead of a number, such as ["x"]"#;

const KEYS: &[Key] = &[
    Key("at_least", BESIDE),
    Key("about", BESIDE),
    Key("present", INSTEAD),
    Key("absent", INSTEAD),
];

impl Default for CountTokens {
    /// Ways of writing that are in common use, no source.
    fn default() -> Self {
        let own = |tokens: &[&str]| tokens.iter().map(|t| (*t).to_owned()).collect();
        CountTokens {
            at_least: own(&["+", ">=", ">", "min"]),
            about: own(&["c.", "ca.", "ca", "~", "c"]),
            present: own(&["x", "present", "p", "yes"]),
            absent: own(&["-", "none", "0"]),
        }
    }
}

/// The source's tokens; each list left out keeps its default, unless a token of it was given
/// another meaning.
pub(super) fn read(section: &Section<'_>) -> CountTokens {
    let Some(section) = section.section("tokens", KEYS) else {
        return CountTokens::default();
    };
    let default = CountTokens::default();
    let written = written(&section);
    refuse_doubles(&section, &written);
    let list = |key: &str, default: Vec<String>| match written.iter().find(|(k, _)| *k == key) {
        Some((_, tokens)) => tokens.iter().map(|t| t.get_ref().clone()).collect(),
        None => default
            .into_iter()
            .filter(|t| !is_among(t, &written))
            .collect(),
    };
    CountTokens {
        at_least: list("at_least", default.at_least),
        about: list("about", default.about),
        present: list("present", default.present),
        absent: list("absent", default.absent),
    }
}

/// The lists that are written, with their keys.
type Written = Vec<(&'static str, Vec<Spanned<String>>)>;

fn written(section: &Section<'_>) -> Written {
    // An empty cell may stand instead of a number, never beside one.
    let list = |key: &'static str, may_be_empty| Some((key, section.texts(key, may_be_empty)?));
    [
        ("at_least", false),
        ("about", false),
        ("present", true),
        ("absent", true),
    ]
    .into_iter()
    .filter_map(|(key, may_be_empty)| list(key, may_be_empty))
    .collect()
}

fn is_among(token: &str, written: &Written) -> bool {
    let mut all = written.iter().flat_map(|(_, tokens)| tokens);
    all.any(|other| folded(other.get_ref()) == folded(token))
}

fn refuse_doubles(section: &Section<'_>, written: &Written) {
    let mut seen: Vec<(String, &str)> = Vec::new();
    for (key, tokens) in written {
        for token in tokens {
            let name = folded(token.get_ref());
            match seen.iter().find(|(other, _)| *other == name) {
                Some((_, first)) => {
                    let message = format!(
                        "{:?} stands in both {first} and {key} in {}",
                        token.get_ref(),
                        section.title()
                    );
                    section.refuse(token, message, None);
                }
                None => seen.push((name, key)),
            }
        }
    }
}

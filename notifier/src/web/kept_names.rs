//! Whether words tell of a species that is kept back, however its name is put: with hyphens or
//! without, run together, of several, or one of its words alone (`short_names`).

use super::short_names::ShortNames;
use config::look_alikes::{LookAlikeSet, is_shipped};
use config::settings::Species;

/// The species kept back by the names that they go by in a set.
pub(super) struct KeptNames {
    /// Whole names as words.
    names: Vec<String>,
    /// Words that the members left have in none of their names, where a member is kept back.
    own_words: Vec<String>,
    /// What names are cut short to.
    short: ShortNames,
}

/// Names that are not kept back.
pub(super) struct LeftNames<'a> {
    /// Of the members that stay.
    pub(super) members: &'a [String],
    /// Of all species that are known, members of sets or not.
    pub(super) known: &'a [String],
}

impl KeptNames {
    /// Names of these species, codes of the files left aside.
    pub(super) fn of(set: &LookAlikeSet, kept: &[&Species], left: &LeftNames) -> Self {
        let all_plain = |names: &[String]| names.iter().map(|n| plain(n)).collect::<Vec<_>>();
        let (stays, others) = (all_plain(left.members), all_plain(left.known));
        let is_own = |word: &&str| {
            let long = word.chars().count() >= SHORTEST_WORD;
            long && !stays.iter().any(|name| has_word(name, word))
        };
        let mut kept_names = KeptNames {
            names: Vec::new(),
            own_words: Vec::new(),
            short: ShortNames::default(),
        };
        let texts = texts(set);
        for species in kept {
            let member = set.member(&species.scientific);
            let in_set = member.iter().flat_map(|m| m.names.values());
            let written = { species.names.values() }.chain([&species.scientific]);
            let known: Vec<String> = written.chain(in_set).map(|name| plain(name)).collect();
            if member.is_some() {
                let words = known.iter().flat_map(|name| name.split(' '));
                let own = words.filter(is_own).map(str::to_owned);
                kept_names.own_words.extend(own);
            }
            // "tern" in a set of gulls may mean any of them, "hobby" one alone
            let bearers = if member.is_some() { &stays } else { &others };
            let bearers = bearers.as_slice();
            kept_names.add_short(set, species, (bearers, texts.as_slice()));
            kept_names
                .names
                .extend(known.into_iter().filter(|name| !name.is_empty()));
        }
        kept_names
    }

    /// What the species' names are cut short to, but for what the bearers of other names are called.
    fn add_short(
        &mut self,
        set: &LookAlikeSet,
        species: &Species,
        (bearers, texts): (&[String], &[&str]),
    ) {
        let is_shared = |word: &str| bearers.iter().any(|name| stands_in(name, word));
        let in_set = set.member(&species.scientific);
        let names = in_set.iter().flat_map(|m| &m.names).chain(&species.names);
        for (language, name) in names {
            match (language == ENGLISH, is_shipped(&set.id)) {
                (true, _) => self.short.add(name, texts, is_shared),
                // texts of our own are English: there "variable" is no Bécasseau variable
                (false, true) => {}
                // elsewhere the noun may come first, and have no capital
                (false, false) => {
                    let words = name.split_whitespace();
                    [words.clone().next(), words.last()]
                        .into_iter()
                        .flatten()
                        .for_each(|word| self.short.add_word(word, is_shared));
                }
            }
        }
        let epithet = species.scientific.rsplit(' ').next();
        self.short.add_word(epithet.unwrap_or_default(), is_shared);
    }

    /// Does a text name one?
    pub(super) fn told_by(&self, text: &str) -> bool {
        let said = plain(text);
        self.names.iter().any(|name| stands_in(&said, name)) || self.short.told_by(text)
    }

    /// Does an id or a title, which are short and made of names? In "yellow-browed-and-pallass" a part
    /// of the name is enough.
    pub(super) fn told_by_title(&self, title: &str) -> bool {
        let title = plain(title);
        let run_together = letters(&title);
        let whole = |name: &String| run_together.contains(&letters(name));
        self.names.iter().any(whole) || self.own_words.iter().any(|word| has_word(&title, word))
    }
}

/// Shorter ones ("of", "le") tell nothing.
pub(super) const SHORTEST_WORD: usize = 3;

/// As sets have the language of a name.
const ENGLISH: &str = "en";

/// All that a set says in sentences.
fn texts(set: &LookAlikeSet) -> Vec<&str> {
    let mut all: Vec<&str> = Vec::new();
    for member in &set.members {
        all.extend(member.describe.as_deref());
        all.extend(member.plumages.iter().filter_map(|p| p.moult.as_deref()));
    }
    for mark in &set.marks {
        all.push(&mark.part);
        all.extend(mark.shows.iter().map(|s| s.text.as_str()));
        all.extend(mark.traps.iter().map(|t| t.text.as_str()));
    }
    all.extend(set.cannot_tell.iter().map(|c| c.text.as_str()));
    all
}

/// Lower-case words with a blank between them; apostrophes are no end of a word.
pub(super) fn plain(text: &str) -> String {
    let kept = text.chars().filter(|c| !APOSTROPHES.contains(c));
    let lower: String = kept.flat_map(char::to_lowercase).collect();
    let words = lower.split(|c: char| !c.is_alphabetic());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    words.join(" ")
}

/// As they are typed and as they are printed.
pub(super) const APOSTROPHES: [char; 5] = ['\'', '\u{2019}', '\u{2018}', '\u{2bc}', '`'];

fn letters(plain: &str) -> String {
    plain.replace(' ', "")
}

/// Is it one of these words, or several of it?
fn has_word(plain: &str, word: &str) -> bool {
    plain
        .split(' ')
        .any(|w| w == word || w.strip_suffix('s') == Some(word))
}

fn stands_in(text: &str, name: &str) -> bool {
    text.match_indices(name).any(|(at, found)| {
        let before = text[..at].chars().next_back();
        let mut after = text[at + found.len()..].chars();
        let apart = |c: Option<char>| c.is_none_or(|c| c == ' ');
        // "stints", "terns"
        let next = after.next();
        apart(before) && (apart(next) || (next == Some('s') && apart(after.next())))
    })
}

/// Does the name stand in a text, not as a part of another word?
pub(crate) fn says(text: &str, name: &str) -> bool {
    let name = plain(name);
    !name.is_empty() && stands_in(&plain(text), &name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_told_by_itself_and_of_several_but_not_within_another() {
        assert!(says("Dunlin and Sanderlings", "sanderling"));
        assert!(!says("sanderlingish birds", "sanderling"));
        assert!(says("like Temminck\u{2019}s Stints", "temminck's stint"));
        assert!(says("a yellow browed warbler", "Yellow-browed Warbler"));
        assert!(!says("look not for it", "Knot"));
        assert!(!says("anything", "'"));
    }

    #[test]
    fn a_title_tells_by_letters_run_together_and_by_a_word_of_its_own() {
        let kept = KeptNames {
            names: vec![plain("Roseate Tern"), plain("Temminck's Stint")],
            own_words: vec!["roseate".to_owned()],
            short: ShortNames::default(),
        };
        for tells in [
            "roseatetern",
            "temmincks-stint",
            "Roseates and Common Terns",
        ] {
            assert!(kept.told_by_title(tells), "{tells}");
        }
        for fine in ["pale-terns", "stints", "Common Terns"] {
            assert!(!kept.told_by_title(fine), "{fine}");
        }
    }
}

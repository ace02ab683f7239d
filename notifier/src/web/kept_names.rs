//! Whether words tell of a species that is kept back, however its name is put: with hyphens or
//! without, run together, of several, or one of its words alone.

use config::look_alikes::LookAlikeSet;
use config::settings::Species;

/// The species kept back by the names that they go by in a set.
pub(super) struct KeptNames {
    /// Whole names as words.
    names: Vec<String>,
    /// Words that the members left have in none of their names, where a member is kept back.
    own_words: Vec<String>,
}

impl KeptNames {
    /// Names of these species, codes of the files left aside. `left` are all names of the members
    /// that stay.
    pub(super) fn of(set: &LookAlikeSet, kept: &[&Species], left: &[String]) -> Self {
        let stays: Vec<String> = left.iter().map(|name| plain(name)).collect();
        let is_own = |word: &&str| {
            let long = word.chars().count() >= SHORTEST_WORD;
            long && !stays.iter().any(|name| has_word(name, word))
        };
        let (mut names, mut own_words) = (Vec::new(), Vec::new());
        for species in kept {
            let member = set.member(&species.scientific);
            let in_set = member.iter().flat_map(|m| m.names.values());
            let written = { species.names.values() }.chain([&species.scientific]);
            let known: Vec<String> = written.chain(in_set).map(|name| plain(name)).collect();
            if member.is_some() {
                let words = known.iter().flat_map(|name| name.split(' '));
                own_words.extend(words.filter(is_own).map(str::to_owned));
            }
            names.extend(known.into_iter().filter(|name| !name.is_empty()));
        }
        KeptNames { names, own_words }
    }

    /// Does a text name one?
    pub(super) fn told_by(&self, text: &str) -> bool {
        let text = plain(text);
        self.names.iter().any(|name| stands_in(&text, name))
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
const SHORTEST_WORD: usize = 3;

/// Lower-case words with a blank between them; apostrophes are no end of a word.
fn plain(text: &str) -> String {
    let kept = text.chars().filter(|c| !APOSTROPHES.contains(c));
    let lower: String = kept.flat_map(char::to_lowercase).collect();
    let words = lower.split(|c: char| !c.is_alphabetic());
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    words.join(" ")
}

/// As they are typed and as they are printed.
const APOSTROPHES: [char; 5] = ['\'', '\u{2019}', '\u{2018}', '\u{2bc}', '`'];

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

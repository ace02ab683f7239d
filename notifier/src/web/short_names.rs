//! Short forms of names: "goshawks" or "Hobby" for the last word of one, "Bewick's" or "a Caspian"
//! for a word before it.

use super::kept_names::{APOSTROPHES, SHORTEST_WORD, plain};

/// Words of names that tell a species by themselves, as no other goes by them.
#[derive(Default)]
pub(super) struct ShortNames {
    /// However they are written.
    words: Vec<String>,
    /// Where they begin with a capital, as names do.
    capitals: Vec<Capital>,
}

/// "Caspian", or "Black-backed" as two words.
struct Capital {
    words: Vec<String>,
    /// The texts have it without a capital too: at the beginning of a sentence it tells nothing.
    ordinary: bool,
}

impl ShortNames {
    /// Adds what a common name is cut short to in texts, but for what `is_shared` with others.
    pub(super) fn add(&mut self, name: &str, texts: &[&str], is_shared: impl Fn(&str) -> bool) {
        let parts: Vec<&str> = name.split_whitespace().collect();
        let Some((last, first)) = parts.split_last() else {
            return;
        };
        self.add_word(last, &is_shared);
        for part in first {
            let word = plain(part);
            if word.chars().count() < SHORTEST_WORD || is_shared(&word) {
                continue;
            }
            match stem(part) {
                Some(stem) => self.words.push(plain(stem)),
                None => self.capitals.push(Capital::of(&word, texts)),
            }
        }
    }

    /// Adds a word that tells in any case, such as a name's last; of one with hyphens its last part.
    pub(super) fn add_word(&mut self, word: &str, is_shared: impl Fn(&str) -> bool) {
        let word = plain(word);
        let word = word.rsplit(' ').next().unwrap_or_default();
        if word.chars().count() >= SHORTEST_WORD && !is_shared(word) {
            self.words.push(word.to_owned());
        }
    }

    /// Does a text have one?
    pub(super) fn told_by(&self, text: &str) -> bool {
        if self.words.is_empty() && self.capitals.is_empty() {
            return false;
        }
        let said = words(text);
        let whole = |word: &String| said.iter().any(|w| is_of(&w.plain, word));
        self.words.iter().any(whole) || self.capitals.iter().any(|c| c.stands_in(&said))
    }
}

impl Capital {
    fn of(plain: &str, texts: &[&str]) -> Self {
        let mut capital = Capital {
            words: plain.split(' ').map(str::to_owned).collect(),
            ordinary: false,
        };
        capital.ordinary = texts.iter().any(|text| {
            let said = words(text);
            capital.places(&said).any(|at| !said[at].capital)
        });
        capital
    }

    fn stands_in(&self, said: &[Word]) -> bool {
        let tells = |word: &Word| word.capital && !(word.opens && self.ordinary);
        self.places(said).any(|at| tells(&said[at]))
    }

    /// Where its words follow one another.
    fn places(&self, said: &[Word]) -> impl Iterator<Item = usize> {
        let alike = |run: &[Word]| {
            run.iter()
                .zip(&self.words)
                .all(|(w, own)| is_of(&w.plain, own))
        };
        let runs = said.windows(self.words.len()).enumerate();
        runs.filter_map(move |(at, run)| alike(run).then_some(at))
    }
}

/// A word of a text.
struct Word {
    /// Lower-case, without apostrophes.
    plain: String,
    capital: bool,
    /// It begins a sentence, where any word has a capital.
    opens: bool,
}

fn words(text: &str) -> Vec<Word> {
    let (mut all, mut letters, mut opens) = (Vec::new(), String::new(), true);
    for c in text.chars().chain([' ']) {
        if c.is_alphabetic() || APOSTROPHES.contains(&c) {
            letters.push(c);
            continue;
        }
        let plain = plain(&letters);
        if !plain.is_empty() {
            let first = letters.chars().find(|c| c.is_alphabetic());
            let capital = first.is_some_and(char::is_uppercase);
            all.push(Word {
                plain,
                capital,
                opens: std::mem::take(&mut opens),
            });
        }
        letters.clear();
        opens |= ['.', '!', '?', ':'].contains(&c);
    }
    all
}

/// Is it that word, or several of it: "goshawks", "finches", "hobbies"?
fn is_of(said: &str, word: &str) -> bool {
    let ending = |ending| said.strip_suffix(ending);
    said == word
        || ending("s") == Some(word)
        || ending("es") == Some(word)
        || ending("ies").is_some_and(|stem| word.strip_suffix('y') == Some(stem))
}

/// "Bewick" of "Bewick's"; None where it is no possessive.
fn stem(part: &str) -> Option<&str> {
    let before = part.strip_suffix(['s', 'S']).unwrap_or(part);
    before.strip_suffix(APOSTROPHES)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(names: &[&str], texts: &[&str]) -> ShortNames {
        let mut short = ShortNames::default();
        for name in names {
            short.add(name, texts, |word| word == "gull" || word == "wren");
        }
        short
    }

    #[test]
    fn a_last_word_tells_in_any_case_and_of_several() {
        let short = of(&["American Goshawk", "Eurasian Hobby"], &[]);
        for tells in [
            "as big as a goshawk",
            "Goshawks bar",
            "two hobbies",
            "a Hobby",
        ] {
            assert!(short.told_by(tells), "{tells}");
        }
        for fine in ["hawks", "in his hobbyhorse", "goshawkish"] {
            assert!(!short.told_by(fine), "{fine}");
        }
    }

    #[test]
    fn a_first_word_tells_as_a_possessive_or_with_a_capital() {
        let names = ["Caspian Gull", "Bewick's Wren", "Lesser Black-backed Gull"];
        let short = of(&names, &["a lesser bill"]);
        for tells in [
            "like a Caspian, but",
            "Caspian: long bill",
            "a bewick\u{2019}s song",
            "Black-backed ones",
            "than a Lesser",
        ] {
            assert!(short.told_by(tells), "{tells}");
        }
        for fine in [
            "a black-backed bird",
            "Lesser coverts dark. Lesser extent",
            "gulls and wrens",
        ] {
            assert!(!short.told_by(fine), "{fine}");
        }
    }
}

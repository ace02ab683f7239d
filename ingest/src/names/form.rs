//! The form of scientific names.

/// A binomial or trinomial as written.
pub(super) struct Form<'n> {
    pub(super) genus: &'n str,
    epithet: &'n str,
    pub(super) subspecies: bool,
    /// Who described it, and when, stood behind it.
    pub(super) author: bool,
}

/// A name of two or three words that may be a binomial or trinomial.
pub(super) fn read(name: &str) -> Option<Form<'_>> {
    let rank = |word: &&str| !["ssp.", "subsp.", "ssp", "subsp"].contains(&&*word.to_lowercase());
    let all: Vec<&str> = name.split(' ').filter(rank).collect();
    let words = without_author(&all);
    let (genus, epithet, subspecies) = match *words {
        [genus, epithet] => (genus, epithet, false),
        [genus, epithet, third] if is_trinomial(epithet, third) => (genus, epithet, true),
        _ => return None,
    };
    (is_genus(genus) && is_epithet(epithet)).then_some(Form {
        genus,
        epithet,
        subspecies,
        author: words.len() < all.len(),
    })
}

/// The words of the name before its author and year, as in "Calidris minuta (Leisler, 1812)"
/// (International Code of Zoological Nomenclature, articles 22 and 51).
fn without_author<'w, 'n>(words: &'w [&'n str]) -> &'w [&'n str] {
    let author = |word: &&str| word.trim_start_matches('(').starts_with(char::is_uppercase);
    let begins = words.iter().skip(2).position(author).map(|place| place + 2);
    let year = words.last().map_or("", |word| word.trim_end_matches(')'));
    let is_year = year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit());
    match begins {
        Some(begins) if is_year && words.len() > begins + 1 => &words[..begins],
        _ => words,
    }
}

impl Form<'_> {
    /// The genus with one capital, at its beginning, and the epithet without any (International
    /// Code of Zoological Nomenclature, articles 5 and 28).
    pub(super) fn in_right_case(&self) -> bool {
        let binomial = self.binomial();
        binomial.split_once(' ') == Some((self.genus, self.epithet))
    }

    pub(super) fn binomial(&self) -> String {
        let mut letters = self.genus.chars();
        let first = letters.next().into_iter().flat_map(char::to_uppercase);
        let rest = letters.flat_map(char::to_lowercase);
        let epithet = self.epithet.chars().flat_map(char::to_lowercase);
        first.chain(rest).chain([' ']).chain(epithet).collect()
    }
}

/// First word of a name.
pub(super) fn genus_of(name: &str) -> &str {
    name.split(' ').next().unwrap_or(name)
}

/// A name that cannot be one in full: nothing, a number, or a code such as LITST. Up to six
/// letters are taken for a code; common practice, no source.
pub(super) fn could_be_any(name: &str) -> bool {
    const LONGEST_CODE: usize = 6;
    let letters = name.chars().filter(|c| c.is_alphabetic()).count();
    let code = !name.contains(' ') && name.chars().count() <= LONGEST_CODE;
    letters < 3 || (code && !name.contains(char::is_lowercase))
}

/// Three capitalised words are a vernacular name, not a trinomial.
fn is_trinomial(epithet: &str, third: &str) -> bool {
    let capitals = |w: &str| w.chars().filter(|c| c.is_uppercase()).count();
    let title = |w: &str| w.starts_with(char::is_uppercase) && capitals(w) == 1;
    is_epithet(third) && !(title(epithet) && title(third))
}

/// Letters of the Latin alphabet alone, two or more (International Code of Zoological Nomenclature,
/// articles 11.2, 11.8, 11.9.1 and 27).
fn is_genus(word: &str) -> bool {
    word.len() >= 2 && word.bytes().all(|b| b.is_ascii_alphabetic())
}

/// Letters, two or more, with a hyphen inside where the name has one, as in c-album.
fn is_epithet(word: &str) -> bool {
    let whole = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_alphabetic());
    word.len() >= 2 && word.split('-').all(whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn authors_stand_behind_a_name() {
        let cases = [
            (
                "Calidris minuta (Leisler, 1812)",
                Some(("Calidris minuta", true, false)),
            ),
            (
                "Calidris alpina alpina (Linnaeus, 1758)",
                Some(("Calidris alpina", true, true)),
            ),
            (
                "Sterna paradisaea Pontoppidan, 1763",
                Some(("Sterna paradisaea", true, false)),
            ),
            (
                "Saxicola rubicola (Linnaeus 1766)",
                Some(("Saxicola rubicola", true, false)),
            ),
            ("Calidris minuta", Some(("Calidris minuta", false, false))),
            ("Calidris minuta (in 1812)", None),
            ("Calidris minuta 1812", None),
            ("Calidris minuta (Leisler)", None),
        ];
        for (name, expected) in cases {
            let found = read(name).map(|f| (f.binomial(), f.author, f.subspecies));
            let expected = expected.map(|(n, author, sub)| (n.to_owned(), author, sub));
            assert_eq!(found, expected, "{name}");
        }
    }

    #[test]
    fn codes_and_numbers_could_be_any_species() {
        for any in ["", "12", "LITST", "LS", "?", "D."] {
            assert!(could_be_any(any), "{any}");
        }
        for name in ["Blackbird", "gull", "WHEATEAR", "LITTLE STINT"] {
            assert!(!could_be_any(name), "{name}");
        }
    }
}

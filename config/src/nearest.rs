//! The name that was probably meant, and names compared as people compare them.

use std::borrow::Cow;
use std::cmp::Reverse;
use unicode_normalization::UnicodeNormalization;

/// The name with plain apostrophes and hyphens for those that word processors put in their place,
/// and with every accent on its letter (Unicode Normalization Form C, UAX 15): some systems write
/// them apart.
pub fn plainly(name: &str) -> Cow<'_, str> {
    if name.is_ascii() && !name.contains('`') {
        return Cow::Borrowed(name);
    }
    Cow::Owned(name.nfc().map(plain_sign).collect())
}

/// Quotation marks, accents and primes that stand for an apostrophe, and the hyphens and dashes.
fn plain_sign(sign: char) -> char {
    match sign {
        '\u{2018}' | '\u{2019}' | '\u{201b}' | '\u{2bc}' | '\u{2032}' | '\u{b4}' | '`' => '\'',
        '\u{2010}'..='\u{2013}' | '\u{2212}' => '-',
        other => other,
    }
}

/// The name as it is compared: lower case, with plain signs and every run of blanks one space.
pub fn folded(name: &str) -> String {
    let name = plainly(name);
    let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}

/// The candidate that was probably meant: the one with the fewest letters added, left out,
/// changed or swapped (at most a third of the longer name), else the one that begins with the
/// name. Case and blanks are not counted. None where nothing is near.
pub fn nearest<'c>(name: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let name = folded(name);
    candidates
        .into_iter()
        .filter_map(|candidate| Some((nearness(&name, &folded(candidate))?, candidate)))
        .max_by_key(|(nearness, candidate)| (*nearness, Reverse(*candidate)))
        .map(|(_, candidate)| candidate)
}

/// Higher is nearer; None is too far. A typo ranks before an abbreviation.
fn nearness(name: &str, candidate: &str) -> Option<Reverse<usize>> {
    const ABBREVIATED: usize = 1000;
    let letters = name.chars().count().max(candidate.chars().count());
    let changes = strsim::damerau_levenshtein(name, candidate);
    // A third: two slips in a six-letter name still read as that name. Common practice, no source.
    if changes <= letters / 3 {
        return Some(Reverse(changes));
    }
    let abbreviates = name.chars().count() >= 2 && candidate.starts_with(name);
    abbreviates.then_some(Reverse(ABBREVIATED + letters))
}

/// The candidate of which the name is a mere slip: one letter in four, and two at most, added,
/// left out, changed or swapped. Case and blanks are not counted. Tighter than [`nearest`]: two
/// species of one genus are often near. Common practice, no source.
pub fn slip_of<'c>(name: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    const MOST: usize = 2;
    let name = folded(name);
    let slips = |candidate: &&str| {
        let candidate = folded(candidate);
        let letters = name.chars().count().max(candidate.chars().count());
        let most = MOST.min(letters / 4);
        // The difference in length is a bound, and cheap.
        let apart = name.chars().count().abs_diff(candidate.chars().count());
        (apart <= most)
            .then(|| strsim::damerau_levenshtein(&name, &candidate))
            .filter(|slips| *slips <= most)
    };
    let near = candidates.into_iter().filter_map(|c| Some((slips(&c)?, c)));
    near.min().map(|(_, candidate)| candidate)
}

/// `a`, `a or b`, `a, b or c`.
pub(crate) fn one_of<'n>(names: impl IntoIterator<Item = &'n str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn all_of<'n>(names: impl IntoIterator<Item = &'n str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    match names.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// Names of months, 1..=12, as a sentence lists them.
pub(crate) fn month_names(months: &[u8]) -> String {
    let name = |month: &u8| chrono::Month::try_from(*month).map_or("", |m| m.name());
    match months.len() {
        12 => "every month".to_owned(),
        _ => all_of(months.iter().map(name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typos_and_abbreviations_find_their_name() {
        let keys = ["latitude", "longitude", "name"];
        assert_eq!(nearest("latitute", keys), Some("latitude"));
        assert_eq!(nearest("Naem", keys), Some("name"));
        assert_eq!(nearest("lon", keys), Some("longitude"));
        assert_eq!(nearest("colour", keys), None);
        assert_eq!(nearest("x", keys), None);
        assert_eq!(nearest("name", []), None);
    }

    #[test]
    fn slips_are_nearer_than_near() {
        let names = ["Little Stint", "Dunlin", "Calidris alpina"];
        assert_eq!(slip_of("Litle Stint", names), Some("Little Stint"));
        assert_eq!(slip_of("Dunlim", names), Some("Dunlin"));
        assert_eq!(slip_of("Dunlimm", names), None);
        assert_eq!(slip_of("Calidris alba", names), None);
        assert_eq!(slip_of("Wood Sandpiper", ["Green Sandpiper"]), None);
    }

    #[test]
    fn names_fold_case_and_blanks() {
        assert_eq!(folded("  Little\t STINT "), "little stint");
        assert_eq!(folded("Küstenseeschwalbe"), folded("KÜSTENSEESCHWALBE"));
        assert_eq!(
            folded("Ku\u{308}stenseeschwalbe"),
            folded("Küstenseeschwalbe")
        );
        for name in [
            "Temminck\u{2019}s Stint",
            "Temminck`s Stint",
            "Temminck\u{b4}s stint",
        ] {
            assert_eq!(folded(name), "temminck's stint", "{name}");
        }
        assert_eq!(folded("Black\u{2010}headed Gull"), "black-headed gull");
    }
}

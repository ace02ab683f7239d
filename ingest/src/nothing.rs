//! Words that stand where a bird's name is expected and say that the visit found none.

use config::nearest::folded;

/// What a row with such a word is read as.
pub(crate) const WITHOUT_BIRDS: &str = "a visit without birds";

/// What people write in common languages of Europe; common practice, no source.
const WORDS: &[&str] = &[
    "nil",
    "nil return",
    "nil seen",
    "none",
    "none seen",
    "none found",
    "no bird",
    "no birds",
    "no bird seen",
    "no birds seen",
    "no birds found",
    "nothing",
    "nothing seen",
    "nothing found",
    "keine",
    "keine v\u{f6}gel",
    "kein vogel",
    "nichts",
    "fehlanzeige",
    "rien",
    "aucun",
    "aucun oiseau",
    "n\u{e9}ant",
    "nada",
    "ninguno",
    "ninguna",
    "ninguna ave",
    "sin aves",
    "geen",
    "geen vogels",
    "niets",
];

/// Signs that may stand about such a word.
const SIGNS: [char; 6] = ['(', ')', '[', ']', '.', '!'];

/// Does a cell say so, in one of these words or with a dash?
pub(crate) fn is_said(cell: &str) -> bool {
    let cell = folded(cell);
    let word = cell.trim_matches(SIGNS).trim();
    let is_dash = |c: char| matches!(c, '-' | '\u{2014}' | '\u{2015}');
    WORDS.contains(&word) || (!word.is_empty() && word.chars().all(is_dash))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_for_a_visit_without_birds() {
        for cell in [
            "nil",
            "NIL.",
            "No  Birds",
            "(none)",
            "-",
            "\u{2013}",
            "\u{2014}",
            "--",
            "Keine V\u{f6}gel",
            "rien",
            "Nada",
            "geen",
        ] {
            assert!(is_said(cell), "{cell}");
        }
        for cell in [
            "",
            " ",
            ".",
            "?",
            "0",
            "Nile Duck",
            "Dunlin",
            "x",
            "no",
            "- 3",
        ] {
            assert!(!is_said(cell), "{cell}");
        }
    }
}

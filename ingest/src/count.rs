//! Written counts: exact, at least, about, present without a number, not found.

use crate::report::grouped;
use config::settings::CountTokens;
use forecast::series::Count;

/// No one counts more birds at once: beyond it stands a slip, or a code. Common practice, no source.
const MOST_BIRDS: u32 = 100_000_000;

/// Why a cell holds no usable count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum CountProblem {
    #[error("empty; write a number, or list \"\" under present or absent in [source.tokens]")]
    Empty,
    #[error("a negative number of birds")]
    Negative,
    #[error("a decimal or a thousands separator; write whole birds in digits alone")]
    Separator,
    #[error(
        "more than {} birds, which is no count of them",
        grouped(u64::from(MOST_BIRDS))
    )]
    TooMany,
    #[error("a range; write its lower end as \"at least\", such as 10+")]
    Range,
    #[error("\"at least 0\" and \"about 0\" tell nothing")]
    InexactZero,
    #[error(
        "neither a number nor one of the signs for counts, such as \"c. 20\", \"20+\" or \"x\""
    )]
    Unreadable,
}

/// The tokens of a source, folded for comparison.
pub(crate) struct CountReader {
    at_least: Vec<String>,
    about: Vec<String>,
    present: Vec<String>,
    absent: Vec<String>,
    /// No token takes digits away from being a number.
    digits_are_birds: bool,
}

impl CountReader {
    pub(crate) fn new(tokens: &CountTokens) -> Self {
        CountReader {
            at_least: folded(&tokens.at_least),
            about: folded(&tokens.about),
            digits_are_birds: !tokens.present.iter().any(|t| is_digits(t.trim()))
                && !tokens
                    .absent
                    .iter()
                    .any(|t| is_digits(t.trim()) && whole(t.trim()) != Ok(0)),
            present: folded(&tokens.present),
            absent: folded(&tokens.absent),
        }
    }

    /// A cell of nothing but a few digits: the usual case, read without further ado. None says
    /// nothing against the cell.
    pub(crate) fn plain(&self, cell: &[u8]) -> Option<u32> {
        const SURE_TO_FIT: usize = 8; // below MOST_BIRDS
        if !self.digits_are_birds || !(1..=SURE_TO_FIT).contains(&cell.len()) {
            return None;
        }
        let digit = |b: &u8| b.is_ascii_digit().then(|| u32::from(b - b'0'));
        cell.iter()
            .try_fold(0, |birds, b| Some(birds * 10 + digit(b)?))
    }

    /// Reads a tidied cell.
    pub(crate) fn read(&self, cell: &str) -> Result<Count, CountProblem> {
        let cell = lower(cell);
        if self.absent.contains(&cell) {
            return Ok(Count::Exactly(0));
        }
        if self.present.contains(&cell) {
            return Ok(Count::Present);
        }
        if cell.is_empty() {
            return Err(CountProblem::Empty);
        }
        if is_digits(&cell) {
            return whole(&cell).map(Count::Exactly);
        }
        let why_not = || why_not(self.without_token(&cell));
        self.inexact(&cell).unwrap_or_else(|| Err(why_not()))
    }

    /// The cell without the sign that stands before it or behind.
    fn without_token<'c>(&self, cell: &'c str) -> &'c str {
        let mut tokens = self.at_least.iter().chain(&self.about);
        let beside = |token: &String| {
            let token = token.as_str();
            cell.strip_prefix(token).or(cell.strip_suffix(token))
        };
        tokens.find_map(beside).map_or(cell, str::trim)
    }

    /// A number with a token before or behind it. Longer tokens first, so that "ca" is not "c" and "a".
    fn inexact(&self, cell: &str) -> Option<Result<Count, CountProblem>> {
        let at_least = number_beside(&self.at_least, cell).map(|n| (n, Kind::AtLeast));
        let found = at_least.or_else(|| Some((number_beside(&self.about, cell)?, Kind::About)));
        found.map(|(number, kind)| match (whole(number)?, kind) {
            (0, _) => Err(CountProblem::InexactZero),
            (n, Kind::AtLeast) => Ok(Count::AtLeast(n)),
            (n, Kind::About) => Ok(Count::About(n)),
        })
    }
}

enum Kind {
    AtLeast,
    About,
}

fn number_beside<'c>(tokens: &[String], cell: &'c str) -> Option<&'c str> {
    let beside = |token: &String| {
        let token = token.as_str();
        cell.strip_prefix(token).or(cell.strip_suffix(token))
    };
    let mut rests = tokens.iter().filter_map(beside).map(str::trim);
    rests.find(|rest| is_digits(rest))
}

fn folded(tokens: &[String]) -> Vec<String> {
    let mut tokens: Vec<String> = tokens.iter().map(|t| lower(t.trim())).collect();
    tokens.sort_by_key(|t| std::cmp::Reverse(t.len()));
    tokens
}

/// In small letters, with a hyphen for each dash and minus sign that word processors make of it.
fn lower(cell: &str) -> String {
    let small = cell.to_lowercase();
    small.replace(['\u{2212}', '\u{2012}', '\u{2013}', '\u{2014}'], "-")
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

/// Digits as a number of birds.
fn whole(digits: &str) -> Result<u32, CountProblem> {
    let birds = digits.parse().ok().filter(|birds| *birds <= MOST_BIRDS);
    birds.ok_or(CountProblem::TooMany)
}

fn why_not(cell: &str) -> CountProblem {
    let pieces = |separators: &[char]| {
        let mut pieces = cell.split(|c| separators.contains(&c));
        cell.contains(separators) && pieces.all(|p| is_digits(p.trim()))
    };
    let ends = cell.split_once('-');
    let is_range = ends.is_some_and(|(a, b)| is_digits(a.trim()) && is_digits(b.trim()));
    if cell.strip_prefix('-').is_some_and(is_digits) {
        CountProblem::Negative
    } else if pieces(&['.', ',', ' ', '\'', '\u{2019}']) {
        CountProblem::Separator
    } else if is_range {
        CountProblem::Range
    } else {
        CountProblem::Unreadable
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Count::*;

    fn reader() -> CountReader {
        let list = |tokens: &[&str]| tokens.iter().map(|t| t.to_string()).collect();
        CountReader::new(&CountTokens {
            at_least: list(&["+", ">=", ">", "min"]),
            about: list(&["c.", "ca.", "ca", "~", "c"]),
            present: list(&["x", "present", "p", "yes"]),
            absent: list(&["-", "none", "0"]),
        })
    }

    #[test]
    fn counts() {
        let cases = [
            ("12", Exactly(12)),
            ("0", Exactly(0)),
            ("007", Exactly(7)),
            ("-", Exactly(0)),
            ("\u{2013}", Exactly(0)),
            ("None", Exactly(0)),
            ("X", Present),
            ("present", Present),
            ("12+", AtLeast(12)),
            (">= 12", AtLeast(12)),
            (">12", AtLeast(12)),
            ("MIN 5", AtLeast(5)),
            ("c.40", About(40)),
            ("ca. 40", About(40)),
            ("40 ca", About(40)),
            ("~40", About(40)),
            ("100000000", Exactly(MOST_BIRDS)),
        ];
        for (cell, expected) in cases {
            assert_eq!(reader().read(cell), Ok(expected), "{cell:?}");
        }
    }

    #[test]
    fn plain_digits() {
        let cases = [
            ("12", Some(12)),
            ("0", Some(0)),
            ("99999999", Some(99_999_999)),
            ("100000000", None),
            ("", None),
            ("12+", None),
            (" 1", None),
        ];
        for (cell, expected) in cases {
            assert_eq!(reader().plain(cell.as_bytes()), expected, "{cell:?}");
        }
    }

    #[test]
    fn bad_counts_say_why() {
        use CountProblem::*;
        let cases = [
            ("", Empty),
            ("-3", Negative),
            ("\u{2212}3", Negative),
            ("1,234", Separator),
            ("1 234", Separator),
            ("1'234", Separator),
            ("12.5", Separator),
            ("100000001", TooMany),
            ("99999999999", TooMany),
            ("c. 1,200", Separator),
            ("1,200+", Separator),
            ("c. 40 - 50", Range),
            ("2024-04-03", Unreadable),
            ("c. 4294967296", TooMany),
            ("10-20", Range),
            ("10\u{2013}20", Range),
            ("0+", InexactZero),
            ("~0", InexactZero),
            ("5x", Unreadable),
            ("many", Unreadable),
            ("c. 5+", Unreadable),
        ];
        for (cell, expected) in cases {
            assert_eq!(reader().read(cell), Err(expected), "{cell:?}");
        }
    }
}

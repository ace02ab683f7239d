//! Dates with the month in words: the same day in whatever order they are written.

use super::DateProblem;
use chrono::NaiveDate;

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The month of an English name, or of its first three letters or more.
pub(crate) fn month(word: &str) -> Option<u32> {
    let word = word.trim_end_matches('.').to_ascii_lowercase();
    let begins = |name: &str| word.len() >= 3 && name.starts_with(&word);
    let place = MONTHS.iter().position(|name| begins(name))?;
    Some(place as u32 + 1)
}

/// A day, a month's name and a year.
pub(super) struct Named {
    year: Option<i32>,
    month: u32,
    day: u32,
}

impl Named {
    pub(super) fn read(&self) -> Result<NaiveDate, DateProblem> {
        let year = self.year.ok_or(DateProblem::TwoDigitYear)?;
        let date = NaiveDate::from_ymd_opt(year, self.month, self.day);
        date.ok_or(DateProblem::NoSuchNamedDay)
    }
}

/// Three words of which one is a month's name: 31 May 2011, 31-May-2011, May 31st, 2011.
pub(super) fn named(cell: &str) -> Option<Named> {
    let between = |c: char| c.is_whitespace() || matches!(c, '-' | '/' | ',' | '.');
    let words: Vec<&str> = cell.split(between).filter(|w| !w.is_empty()).collect();
    let &[a, b, c] = &words[..] else { return None };
    let (month, first, second) = match (month(a), month(b)) {
        (Some(month), None) => (month, b, c),
        (None, Some(month)) => (month, a, c),
        _ => return None,
    };
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    let (day, year) = match first.len() {
        4 if digits(first) => (second, first),
        _ => (first, second),
    };
    let year = match year.len() {
        4 if digits(year) => Some(year.parse().ok()?),
        2 if digits(year) => None,
        _ => return None,
    };
    let day = ["st", "nd", "rd", "th"]
        .into_iter()
        .find_map(|end| day.strip_suffix(end))
        .unwrap_or(day);
    let day = Some(day).filter(|d| (1..=2).contains(&d.len()) && digits(d))?;
    Some(Named {
        year,
        month,
        day: day.parse().ok()?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_go_by_three_letters_or_more() {
        let cases = [
            ("May", Some(5)),
            ("sept", Some(9)),
            ("Sept.", Some(9)),
            ("AUGUST", Some(8)),
            ("Ja", None),
            ("Juni", None),
            ("", None),
        ];
        for (word, expected) in cases {
            assert_eq!(month(word), expected, "{word}");
        }
    }
}

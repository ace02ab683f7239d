//! The text of a cell: stray spaces, tabs and invisible characters, names as listed, numbers.

use crate::report::RepairKind;
use config::nearest::plainly;
use std::borrow::Cow;

/// What is in a cell and does not belong there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Stray {
    pub(crate) spaces: bool,
    pub(crate) tabs: bool,
    pub(crate) invisible: bool,
}

impl Stray {
    pub(crate) fn repairs(self) -> Vec<RepairKind> {
        let kinds = [
            (self.spaces, RepairKind::Spaces),
            (self.tabs, RepairKind::Tabs),
            (self.invisible, RepairKind::Invisible),
        ];
        kinds.into_iter().filter(|k| k.0).map(|k| k.1).collect()
    }
}

/// Soft hyphens, marks of byte order and writing direction, and characters of no width: copied
/// along from web pages and other files, and never seen (Unicode 16, general category Cf).
pub(crate) fn is_invisible(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}')
        || matches!(c, '\u{2060}'..='\u{2064}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// The cell without what cannot be seen, without white space around it and with single spaces
/// inside, and what was stray.
pub(crate) fn tidy(cell: &str) -> (Cow<'_, str>, Stray) {
    if !cell.contains(is_invisible) {
        return tidy_seen(cell);
    }
    let seen: String = cell.chars().filter(|c| !is_invisible(*c)).collect();
    let (tidied, stray) = tidy_seen(&seen);
    let invisible = true;
    (
        Cow::Owned(tidied.into_owned()),
        Stray { invisible, ..stray },
    )
}

fn tidy_seen(cell: &str) -> (Cow<'_, str>, Stray) {
    if !cell.contains(char::is_whitespace) {
        return (Cow::Borrowed(cell), Stray::default());
    }
    let tidied = cell.split_whitespace().collect::<Vec<_>>().join(" ");
    let tabless = cell.replace('\t', "");
    let odd = |c: char| c.is_whitespace() && c != ' ';
    let stray = Stray {
        tabs: cell.contains('\t'),
        spaces: tabless.trim() != tabless || tabless.contains("  ") || tabless.contains(odd),
        invisible: false,
    };
    (Cow::Owned(tidied), stray)
}

/// Does raw text begin or end with a space or tab, and is a tab among them?
pub(crate) fn stray_ends(cell: &[u8]) -> Stray {
    let ends = [cell.first(), cell.last()];
    Stray {
        spaces: ends.contains(&Some(&b' ')),
        tabs: ends.contains(&Some(&b'\t')),
        invisible: false,
    }
}

/// How a tidied name differs from the listed one that it was taken for.
pub(crate) fn repaired_to<'l>(
    name: &str,
    mut listed: impl Iterator<Item = &'l str> + Clone,
) -> Vec<RepairKind> {
    if listed.clone().any(|l| l == name) {
        return Vec::new();
    }
    let plain = plainly(name);
    let kinds = [
        (plain != name, RepairKind::Signs),
        (!listed.any(|l| plainly(l) == plain), RepairKind::Case),
    ];
    // what is listed with a sign of its own may be written with the plain one
    match kinds
        .iter()
        .filter(|k| k.0)
        .map(|k| k.1)
        .collect::<Vec<_>>()
    {
        none if none.is_empty() => vec![RepairKind::Signs],
        some => some,
    }
}

/// Why a cell holds no usable measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum MeasureProblem {
    #[error("empty")]
    Empty,
    #[error("not a number; write the number alone, as 7 or 7.5")]
    NotANumber,
    #[error("could be thousands or a decimal; write it without the comma, as 1250 or 1.25")]
    Comma,
    #[error("an effort is more than 0; leave the cell empty where it was not recorded")]
    EffortNotPositive,
}

/// An effort in whatever unit the file keeps: more than 0, or None where the cell is empty. A comma
/// is read as a point where it cannot part thousands.
pub(crate) fn effort(cell: &str) -> Result<Option<f64>, MeasureProblem> {
    if parts_thousands(cell.trim()) {
        return Err(MeasureProblem::Comma);
    }
    match number(&cell.replacen(',', ".", 1)) {
        Err(MeasureProblem::Empty) => Ok(None),
        Err(problem) => Err(problem),
        Ok(n) if n > 0.0 => Ok(Some(n)),
        Ok(_) => Err(MeasureProblem::EffortNotPositive),
    }
}

/// One to three digits of which the first is no 0, a comma, three digits.
fn parts_thousands(cell: &str) -> bool {
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    cell.split_once(',').is_some_and(|(before, behind)| {
        let groups = (1..=3).contains(&before.len()) && behind.len() == 3;
        groups && !before.starts_with('0') && digits(before) && digits(behind)
    })
}

/// Minus signs and dashes before a number are what a hyphen stands for.
pub(crate) fn number(cell: &str) -> Result<f64, MeasureProblem> {
    let cell = cell.trim();
    let signless = cell.strip_prefix(['\u{2212}', '\u{2013}']);
    let cell: &str = &signless.map_or(Cow::Borrowed(cell), |n| Cow::Owned(format!("-{n}")));
    if cell.is_empty() {
        return Err(MeasureProblem::Empty);
    }
    let plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
    // f64 would also take "inf", "nan" and "1e5", which no one means in a spreadsheet of counts.
    match cell.parse::<f64>() {
        Ok(n) if n.is_finite() && cell.chars().all(plain) => Ok(n),
        _ => Err(MeasureProblem::NotANumber),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stray_white_space_is_told_apart() {
        let cases = [
            ("Long Bank", "Long Bank", false, false),
            (" Long  Bank", "Long Bank", true, false),
            ("Lower\t", "Lower", false, true),
            (" Lower\t", "Lower", true, true),
            ("Long\tBank", "Long Bank", false, true),
            ("Dune\u{a0}Wood", "Dune Wood", true, false),
            ("", "", false, false),
            ("  ", "", true, false),
        ];
        for (cell, expected, spaces, tabs) in cases {
            let (tidied, stray) = tidy(cell);
            assert_eq!(tidied, expected, "{cell:?}");
            let invisible = false;
            let expected = Stray {
                spaces,
                tabs,
                invisible,
            };
            assert_eq!(stray, expected, "{cell:?}");
        }
    }

    #[test]
    fn invisible_characters_are_taken_out() {
        let cases = [
            ("Dun\u{200b}lin", "Dunlin", false),
            ("\u{feff}Long Bank\u{200e} ", "Long Bank", true),
            ("\u{ad}", "", false),
        ];
        for (cell, expected, spaces) in cases {
            let (tidied, stray) = tidy(cell);
            assert_eq!(tidied, expected, "{cell:?}");
            assert_eq!((stray.spaces, stray.invisible), (spaces, true), "{cell:?}");
        }
    }

    #[test]
    fn repairs_of_names_are_told_by_kind() {
        use RepairKind::{Case, Signs};
        let listed = ["Temminck's Stint", "Ross\u{2019}s Gull"];
        let cases: [(&str, &[RepairKind]); 5] = [
            ("Temminck's Stint", &[]),
            ("Temminck\u{2019}s Stint", &[Signs]),
            ("temminck's stint", &[Case]),
            ("temminck\u{2019}s stint", &[Signs, Case]),
            ("Ross's Gull", &[Signs]),
        ];
        for (name, kinds) in cases {
            assert_eq!(repaired_to(name, listed.into_iter()), kinds, "{name}");
        }
    }

    #[test]
    fn efforts() {
        use MeasureProblem::*;
        let cases = [
            ("60", Ok(Some(60.0))),
            ("7.5", Ok(Some(7.5))),
            ("", Ok(None)),
            ("0", Err(EffortNotPositive)),
            ("-5", Err(EffortNotPositive)),
            ("7,5", Ok(Some(7.5))),
            ("0,750", Ok(Some(0.75))),
            ("1,250", Err(Comma)),
            ("1,2,3", Err(NotANumber)),
            ("60 min", Err(NotANumber)),
            ("inf", Err(NotANumber)),
            ("1h30", Err(NotANumber)),
        ];
        for (cell, expected) in cases {
            assert_eq!(effort(cell), expected, "{cell:?}");
        }
    }
}

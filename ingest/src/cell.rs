//! The text of a cell: stray spaces and tabs, numbers.

use crate::report::RepairKind;
use config::settings::TemperatureUnit;
use std::borrow::Cow;

/// White space in a cell that does not belong there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Stray {
    pub(crate) spaces: bool,
    pub(crate) tabs: bool,
}

impl Stray {
    pub(crate) fn repairs(self) -> Vec<RepairKind> {
        let kinds = [
            (self.spaces, RepairKind::Spaces),
            (self.tabs, RepairKind::Tabs),
        ];
        kinds.into_iter().filter(|k| k.0).map(|k| k.1).collect()
    }
}

/// The cell without white space around it and with single spaces inside, and what was stray.
pub(crate) fn tidy(cell: &str) -> (Cow<'_, str>, Stray) {
    if !cell.contains(char::is_whitespace) {
        return (Cow::Borrowed(cell), Stray::default());
    }
    let tidied = cell.split_whitespace().collect::<Vec<_>>().join(" ");
    let tabless = cell.replace('\t', "");
    let odd = |c: char| c.is_whitespace() && c != ' ';
    let stray = Stray {
        tabs: cell.contains('\t'),
        spaces: tabless.trim() != tabless || tabless.contains("  ") || tabless.contains(odd),
    };
    (Cow::Owned(tidied), stray)
}

/// Does raw text begin or end with a space or tab, and is a tab among them?
pub(crate) fn stray_ends(cell: &[u8]) -> Stray {
    let ends = [cell.first(), cell.last()];
    Stray {
        spaces: ends.contains(&Some(&b' ')),
        tabs: ends.contains(&Some(&b'\t')),
    }
}

/// Why a cell holds no usable measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum MeasureProblem {
    #[error("empty")]
    Empty,
    #[error("not a number; write it as 7 or 7.5")]
    NotANumber,
    #[error("an effort is more than 0; leave the cell empty where it was not recorded")]
    EffortNotPositive,
    #[error("no temperature lies there (-95 to 65 deg C, -139 to 149 deg F)")]
    NotATemperature,
}

/// An effort in whatever unit the file keeps: more than 0, or None where the cell is empty.
pub(crate) fn effort(cell: &str) -> Result<Option<f64>, MeasureProblem> {
    match number(cell) {
        Err(MeasureProblem::Empty) => Ok(None),
        Err(problem) => Err(problem),
        Ok(n) if n > 0.0 => Ok(Some(n)),
        Ok(_) => Err(MeasureProblem::EffortNotPositive),
    }
}

/// A temperature, deg C. A decimal comma is read as a point: no temperature has thousands.
/// Bounds: a little beyond the extremes on record, -89.2 and 56.7 (World Meteorological
/// Organization, archive of weather and climate extremes).
pub(crate) fn temperature(cell: &str, unit: TemperatureUnit) -> Result<f64, MeasureProblem> {
    let written = number(&cell.replacen(',', ".", 1))?;
    let degrees = match unit {
        TemperatureUnit::Celsius => written,
        TemperatureUnit::Fahrenheit => (written - 32.0) / 1.8,
    };
    if (-95.0..=65.0).contains(&degrees) {
        Ok(degrees)
    } else {
        Err(MeasureProblem::NotATemperature)
    }
}

fn number(cell: &str) -> Result<f64, MeasureProblem> {
    let cell = cell.trim();
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
            assert_eq!(stray, Stray { spaces, tabs }, "{cell:?}");
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
            ("7,5", Err(NotANumber)),
            ("inf", Err(NotANumber)),
            ("1h30", Err(NotANumber)),
        ];
        for (cell, expected) in cases {
            assert_eq!(effort(cell), expected, "{cell:?}");
        }
    }

    #[test]
    fn temperatures() {
        use MeasureProblem::*;
        let cases = [
            ("-4.4", Ok(-4.4)),
            ("3,5", Ok(3.5)),
            ("", Err(Empty)),
            ("999", Err(NotATemperature)),
            ("NA", Err(NotANumber)),
            ("1,2,3", Err(NotANumber)),
        ];
        for (cell, expected) in cases {
            assert_eq!(
                temperature(cell, TemperatureUnit::Celsius),
                expected,
                "{cell:?}"
            );
        }
        for (cell, c) in [("32", 0.0), ("212", 100.0), ("-40", -40.0)] {
            let read = temperature(cell, TemperatureUnit::Fahrenheit);
            assert_eq!(
                read,
                if c > 65.0 {
                    Err(NotATemperature)
                } else {
                    Ok(c)
                },
                "{cell:?}"
            );
        }
    }
}

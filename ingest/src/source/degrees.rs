//! Temperatures as written: their unit, and the warmest that a day can be.

use crate::cell::{MeasureProblem, number};
use config::settings::TemperatureUnit;

/// What a column says of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum OfDay {
    Mean,
    Min,
    Max,
}

impl OfDay {
    /// No day is so warm, deg C: a little beyond the extremes on record. The highest temperature is
    /// 56.7 (World Meteorological Organization, archive of weather and climate extremes); the highest
    /// minimum of a day is 42.6, from memory, so that no mean comes near 50.
    fn bound_c(self) -> u8 {
        match self {
            OfDay::Mean | OfDay::Min => 50,
            OfDay::Max => 60,
        }
    }

    fn words(self) -> &'static str {
        match self {
            OfDay::Mean => "mean",
            OfDay::Min => "minimum",
            OfDay::Max => "maximum",
        }
    }
}

/// The coldest that is taken for a temperature, deg C: a little beyond the coldest on record, -89.2
/// (as above).
const COLDEST_C: f64 = -95.0;

/// Why a cell holds no usable temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(super) enum DegreesProblem {
    #[error(transparent)]
    Measure(MeasureProblem),
    #[error("no temperature lies there (-95 to 60 deg C, -139 to 140 deg F)")]
    NotATemperature,
    /// Degrees Fahrenheit would be right for it where `in_fahrenheit`.
    #[error(
        "no {of} of a day reaches {bound_c} deg C{}",
        if *in_fahrenheit { "; unit = \"F\" says that a source is in Fahrenheit" } else { "" }
    )]
    TooWarm {
        of: &'static str,
        bound_c: u8,
        in_fahrenheit: bool,
    },
    #[error("in degrees {written}, where the source is read in degrees {read}")]
    OtherUnit {
        written: &'static str,
        read: &'static str,
    },
}

/// A unit in words.
pub(super) fn unit_name(unit: TemperatureUnit) -> &'static str {
    match unit {
        TemperatureUnit::Celsius => "Celsius",
        TemperatureUnit::Fahrenheit => "Fahrenheit",
    }
}

/// The unit that a tidied cell or the name of a column states: "12 °C", "Mean (°F)", "temp_f".
pub(super) fn stated_unit(text: &str) -> Option<TemperatureUnit> {
    let small = text.to_lowercase();
    let words = small.split(|c: char| !c.is_alphabetic() || c == '\u{ba}');
    let mut units = words.filter_map(|word| match word {
        "c" | "celsius" | "centigrade" | "degc" => Some(TemperatureUnit::Celsius),
        "f" | "fahrenheit" | "degf" => Some(TemperatureUnit::Fahrenheit),
        _ => None,
    });
    let sign = |c| match c {
        '\u{2103}' => Some(TemperatureUnit::Celsius),
        '\u{2109}' => Some(TemperatureUnit::Fahrenheit),
        _ => None,
    };
    let first = units.next().or_else(|| text.chars().find_map(sign))?;
    // a name with both says neither
    units.all(|unit| unit == first).then_some(first)
}

/// A temperature, deg C. A decimal comma is read as a point: no temperature has thousands.
pub(super) fn degrees(cell: &str, unit: TemperatureUnit, of: OfDay) -> Result<f64, DegreesProblem> {
    let written = number(&cell.replacen(',', ".", 1)).map_err(|problem| {
        let other = stated_unit(cell).filter(|stated| *stated != unit);
        match other {
            Some(other) if cell.starts_with(|c: char| c.is_ascii_digit() || c == '-') => {
                DegreesProblem::OtherUnit {
                    written: unit_name(other),
                    read: unit_name(unit),
                }
            }
            _ => DegreesProblem::Measure(problem),
        }
    })?;
    let bound_c = of.bound_c();
    let warm = |degrees_c: f64| degrees_c >= f64::from(bound_c);
    let from_fahrenheit = (written - 32.0) / 1.8;
    let is_celsius = unit == TemperatureUnit::Celsius;
    let degrees_c = if is_celsius { written } else { from_fahrenheit };
    // codes for a missing day, such as 999, fit neither unit
    let in_fahrenheit = is_celsius && !warm(from_fahrenheit);
    match warm(degrees_c) {
        _ if degrees_c < COLDEST_C => Err(DegreesProblem::NotATemperature),
        true if degrees_c > 65.0 && !in_fahrenheit => Err(DegreesProblem::NotATemperature),
        true => Err(DegreesProblem::TooWarm {
            of: of.words(),
            bound_c,
            in_fahrenheit,
        }),
        false => Ok(degrees_c),
    }
}

/// Days of a source read in Celsius that no day is warm enough for.
#[derive(Debug, Default)]
pub(super) struct UnitCheck {
    days: u64,
    too_warm: u64,
    /// Line and cell of the first.
    first: Option<(u64, String)>,
    /// Different numbers among the too warm, [`LEAST`] at most.
    different: Vec<String>,
}

/// A typing slip makes a day in hundreds too warm; degrees Fahrenheit do so on most days of a
/// summer. Common practice, no source.
const ONE_IN: u64 = 20;
/// So many different numbers at least: in a short file one slip is many, and one number again and
/// again is a code for a missing day ("99.9"). A choice.
const LEAST: usize = 3;

impl UnitCheck {
    /// Takes a day's cell into account.
    pub(super) fn cell(&mut self, read: Result<(), &DegreesProblem>, line: u64, cell: &[u8]) {
        match read {
            Ok(()) => self.days += 1,
            Err(DegreesProblem::TooWarm {
                in_fahrenheit: true,
                ..
            }) => {
                self.days += 1;
                self.too_warm += 1;
                let text = String::from_utf8_lossy(cell).trim().to_owned();
                if self.different.len() < LEAST && !self.different.contains(&text) {
                    self.different.push(text.clone());
                }
                self.first.get_or_insert((line, text));
            }
            Err(_) => {}
        }
    }

    /// Where so many are too warm that the unit must be another: how many of how many, and the
    /// first.
    pub(super) fn verdict(&self) -> Option<(u64, u64, u64, &str)> {
        let (line, value) = self.first.as_ref()?;
        let many = self.different.len() >= LEAST && self.too_warm * ONE_IN >= self.days;
        many.then_some((self.too_warm, self.days, *line, value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use MeasureProblem::*;
    use TemperatureUnit::*;

    #[test]
    fn temperatures() {
        let measure = |problem| Err(DegreesProblem::Measure(problem));
        let warm = |of, bound_c, in_fahrenheit| {
            Err(DegreesProblem::TooWarm {
                of,
                bound_c,
                in_fahrenheit,
            })
        };
        let none = Err(DegreesProblem::NotATemperature);
        let other = Err(DegreesProblem::OtherUnit {
            written: "Fahrenheit",
            read: "Celsius",
        });
        for (cell, of, expected) in [
            ("-4.4", OfDay::Mean, Ok(-4.4)),
            ("3,5", OfDay::Mean, Ok(3.5)),
            ("\u{2212}4,5", OfDay::Mean, Ok(-4.5)),
            ("\u{2013}2", OfDay::Mean, Ok(-2.0)),
            ("49.9", OfDay::Mean, Ok(49.9)),
            ("50", OfDay::Mean, warm("mean", 50, true)),
            ("90", OfDay::Mean, warm("mean", 50, true)),
            ("50", OfDay::Max, Ok(50.0)),
            ("61", OfDay::Max, warm("maximum", 60, true)),
            ("50", OfDay::Min, warm("minimum", 50, true)),
            ("999", OfDay::Mean, none),
            ("-99", OfDay::Mean, none),
            ("", OfDay::Mean, measure(Empty)),
            ("NA", OfDay::Mean, measure(NotANumber)),
            ("1,2,3", OfDay::Mean, measure(NotANumber)),
            ("12 \u{b0}C", OfDay::Mean, measure(NotANumber)),
            ("50 \u{b0}F", OfDay::Mean, other),
            ("50F", OfDay::Mean, other),
        ] {
            assert_eq!(degrees(cell, Celsius, of), expected, "{cell:?}");
        }
        let tropics = warm("mean", 50, false);
        for (cell, expected) in [
            ("32", Ok(0.0)),
            ("-40", Ok(-40.0)),
            ("212", none),
            ("125", tropics),
        ] {
            assert_eq!(degrees(cell, Fahrenheit, OfDay::Mean), expected, "{cell:?}");
        }
    }

    #[test]
    fn units_stand_in_names_of_columns() {
        for (name, unit) in [
            ("Mean (\u{b0}F)", Some(Fahrenheit)),
            ("temp_f", Some(Fahrenheit)),
            ("T\u{ba}F", Some(Fahrenheit)),
            ("Max deg F", Some(Fahrenheit)),
            ("degF", Some(Fahrenheit)),
            ("Low \u{2109}", Some(Fahrenheit)),
            ("mean_c", Some(Celsius)),
            ("Temperature in Celsius", Some(Celsius)),
            ("Mean", None),
            ("Factor", None),
            ("C or F", None),
        ] {
            assert_eq!(stated_unit(name), unit, "{name}");
        }
    }

    #[test]
    fn a_slip_in_many_days_is_no_other_unit() {
        let mut check = UnitCheck::default();
        let warm = degrees("68", Celsius, OfDay::Mean).unwrap_err();
        check.cell(Err(&warm), 2, b" 68 ");
        for line in 3..21 {
            check.cell(Ok(()), line, b"6.8");
        }
        assert_eq!(check.verdict(), None);
        check.cell(Err(&warm), 21, b"71");
        assert_eq!(check.verdict(), None);
        check.cell(Err(&warm), 22, b"68");
        assert_eq!(check.verdict(), None, "two numbers, one of them twice");
        check.cell(Err(&warm), 22, b"66");
        assert_eq!(check.verdict(), Some((4, 22, 2, "68")));
        for line in 23..83 {
            check.cell(Ok(()), line, b"6.8");
        }
        assert_eq!(check.verdict(), None);
        let code = degrees("9999", Celsius, OfDay::Mean).unwrap_err();
        check.cell(Err(&code), 83, b"9999");
        assert_eq!(check.verdict(), None);
    }
}

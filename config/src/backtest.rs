//! `[backtest]`: the Mondays on which the forecasts of past years are tested.

use crate::raw::{Key, Section};
use crate::settings::{BacktestSettings, Stretch};
use chrono::{Datelike, NaiveDate};
use std::fmt::{self, Display};
use std::str::FromStr;

const KEYS: &[Key] = &[Key(
    "mondays",
    r#"a list of stretches of the year, such as ["03-01..06-05", "08-15..11-30"]"#,
)];

/// The two movements of the northern year.
const MONDAYS: [Stretch; 2] = [
    Stretch {
        from: (3, 1),
        to: (6, 5),
    },
    Stretch {
        from: (8, 15),
        to: (11, 30),
    },
];

/// No stretch of the year.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected two days of the year, such as 03-01..06-05 (month-day)")]
pub struct NoStretch;

impl FromStr for Stretch {
    type Err = NoStretch;

    fn from_str(text: &str) -> Result<Self, NoStretch> {
        let (from, to) = text.split_once("..").ok_or(NoStretch)?;
        let day = |text| month_day(text).ok_or(NoStretch);
        Ok(Stretch {
            from: day(from)?,
            to: day(to)?,
        })
    }
}

fn month_day(text: &str) -> Option<(u32, u32)> {
    // a leap year, which has every day
    let date = NaiveDate::parse_from_str(&format!("2000-{text}"), "%Y-%m-%d").ok()?;
    Some((date.month(), date.day()))
}

impl Display for Stretch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ((m1, d1), (m2, d2)) = (self.from, self.to);
        write!(f, "{m1:02}-{d1:02}..{m2:02}-{d2:02}")
    }
}

/// The `[backtest]` of the file, or its defaults. None where something does not read.
pub(crate) fn read(top: &Section<'_>) -> Option<BacktestSettings> {
    let mondays = match top.section("backtest", KEYS) {
        Some(section) if section.has("mondays") => stretches(&section)?,
        _ => MONDAYS.to_vec(),
    };
    Some(BacktestSettings { mondays })
}

fn stretches(section: &Section<'_>) -> Option<Vec<Stretch>> {
    if section.is_empty_list("mondays") {
        section.need_items("mondays");
        return None;
    }
    let read = |text: toml::Spanned<String>| {
        let stretch = text.get_ref().parse().ok();
        if stretch.is_none() {
            section.refuse_value("mondays", &text);
        }
        stretch
    };
    let written = section.texts("mondays", false)?;
    Some(written.into_iter().filter_map(read).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_are_two_days_that_a_year_can_have() {
        for good in ["03-01..06-05", "12-20..01-10", "02-29..02-29"] {
            assert_eq!(
                good.parse::<Stretch>().map(|s| s.to_string()),
                Ok(good.into())
            );
        }
        for bad in [
            "",
            "03-01",
            "03-01..",
            "02-30..03-01",
            "13-01..13-02",
            "1..2",
            "03-01-04-01",
        ] {
            assert_eq!(bad.parse::<Stretch>(), Err(NoStretch), "{bad}");
        }
    }
}

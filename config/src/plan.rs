//! `[plan]`: what stays the same from plan to plan of the visits.

use crate::ids::Ids;
use crate::raw::{Key, Section};
use crate::settings::{NotOn, PlanSettings};
use crate::sources::known_site;
use chrono::{Datelike, NaiveDate, Weekday};
use std::fmt::{self, Display};
use std::path::Path;
use std::str::FromStr;
use toml::Spanned;

const KEYS: &[Key] = &[
    Key(
        "visits",
        "how many visits in all, a whole number from 1 to 366",
    ),
    Key("sites", "a list of site ids"),
    Key(
        "targets",
        r#"a list of species, sets and "all", such as ["Little Stint=2", "set:pale-terns"]"#,
    ),
    Key("weekdays", r#"a list of days such as ["sat", "sun"]"#),
    Key(
        "not",
        r#"a list of dates such as ["2026-09-12"], or days of every year such as ["12-25"]"#,
    ),
    Key(
        "gap_days",
        "the least days from one visit of a site to its next, a whole number from 1 to 60",
    ),
    Key(
        "most_per_week",
        "the most visits in a week, all sites together, a whole number from 1 to 100",
    ),
    Key(
        "teams",
        "how many teams go out, a whole number from 1 to 20",
    ),
    Key(
        "farthest_km",
        "how far apart a team's sites of two consecutive days may lie, a number from 0 to 1000",
    ),
    Key(
        "rain_days",
        "within how many days a rained-off visit is made up, a whole number from 0 to 14",
    ),
    Key(
        "start_minutes",
        "minutes from sunrise to the start, a whole number from -240 to 720",
    ),
    Key(
        "visit_minutes",
        "how long a visit takes, a whole number from 10 to 900",
    ),
    Key("tides", "a CSV file of tide times: date, time, height"),
    Key(
        "tide_minutes",
        "minutes from high water to the start, a whole number from -360 to 360",
    ),
];

const DAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Mon),
    ("tue", Weekday::Tue),
    ("wed", Weekday::Wed),
    ("thu", Weekday::Thu),
    ("fri", Weekday::Fri),
    ("sat", Weekday::Sat),
    ("sun", Weekday::Sun),
];

impl Default for PlanSettings {
    fn default() -> Self {
        PlanSettings {
            visits: None,
            sites: Vec::new(),
            targets: Vec::new(),
            weekdays: Vec::new(),
            not: Vec::new(),
            gap_days: 1,
            most_per_week: None,
            teams: 1,
            farthest_km: None,
            rain_days: 0,
            start_minutes: 0,
            visit_minutes: 120,
            tides: None,
            // waders come in to roost in the hours before high water: common practice, no source
            tide_minutes: -120,
        }
    }
}

/// The `[plan]` of the file, or its defaults. None where something does not read.
pub(crate) fn read(top: &Section<'_>, root: &Path, sites: &Ids) -> Option<PlanSettings> {
    let Some(section) = top.section("plan", KEYS) else {
        return Some(PlanSettings::default());
    };
    // every part is read, so that all that is wrong is told at once
    let (looked_for, rules, times) = (
        looked_for(&section, sites),
        rules(&section),
        times(&section, root),
    );
    let (rules, times) = (rules?, times?);
    Some(PlanSettings {
        gap_days: rules.gap_days,
        most_per_week: rules.most_per_week,
        teams: rules.teams,
        farthest_km: rules.farthest_km,
        visits: rules.visits,
        rain_days: rules.rain_days,
        start_minutes: times.start_minutes,
        visit_minutes: times.visit_minutes,
        tides: times.tides,
        tide_minutes: times.tide_minutes,
        ..looked_for
    })
}

/// Sites, targets and days; lists without what does not read, which is told.
fn looked_for(section: &Section<'_>, sites: &Ids) -> PlanSettings {
    let texts = |key: &str| section.texts(key, false).unwrap_or_default();
    let known = |name: &Spanned<String>| known_site(section, "sites", name, sites);
    let day = |text: &Spanned<String>| section.choose("weekdays", text, &DAYS);
    let targets = texts("targets").into_iter();
    PlanSettings {
        sites: texts("sites").iter().filter_map(known).collect(),
        targets: targets.map(Spanned::into_inner).collect(),
        weekdays: texts("weekdays").iter().filter_map(day).collect(),
        not: texts("not")
            .iter()
            .filter_map(|text| not_on(section, text))
            .collect(),
        ..PlanSettings::default()
    }
}

/// How many visits, how far apart, by how many people.
fn rules(section: &Section<'_>) -> Option<PlanSettings> {
    let default = PlanSettings::default();
    let some = |key: &str, most: u32| match section.has(key) {
        true => section.whole(key, 1..=most, 1).map(Some),
        false => Some(None),
    };
    let (visits, most_per_week) = (some("visits", 366), some("most_per_week", 100));
    let gap_days = section.whole("gap_days", 1..=60, default.gap_days);
    let teams = section.whole("teams", 1..=20, default.teams);
    let rain_days = section.whole("rain_days", 0..=14, default.rain_days);
    let farthest_km = farthest(section);
    Some(PlanSettings {
        visits: visits?,
        most_per_week: most_per_week?,
        gap_days: gap_days?,
        teams: teams?,
        rain_days: rain_days?,
        farthest_km: farthest_km?,
        ..default
    })
}

/// When visits begin and how long they take.
fn times(section: &Section<'_>, root: &Path) -> Option<PlanSettings> {
    let default = PlanSettings::default();
    let visit_minutes = section.whole("visit_minutes", 10..=900, default.visit_minutes);
    let start = minutes(section, "start_minutes", (-240, 720), default.start_minutes);
    let tide = minutes(section, "tide_minutes", (-360, 360), default.tide_minutes);
    let tides = section.text("tides");
    Some(PlanSettings {
        visit_minutes: visit_minutes?,
        start_minutes: start?,
        tide_minutes: tide?,
        tides: tides.map(|file| root.join(file.into_inner())),
        ..default
    })
}

fn minutes(section: &Section<'_>, key: &str, range: (i32, i32), default: i32) -> Option<i32> {
    if !section.has(key) {
        return Some(default);
    }
    let number = section.number(key)?;
    let inside = f64::from(range.0)..=f64::from(range.1);
    if number.get_ref().fract() == 0.0 && inside.contains(number.get_ref()) {
        return Some(*number.get_ref() as i32);
    }
    section.refuse_value(key, &number);
    None
}

fn farthest(section: &Section<'_>) -> Option<Option<f64>> {
    if !section.has("farthest_km") {
        return Some(None);
    }
    let km = section.number("farthest_km")?;
    if (0.0..=1000.0).contains(km.get_ref()) {
        return Some(Some(km.into_inner()));
    }
    section.refuse_value("farthest_km", &km);
    None
}

fn not_on(section: &Section<'_>, text: &Spanned<String>) -> Option<NotOn> {
    let read = text.get_ref().parse().ok();
    if read.is_none() {
        section.refuse_value("not", text);
    }
    read
}

/// No day on which nobody goes out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("expected a date such as 2026-09-12, or a day of every year such as 12-25")]
pub struct NoDay;

impl FromStr for NotOn {
    type Err = NoDay;

    fn from_str(text: &str) -> Result<Self, NoDay> {
        if let Ok(date) = NaiveDate::parse_from_str(text, "%Y-%m-%d")
            && date.to_string() == text
        {
            return Ok(NotOn::Date(date));
        }
        // a leap year, which has every day
        let day = NaiveDate::parse_from_str(&format!("2000-{text}"), "%Y-%m-%d");
        let day = day.map_err(|_| NoDay)?;
        Ok(NotOn::EveryYear(day.month(), day.day()))
    }
}

impl NotOn {
    /// Is it that date?
    pub fn holds(&self, date: NaiveDate) -> bool {
        match self {
            NotOn::Date(on) => *on == date,
            NotOn::EveryYear(month, day) => (date.month(), date.day()) == (*month, *day),
        }
    }
}

impl Display for NotOn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotOn::Date(date) => write!(f, "{date}"),
            NotOn::EveryYear(month, day) => write!(f, "{month:02}-{day:02}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_out_are_dates_or_days_of_every_year() {
        let day = |text: &str| text.parse::<NotOn>();
        assert_eq!(day("12-25"), Ok(NotOn::EveryYear(12, 25)));
        let date = NaiveDate::from_ymd_opt(2027, 12, 25).expect("a date");
        assert!(day("12-25").is_ok_and(|d| d.holds(date)));
        assert!(day("2026-12-25").is_ok_and(|d| !d.holds(date)));
        for text in ["2026-12-25", "02-29"] {
            assert_eq!(day(text).map(|d| d.to_string()), Ok(text.to_owned()));
        }
        for bad in ["", "25.12.", "13-01", "2026-02-29", "sat"] {
            assert_eq!(day(bad), Err(NoDay), "{bad}");
        }
    }
}

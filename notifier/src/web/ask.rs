//! What an address asks for.

use super::practice::Step;
use super::render::Refusal;
use crate::season::named;
use chrono::NaiveDate;
use forecast::calendar::{IsoWeek, has_53_weeks};
use forecast::fit::PassageName;

/// One thing that can be asked for.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Ask {
    /// All sites.
    Home,
    /// The style sheet.
    Style,
    /// The letters of charts.
    Letters(Weight),
    /// A week at a site by its Monday; this week where None.
    Week(String, Option<NaiveDate>),
    /// A season at a site, called so; the one under way where None.
    Season(String, Option<(i32, PassageName)>),
    /// The year of a site.
    Year(String),
    /// The same to print.
    YearFile(String, YearFile),
    /// A set at a site.
    Set(String, String),
    /// A set at a site on two sides, to hand out.
    Handout(String, String),
    /// The style sheet of handouts.
    HandoutStyle,
    /// A step of the practice.
    Practice(Box<Step>),
    /// A species at a site, by its slug.
    Species(String, String),
    /// A site's Atom feed.
    Feed(String),
    /// A site's windows as a calendar.
    Calendar(String),
    /// Planned visits: of a site, or of all.
    Plan(Option<String>),
    /// The same as a calendar.
    PlanCalendar(Option<String>),
    /// Field sheets of a site's planned visits.
    Sheets(String),
    /// The style sheet of field sheets.
    SheetStyle,
    /// Something for programs.
    Api(ApiAsk),
}

/// A kind of file of a site's year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum YearFile {
    /// All sheets.
    Pdf,
    /// A sheet, from 1 on.
    Png(u8),
}

impl YearFile {
    /// Is it none, where there are so many sheets?
    pub(super) fn is_beyond(self, sheets: u8) -> bool {
        match self {
            YearFile::Pdf => sheets == 0,
            YearFile::Png(number) => !(1..=sheets).contains(&number),
        }
    }

    /// Reads "year.pdf" and "year-1.png".
    fn of(name: &str) -> Option<Self> {
        if name == "year.pdf" {
            return Some(YearFile::Pdf);
        }
        let sheet = name.strip_prefix("year-")?.strip_suffix(".png")?;
        let plain = |n: &u8| n.to_string() == sheet;
        sheet.parse().ok().filter(plain).map(YearFile::Png)
    }
}

/// How heavy letters are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weight {
    /// As text.
    Regular,
    /// As headings.
    Bold,
}

/// What programs can ask for.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum ApiAsk {
    /// All of it, described.
    Described,
    /// The sites.
    Sites,
    /// A week at a site by its Monday; this week where None.
    Week(String, Option<NaiveDate>),
    /// A site's passages.
    Windows(String),
    /// The curve of a species at a site, by its slug.
    Curve(String, String),
    /// A site's sets.
    Sets(String),
    /// The kept plans of a site.
    Plans(String),
}

impl Ask {
    /// Reads a path and its query.
    pub(super) fn of(path: &str, query: &str) -> Result<Self, Refusal> {
        let path = path.trim_start_matches('/');
        // people write a stroke behind the name of a place
        let path = path.strip_suffix('/').unwrap_or(path);
        let parts: Vec<&str> = path.split('/').collect();
        match parts.as_slice() {
            [""] => Ok(Ask::Home),
            ["style.css"] => Ok(Ask::Style),
            ["practice"] => Ok(Ask::Practice(Box::new(Step::of(query)?))),
            ["handout.css"] => Ok(Ask::HandoutStyle),
            ["sheets.css"] => Ok(Ask::SheetStyle),
            ["plan"] => Ok(Ask::Plan(None)),
            ["plan.ics"] => Ok(Ask::PlanCalendar(None)),
            ["letters.ttf"] => Ok(Ask::Letters(Weight::Regular)),
            ["letters-bold.ttf"] => Ok(Ask::Letters(Weight::Bold)),
            ["api", "v1", rest @ ..] => ApiAsk::of(rest, query).map(Ask::Api),
            [site] => Ok(Ask::Week((*site).to_owned(), week_of(query)?)),
            [site, "season"] => Ok(Ask::Season((*site).to_owned(), None)),
            [site, "season", called] => {
                Ok(Ask::Season((*site).to_owned(), Some(season_of(called)?)))
            }
            [site, "year"] => Ok(Ask::Year((*site).to_owned())),
            [site, "atom.xml"] => Ok(Ask::Feed((*site).to_owned())),
            [site, "windows.ics"] => Ok(Ask::Calendar((*site).to_owned())),
            [site, "plan"] => Ok(Ask::Plan(Some((*site).to_owned()))),
            [site, "plan.ics"] => Ok(Ask::PlanCalendar(Some((*site).to_owned()))),
            [site, "plan", "sheets"] => Ok(Ask::Sheets((*site).to_owned())),
            [site, "set", set] => Ok(Ask::Set((*site).to_owned(), (*set).to_owned())),
            [site, "set", set, "handout"] => {
                Ok(Ask::Handout((*site).to_owned(), (*set).to_owned()))
            }
            [site, "species", slug] => Ok(Ask::Species((*site).to_owned(), (*slug).to_owned())),
            [site, name] => {
                let file = YearFile::of(name).ok_or(Refusal::Absent)?;
                Ok(Ask::YearFile((*site).to_owned(), file))
            }
            _ => Err(Refusal::Absent),
        }
    }

    /// Does it say what the store says, whatever day it is?
    pub(super) fn is_timeless(&self) -> bool {
        matches!(self, Ask::Year(_) | Ask::YearFile(..))
    }

    /// Is it a week that somebody named? There are thousands of them for each site.
    pub(super) fn is_named_week(&self) -> bool {
        let named = |monday: &Option<NaiveDate>| monday.is_some();
        match self {
            Ask::Week(_, monday) | Ask::Api(ApiAsk::Week(_, monday)) => named(monday),
            _ => false,
        }
    }

    /// Is it among what most ask for?
    pub(super) fn is_chief(&self) -> bool {
        matches!(
            self,
            Ask::Home | Ask::Style | Ask::Letters(_) | Ask::Week(_, None)
        )
    }

    /// The site that it is about.
    pub fn site(&self) -> Option<&str> {
        match self {
            Ask::Home
            | Ask::Style
            | Ask::HandoutStyle
            | Ask::SheetStyle
            | Ask::Letters(_)
            | Ask::Practice(_) => None,
            Ask::Plan(site) | Ask::PlanCalendar(site) => site.as_deref(),
            Ask::Week(site, _)
            | Ask::Season(site, _)
            | Ask::Year(site)
            | Ask::YearFile(site, _)
            | Ask::Set(site, _)
            | Ask::Handout(site, _)
            | Ask::Species(site, _)
            | Ask::Feed(site)
            | Ask::Sheets(site)
            | Ask::Calendar(site) => Some(site),
            Ask::Api(ask) => ask.site(),
        }
    }
}

impl ApiAsk {
    fn of(parts: &[&str], query: &str) -> Result<Self, Refusal> {
        match parts {
            ["openapi.json"] => Ok(ApiAsk::Described),
            ["sites"] => Ok(ApiAsk::Sites),
            ["sites", site, "week"] => Ok(ApiAsk::Week((*site).to_owned(), week_of(query)?)),
            ["sites", site, "windows"] => Ok(ApiAsk::Windows((*site).to_owned())),
            ["sites", site, "plans"] => Ok(ApiAsk::Plans((*site).to_owned())),
            ["sites", site, "sets"] => Ok(ApiAsk::Sets((*site).to_owned())),
            ["sites", site, "curves", slug] => {
                Ok(ApiAsk::Curve((*site).to_owned(), (*slug).to_owned()))
            }
            _ => Err(Refusal::Absent),
        }
    }

    fn site(&self) -> Option<&str> {
        match self {
            ApiAsk::Described | ApiAsk::Sites => None,
            ApiAsk::Week(site, _)
            | ApiAsk::Windows(site)
            | ApiAsk::Curve(site, _)
            | ApiAsk::Plans(site)
            | ApiAsk::Sets(site) => Some(site),
        }
    }
}

/// The season of "2026-autumn", which has no other way of writing.
fn season_of(text: &str) -> Result<(i32, PassageName), Refusal> {
    named::read(text)
        .ok()
        .filter(|season| named::typed(*season) == text)
        .ok_or(Refusal::Absent)
}

/// The Monday of `week=2026-W37`; None where no week is named.
fn week_of(query: &str) -> Result<Option<NaiveDate>, Refusal> {
    let pairs = url::form_urlencoded::parse(query.as_bytes());
    let mut weeks = pairs.filter(|(key, _)| key == "week");
    let Some((_, text)) = weeks.next() else {
        return Ok(None);
    };
    let monday = monday(&text);
    monday.map(Some).ok_or_else(|| {
        Refusal::Wrong(format!(
            "\"{}\" is no week; expected a year and week as \"2026-W37\" (ISO 8601)",
            text.chars().take(20).collect::<String>()
        ))
    })
}

fn monday(text: &str) -> Option<NaiveDate> {
    let (year, week) = text.split_once("-W")?;
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if year.len() != 4 || week.len() != 2 || !digits(year) || !digits(week) {
        return None;
    }
    let (year, week): (i32, u32) = (year.parse().ok()?, week.parse().ok()?);
    if week == 53 && !has_53_weeks(year) {
        return None;
    }
    NaiveDate::from_isoywd_opt(year, week, chrono::Weekday::Mon).map(|d| IsoWeek::of(d).monday())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheets_are_read_in_one_way_of_writing() {
        assert_eq!(YearFile::of("year.pdf"), Some(YearFile::Pdf));
        assert_eq!(YearFile::of("year-12.png"), Some(YearFile::Png(12)));
        for wrong in [
            "year.png",
            "year-01.png",
            "year-+1.png",
            "year-300.png",
            "year-.png",
        ] {
            assert_eq!(YearFile::of(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn one_stroke_behind_a_path_changes_nothing() {
        let year = Ok(Ask::Year("long-bank".to_owned()));
        assert_eq!(Ask::of("/long-bank/year", ""), year);
        assert_eq!(Ask::of("/long-bank/year/", ""), year);
        assert_eq!(Ask::of("/", ""), Ok(Ask::Home));
        for wrong in [
            "/long-bank//",
            "/long-bank//year",
            "/long-bank/set/",
            "/api/v1/",
        ] {
            assert_eq!(Ask::of(wrong, ""), Err(Refusal::Absent), "{wrong}");
        }
    }

    #[test]
    fn seasons_are_read_in_one_way_of_writing() {
        let autumn = Some((2026, PassageName::Autumn));
        let of = |called: &str| Ask::of(&format!("/west-hide/season/{called}"), "");
        assert_eq!(
            of("2026-autumn"),
            Ok(Ask::Season("west-hide".to_owned(), autumn))
        );
        for wrong in [
            "autumn",
            "2026-Autumn",
            "2026-autum",
            "2026-all-year",
            "%202026-autumn",
        ] {
            assert_eq!(of(wrong), Err(Refusal::Absent), "{wrong}");
        }
    }

    #[test]
    fn weeks_are_read_as_iso_8601_writes_them() {
        let date = NaiveDate::from_ymd_opt(2026, 9, 7);
        assert_eq!(week_of("week=2026-W37").unwrap(), date);
        assert_eq!(week_of("").unwrap(), None);
        for wrong in [
            "2026-W54", "2025-W53", "2026-W00", "2026-37", "26-W37", "+026-W37", "",
        ] {
            let query = format!("week={wrong}");
            assert!(week_of(&query).is_err(), "{wrong}");
        }
    }
}

//! The date to go instead when it rains, or why there is none.

use super::Request;
use super::choosing::PlanSite;
use super::ground::Ground;
use crate::words::count_of;
use chrono::{Duration, NaiveDate};
use forecast::calendar::DayOfYear;
use forecast::plan::rules::Field;
use forecast::plan::{Candidate, Rules, stand_in};
use serde::{Deserialize, Serialize};

/// What becomes of a visit that is rained off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Rain {
    /// Nobody asked.
    NotAsked,
    /// It is made up on this date, with so many targets fewer.
    Date(NaiveDate, f64),
    /// No date is left.
    None(NoRainDate),
}

/// What leaves no date to go instead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum NoRainDate {
    /// The plan's last date comes first.
    PlanEnds(NaiveDate),
    /// On none of so many days people go out.
    NobodyOut(u32),
    /// The site is not watched then.
    NotWatched,
    /// All that are left are planned already.
    Planned,
    /// Gaps, weeks, teams and ways between sites.
    Rules,
}

impl Rain {
    /// The date and what is lost.
    pub fn date(&self) -> Option<(NaiveDate, f64)> {
        match self {
            Rain::Date(date, lost) => Some((*date, *lost)),
            Rain::NotAsked | Rain::None(_) => None,
        }
    }

    /// Why there is no date.
    pub fn why(&self) -> Option<NoRainDate> {
        match self {
            Rain::None(why) => Some(*why),
            Rain::NotAsked | Rain::Date(..) => None,
        }
    }
}

impl NoRainDate {
    /// "the plan ends on 31 October 2026": the rest of a sentence.
    pub fn words(&self) -> String {
        match self {
            NoRainDate::PlanEnds(to) => {
                format!("the plan ends on {}", crate::words::day_month_year(*to))
            }
            NoRainDate::NobodyOut(days) => {
                let days = count_of(*days as usize, "day", "days");
                format!("nobody goes out on the {days} after it")
            }
            NoRainDate::NotWatched => "the site is not watched then".to_owned(),
            NoRainDate::Planned => "all days within reach are planned already".to_owned(),
            NoRainDate::Rules => "gaps, weeks, teams and ways between sites leave none".to_owned(),
        }
    }
}

/// A plan that a visit may be moved in.
pub(super) struct Moving<'a> {
    pub(super) request: &'a Request,
    pub(super) sites: &'a [PlanSite<'a>],
    pub(super) ground: &'a Ground,
    pub(super) places: &'a [usize],
    pub(super) rules: Option<&'a Rules>,
}

impl Moving<'_> {
    /// The best date within reach at the same site to go instead, and what it loses.
    pub(super) fn rain(&self, place: usize) -> Rain {
        let Some(rules) = self.rules.filter(|_| self.request.rain_days > 0) else {
            return Rain::NotAsked;
        };
        let ground = self.ground;
        let planned = ground.candidates[place];
        let last = planned.date + Duration::days(i64::from(self.request.rain_days));
        let later =
            |c: &Candidate| c.site == planned.site && c.date > planned.date && c.date <= last;
        let field = Field::new(&ground.candidates, &ground.made, rules);
        match stand_in(&ground.reach, &field, self.places, place, later) {
            Some((other, value)) => Rain::Date(
                ground.candidates[other].date,
                ground.reach.value(self.places) - value,
            ),
            None => Rain::None(self.why(planned, last)),
        }
    }

    /// What leaves none of the days within reach.
    fn why(&self, planned: Candidate, last: NaiveDate) -> NoRainDate {
        let request = self.request;
        let later = planned.date.iter_days().skip(1);
        let days: Vec<NaiveDate> = later.take_while(|d| *d <= last).collect();
        let watched = self.sites[planned.site].view.watched;
        let taken = |date: NaiveDate| {
            let mut places = self.places.iter().map(|p| self.ground.candidates[*p]);
            places.any(|c| c.date == date && c.site == planned.site)
        };
        let hurdles: [Hurdle; 3] = [
            (NoRainDate::NobodyOut(request.rain_days), &|d| {
                request.goes_out(d)
            }),
            (NoRainDate::NotWatched, &|d| watched.on(DayOfYear::of(d))),
            (NoRainDate::Planned, &|d| !taken(d)),
        ];
        first_hurdle(days, request.to, &hurdles)
    }
}

/// What a day may not take, and whether it does.
type Hurdle<'a> = (NoRainDate, &'a dyn Fn(NaiveDate) -> bool);

/// The first hurdle that none of the days takes; the plan's end, where a later day takes it.
fn first_hurdle(mut days: Vec<NaiveDate>, to: NaiveDate, hurdles: &[Hurdle]) -> NoRainDate {
    let in_time = |days: &[NaiveDate]| days.iter().any(|d| *d <= to);
    if !in_time(&days) {
        return NoRainDate::PlanEnds(to);
    }
    for (hurdle, takes) in hurdles {
        days.retain(|d| takes(*d));
        match (in_time(&days), days.is_empty()) {
            (true, _) => {}
            (false, true) => return *hurdle,
            (false, false) => return NoRainDate::PlanEnds(to),
        }
    }
    NoRainDate::Rules
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A visit on Saturday 31 October 2026, of a plan that ends on Sunday 1 November, with the four
    /// days after it; `takes` by hurdle.
    fn why(takes: [&dyn Fn(NaiveDate) -> bool; 3]) -> NoRainDate {
        let to = NaiveDate::from_ymd_opt(2026, 11, 1).unwrap();
        let days = to.iter_days().take(4).collect();
        let [out, watched, free] = takes;
        let hurdles = [
            (NoRainDate::NobodyOut(4), out),
            (NoRainDate::NotWatched, watched),
            (NoRainDate::Planned, free),
        ];
        first_hurdle(days, to, &hurdles)
    }

    #[test]
    fn the_plans_end_is_named_where_a_later_day_would_do() {
        use chrono::{Datelike, Weekday};
        let to = NaiveDate::from_ymd_opt(2026, 11, 1).unwrap();
        let ends = NoRainDate::PlanEnds(to);
        let never = |_: NaiveDate| false;
        let always = |_: NaiveDate| true;
        let wednesdays = |d: NaiveDate| d.weekday() == Weekday::Wed;
        let later = |d: NaiveDate| d > to;
        assert_eq!(why([&wednesdays, &always, &always]), ends);
        assert_eq!(why([&always, &later, &always]), ends);
        assert_eq!(why([&always, &always, &later]), ends);
        assert_eq!(why([&never, &always, &always]), NoRainDate::NobodyOut(4));
        assert_eq!(why([&always, &never, &always]), NoRainDate::NotWatched);
        assert_eq!(why([&always, &always, &never]), NoRainDate::Planned);
        assert_eq!(why([&always, &always, &always]), NoRainDate::Rules);
        // nobody goes out on the plan's last day, and nobody watches on the days behind it
        let none_both = why([&wednesdays, &never, &always]);
        assert_eq!(none_both, ends);
        assert_eq!(first_hurdle(Vec::new(), to, &[]), ends);
    }
}

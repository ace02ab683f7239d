//! What a chart of one passage shows.

use super::wanted::Wanted;
use chrono::{Days, NaiveDate};
use forecast::season::{Course, LongTerm, Looked, first_day, last_day};
use forecast::series::CountSeries;

/// Curves, visits and what was not looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// First day of the season's stretch.
    pub first: NaiveDate,
    /// Birds on a standard visit in a usual season, a day each.
    pub usual: Vec<f64>,
    /// The same in this season as it is reckoned; None where that is not told.
    pub this: Option<Vec<f64>>,
    /// This season's visits: the day, and birds as on a standard visit.
    pub visits: Vec<(NaiveDate, f64)>,
    /// The day up to which visits are looked at, where the season is not over.
    pub today: Option<NaiveDate>,
    /// First and last days of those on which nobody looked, in mid-season and at its end.
    pub unseen: Vec<(NaiveDate, NaiveDate)>,
}

impl Drawn {
    /// Of a season up to a day.
    pub(super) fn of(
        series: &CountSeries,
        w: &Wanted,
        (long_term, course): (&LongTerm, &Course),
        (date, looked): (NaiveDate, &Looked),
    ) -> Self {
        let first = first_day(&w.stretch, w.season);
        let seen = series
            .known()
            .filter(|(v, _)| v.date <= date && w.holds(v, w.season));
        Drawn {
            first,
            usual: long_term.rates(0.0, 1.0),
            this: course.standing.as_ref().ok().map(|s| {
                let mut rates = long_term.rates(s.shift.middle, s.times.middle);
                rates.truncate(days_shown(first, w, looked));
                rates
            }),
            visits: seen
                .map(|(v, c)| (v.date, f64::from(c.birds()) / v.log_effort_ratio.exp()))
                .collect(),
            today: (date < last_day(&w.stretch, w.season)).then_some(date),
            unseen: unseen(first, looked),
        }
    }
}

fn unseen(first: NaiveDate, looked: &Looked) -> Vec<(NaiveDate, NaiveDate)> {
    let gaps = looked.gaps.iter().map(|gap| (gap.first, gap.last));
    let since = looked.is_stale().then(|| {
        let after = looked.until.map(|until| until + Days::new(1));
        (after.unwrap_or(first), looked.due)
    });
    gaps.chain(since).collect()
}

/// This season has no curve where nobody looked.
fn days_shown(first: NaiveDate, w: &Wanted, looked: &Looked) -> usize {
    let seen = |until: NaiveDate| (until - first).num_days() as usize + 1;
    match looked.is_stale() {
        true => looked.until.map_or(0, seen),
        false => w.stretch.length,
    }
}

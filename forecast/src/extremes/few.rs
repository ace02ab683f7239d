//! Where in the year a species was recorded whose records are too few for a curve.

use super::{Extreme, by_season, first_and_last};
use crate::calendar::DAYS;
use crate::passage::cut::Stretch;
use crate::series::CountSeries;
use serde::{Deserialize, Serialize};

/// Records farther apart in the year than this, with none between, are of different seasons. A
/// choice: about the time between the middle of a spring passage and that of an autumn one, less
/// a month for either.
const APART_DAYS: usize = 60;

/// A season of few records.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FewRecords {
    /// Where it begins.
    pub first: Extreme,
    /// Where it ends.
    pub last: Extreme,
    /// Years in which the species was found in it.
    pub seasons: usize,
    /// Days on which it was.
    pub days_found: usize,
}

/// The seasons of the records within a stretch, in order of the year.
pub fn few_records(series: &CountSeries, within: &Stretch) -> Vec<FewRecords> {
    let found = series.known().filter(|(_, c)| c.found() == Some(true));
    let days = found.map(|(v, _)| v.day().index());
    let mut days: Vec<usize> = days.filter(|d| within.holds(*d)).collect();
    days.sort_unstable();
    days.dedup();
    let Some(within) = begun_in_widest_gap(&days, within) else {
        return Vec::new();
    };
    let mut seasons: Vec<FewRecords> = parts(&days, &within)
        .iter()
        .filter_map(|part| season(series, part))
        .collect();
    seasons.sort_by_key(|s| s.first.record_day());
    seasons
}

/// A whole year begins anew in the middle of its widest gap. None without any day.
fn begun_in_widest_gap(days: &[usize], within: &Stretch) -> Option<Stretch> {
    days.first()?;
    if within.length < DAYS {
        return Some(*within);
    }
    let gap = |i: usize| match (days[(i + 1) % days.len()] + DAYS - days[i]) % DAYS {
        0 => DAYS,
        gap => gap,
    };
    let widest = (0..days.len()).max_by_key(|i| gap(*i))?;
    Some(Stretch {
        first: (days[widest] + gap(widest).div_ceil(2)) % DAYS,
        ..*within
    })
}

/// The stretch, cut in the middle of every wide gap.
fn parts(days: &[usize], within: &Stretch) -> Vec<Stretch> {
    let mut offsets: Vec<usize> = days.iter().map(|d| within.offset(*d)).collect();
    offsets.sort_unstable();
    let wide = offsets.windows(2).filter(|p| p[1] - p[0] > APART_DAYS);
    let mut edges = vec![0];
    edges.extend(wide.map(|p| (p[0] + p[1]).div_ceil(2)));
    edges.push(within.length);
    let part = |e: &[usize]| Stretch {
        first: (within.first + e[0]) % DAYS,
        length: e[1] - e[0],
        after_gap: false,
        before_gap: false,
    };
    edges.windows(2).map(part).collect()
}

fn season(series: &CountSeries, part: &Stretch) -> Option<FewRecords> {
    let seasons = by_season(series, part);
    let (first, last) = first_and_last(&seasons, part)?;
    Some(FewRecords {
        first,
        last,
        seasons: seasons.len(),
        days_found: seasons.iter().map(|s| s.days_found).sum(),
    })
}

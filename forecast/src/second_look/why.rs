//! The reason for a question, in what earlier years saw.

use super::evidence::{Explanation, Judged};
use super::said::Said;
use crate::calendar::DayOfYear;
use crate::series::CountSeries;
use chrono::{Datelike, NaiveDate};

/// On which side of the usual dates a record lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outside {
    /// Before them.
    Early,
    /// After them.
    Late,
}

/// Why a record is asked about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// Day and month may have changed places: the date would be this one.
    SwappedDate(NaiveDate),
    /// The bird may have been of this member of its look-alike set.
    LookAlike(usize),
    /// As `LookAlike`, where the site has next to no record of the species.
    UnlikelySite(usize),
    /// A digit too many may stand behind the number, mostly a nought.
    Tenfold,
    /// So many days outside the dates of earlier years.
    OutOfSeason(Outside, u16),
    /// Never recorded at the site before.
    NeverHere,
    /// More than was to be expected.
    TooMany,
}

/// What earlier years tell of a species at the site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Visits on which it was found in earlier years.
    pub records: usize,
    /// The day of the year nearest to the record on which it was found, and how far the record
    /// lies before or after it.
    pub nearest: Option<(NaiveDate, Outside, u16)>,
    /// The most birds counted within 14 days of the day of year.
    pub most: u32,
}

/// A species with fewer records than this is next to unknown at a site. A choice of ours: one or
/// two records may themselves be slips. It decides on the words alone, not on what is asked about.
const NEXT_TO_NONE: usize = 3;
/// A record so many days from any of earlier years is out of season before it is too many birds. A
/// choice of ours: a few days beyond what earlier years saw are taken for the common run of early
/// and late birds. It decides on the words alone.
const FAR_DAYS: u16 = 5;
/// Days on either side of a date that tell how many are usual. A choice of ours: fewer may
/// hold no visit of earlier years, and more take in another part of the passage. It decides on the
/// words alone.
const NEAR_DAYS: u16 = 14;

/// A number whose tenth is still more than so many times the most of earlier years is no matter of one
/// digit. A choice of ours. It decides on the words alone.
const BEYOND: u32 = 3;

impl Standing {
    /// From the years before the date's.
    pub fn of(series: &CountSeries, date: NaiveDate) -> Self {
        let earlier = series
            .known()
            .filter(|(v, c)| v.year() < date.year() && c.found() == Some(true));
        let day = DayOfYear::of(date);
        let (mut records, mut most, mut nearest) = (0, 0, None::<(NaiveDate, u16)>);
        for (visit, count) in earlier {
            records += 1;
            let apart = visit.day().distance(day);
            if apart <= NEAR_DAYS {
                most = most.max(count.birds());
            }
            if nearest.is_none_or(|(_, least)| apart <= least) {
                nearest = Some((visit.date, apart));
            }
        }
        let side = |(found, apart): (NaiveDate, u16)| {
            let ahead = (i32::from(DayOfYear::of(found).get()) - i32::from(day.get()))
                .rem_euclid(crate::calendar::DAYS as i32);
            let side = if ahead == i32::from(apart) {
                Outside::Early
            } else {
                Outside::Late
            };
            (found, side, apart)
        };
        Standing {
            records,
            nearest: nearest.map(side),
            most,
        }
    }
}

/// The reason for a question. `standing` is the species' own, `others` that of its look-alikes.
pub fn why(said: &Said, judged: &Judged, standing: &Standing) -> Reason {
    let best = judged.explanations.first().map(|e| e.0);
    match best {
        Some(Explanation::SwappedDate(date)) => Reason::SwappedDate(date),
        Some(Explanation::LookAlike(other)) if standing.records < NEXT_TO_NONE => {
            Reason::UnlikelySite(other)
        }
        Some(Explanation::LookAlike(other)) => Reason::LookAlike(other),
        Some(Explanation::Tenfold) if said.count.birds() / 10 <= BEYOND * standing.most => {
            Reason::Tenfold
        }
        Some(Explanation::Tenfold | Explanation::Other) | None => other(said, standing),
    }
}

/// What of a record is in doubt, and so what its finder is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InDoubt {
    /// The date: is it the one noted?
    pub date: bool,
    /// The name: how was it told from others?
    pub name: bool,
    /// The number: how was it counted?
    pub number: bool,
}

/// Where the number is the reason, the name is in doubt too if birds of another member of the set have
/// at least this part in all that would explain the record. A choice of ours: one in five is worth a
/// question, and a finder who is asked for marks of a bird that nobody doubts takes it ill.
const NAME_TOO: f64 = 0.2;

impl InDoubt {
    /// From the reason, and from what else would explain the record.
    pub fn of(reason: &Reason, judged: &Judged) -> Self {
        let number = matches!(reason, Reason::Tenfold | Reason::TooMany);
        let taken_for = judged.part(|e| matches!(e, Explanation::LookAlike(_)));
        InDoubt {
            date: matches!(reason, Reason::SwappedDate(_)),
            name: !number || taken_for >= NAME_TOO,
            number,
        }
    }
}

fn other(said: &Said, standing: &Standing) -> Reason {
    match standing.nearest {
        None => Reason::NeverHere,
        Some((_, side, apart)) if apart >= FAR_DAYS => Reason::OutOfSeason(side, apart),
        Some(_) if said.count.birds() > standing.most => Reason::TooMany,
        Some((_, side, apart)) if apart > 0 => Reason::OutOfSeason(side, apart),
        Some(_) => Reason::TooMany,
    }
}

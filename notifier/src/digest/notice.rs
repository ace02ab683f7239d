//! What readers must know before they read the chances, in plain words.

use super::WORTH_READING;
use crate::guidance::types::{SetGuidance, WeekGuidance};
use crate::words;
use chrono::NaiveDate;

/// One thing to know.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// The counts stop some time before the date.
    Stale {
        /// The last visit.
        last: NaiveDate,
        /// Days from it to the date of the digest.
        days: i64,
    },
    /// There is no visit at all.
    NoVisits,
    /// A source's address could not be reached.
    Unreachable {
        /// Id of the source; None for readers whom it does not concern.
        source: Option<String>,
        /// When its copy was fetched.
        copy_from: NaiveDate,
    },
    /// What is new could not be loaded.
    NotLoaded {
        /// When counts were loaded last, where that is known.
        last: Option<NaiveDate>,
    },
    /// The curves are older than the counts.
    OldCurves,
    /// Records were withdrawn, or put back, since the curves were fitted.
    Withdrawn,
    /// A seasonal curve could not be fitted.
    FailedFit {
        /// Names as shown.
        species: Vec<String>,
        /// Why, in a few words without a full stop.
        reason: String,
        /// What to do about it, as a sentence.
        to_do: String,
    },
    /// Species with too few records for a curve, names as shown.
    TooFewRecords(Vec<String>),
    /// Of species of which finds alone are known no chance is told.
    FindsAlone {
        /// Those found about the date in earlier years, names as shown.
        species: Vec<String>,
        /// What to do about it, as the end of a sentence.
        to_do: String,
    },
    /// Few seasons stand behind the chances.
    ShortHistory {
        /// Seasons with visits.
        seasons: usize,
        /// Seasons from which on it is not said.
        wanted: usize,
    },
    /// Nobody looks at this time of the year.
    NotWatched,
    /// No set has two members that are likely together.
    QuietWeek,
    /// No look-alike of any set is to be expected.
    NothingExpected,
    /// Sets given by their members alone, titles.
    MembersOnly(Vec<String>),
    /// What begins this week of what a reader asked to be told of.
    Opens {
        /// Species whose window opens, names as shown.
        windows: Vec<String>,
        /// Sets of which two members begin to overlap, titles.
        overlaps: Vec<String>,
    },
}

/// How urgently a notice is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    /// Doubt the chances.
    Warning,
    /// Good to know.
    Remark,
}

impl Notice {
    pub(super) fn weight(&self) -> Weight {
        match self {
            Notice::Stale { .. }
            | Notice::NoVisits
            | Notice::Unreachable { .. }
            | Notice::NotLoaded { .. }
            | Notice::OldCurves
            | Notice::Withdrawn
            | Notice::FailedFit { .. } => Weight::Warning,
            _ => Weight::Remark,
        }
    }

    /// Whether it makes the chances doubtful.
    pub fn is_warning(&self) -> bool {
        self.weight() == Weight::Warning
    }

    /// Whether it is told after the chances: what a star beside some of them means, and of whom.
    pub(crate) fn comes_last(&self) -> bool {
        matches!(self, Notice::TooFewRecords(_))
    }

    /// Whether the keeper is told too: something may be wrong, or a whole week has little to say.
    pub fn is_for_the_keeper(&self) -> bool {
        let quiet = matches!(self, Notice::QuietWeek | Notice::NothingExpected);
        quiet || self.weight() == Weight::Warning
    }

    /// As it is told to everybody: without the names that the settings alone know.
    pub(crate) fn for_everybody(self) -> Self {
        match self {
            Notice::Unreachable { copy_from, .. } => Notice::Unreachable {
                source: None,
                copy_from,
            },
            other => other,
        }
    }

    /// The notice in words for readers, who have no program to run and no counts to mend.
    pub(crate) fn for_readers(&self) -> String {
        let mut told = self.clone();
        if let Notice::FailedFit { to_do, .. } | Notice::FindsAlone { to_do, .. } = &mut told {
            to_do.clear();
        }
        told.words().trim_end().to_owned()
    }

    /// The notice in words, with what its keeper can do about it.
    pub fn words(&self) -> String {
        match self {
            Notice::Stale { last, days } => stale(*last, *days),
            Notice::NoVisits => NO_VISITS.to_string(),
            Notice::Unreachable { source, copy_from } => unreachable(source.as_deref(), *copy_from),
            Notice::NotLoaded { last } => not_loaded(*last),
            Notice::OldCurves => OLD_CURVES.to_string(),
            Notice::Withdrawn => WITHDRAWN.to_string(),
            Notice::FailedFit {
                species,
                reason,
                to_do,
            } => failed(species, reason, to_do),
            Notice::TooFewRecords(species) => few(species),
            Notice::FindsAlone { species, to_do } => words::finds_alone(species, to_do),
            Notice::ShortHistory { seasons, wanted } => short(*seasons, *wanted),
            Notice::NotWatched => words::NOT_WATCHED.to_string(),
            Notice::QuietWeek => format!(
                "A quiet week for look-alikes: in no set is the chance that two are both found \
                 as high as {}.",
                words::chance(WORTH_READING)
            ),
            Notice::NothingExpected => format!(
                "A quiet week: no species of any look-alike set is expected (each {} for the \
                 week). A bird that looks like one of them deserves a careful description.",
                words::chance(0.0)
            ),
            Notice::MembersOnly(titles) => format!(
                "No marks are written down yet for: {}. The chances are given, the marks are \
                 yours to add.",
                words::list(titles)
            ),
            Notice::Opens { windows, overlaps } => opens(windows, overlaps),
        }
    }
}

const NO_VISITS: &str =
    "No visit has been loaded for this site, so nothing is said of its chances.";
const OLD_CURVES: &str = "The curves are older than the counts: those that came in since the last fit \
    have no part in them yet.";
const WITHDRAWN: &str = "A record was withdrawn, or put back, since the last fit: the curves still are \
    as they were before it.";

fn unreachable(source: Option<&str>, copy_from: NaiveDate) -> String {
    let source = source.map_or_else(
        || "A source of counts".to_owned(),
        |id| format!("The source \"{id}\""),
    );
    format!(
        "{source} could not be reached. Its copy of {} is used, and what was counted since then \
         may be missing.",
        words::day_month_year(copy_from)
    )
}

fn few(species: &[String]) -> String {
    let whose = if species.len() == 1 { "Its" } else { "Their" };
    format!(
        "Too few records for a seasonal curve: {}. {whose} chances come from the visits of earlier \
         years about this date.",
        words::list(species)
    )
}

fn opens(windows: &[String], overlaps: &[String]) -> String {
    let mut said = Vec::new();
    if !windows.is_empty() {
        said.push(format!("The window opens of {}.", words::list(windows)));
    }
    if !overlaps.is_empty() {
        said.push(format!(
            "Look-alikes begin to be about together: {}.",
            words::list(overlaps)
        ));
    }
    said.join(" ")
}

fn stale(last: NaiveDate, days: i64) -> String {
    let days = words::count_of(usize::try_from(days).unwrap_or(0), "day", "days");
    format!(
        "The counts are stale: the last visit loaded is of {}, {days} before this date. What is \
         said rests on earlier years alone and knows nothing of this season since then.",
        words::day_month_year(last)
    )
}

fn not_loaded(last: Option<NaiveDate>) -> String {
    let rests = match last {
        Some(last) => format!("what was loaded up to {}", words::day_month_year(last)),
        None => "what was loaded earlier".to_string(),
    };
    format!("New counts could not be loaded for this digest. It rests on {rests}.")
}

fn failed(species: &[String], reason: &str, to_do: &str) -> String {
    let (curve, them) = match species {
        [_] => ("curve", "it"),
        _ => ("curves", "them"),
    };
    format!(
        "No seasonal {curve} for {}: the fit failed ({reason}). What is said of {them} comes \
         from the visits of earlier years about this date. {to_do}",
        words::list(species)
    )
}

fn short(seasons: usize, wanted: usize) -> String {
    let seasons = words::count_of(seasons, "season", "seasons");
    format!(
        "A short history: {seasons} of visits, and with fewer than {wanted} the chances are rough."
    )
}

/// Where finds alone are known of species.
fn finds_alone(week: &WeekGuidance) -> Option<Notice> {
    Some(Notice::FindsAlone {
        species: week.finds_alone.clone()?,
        to_do: words::WRITE_ALL_DOWN.to_owned(),
    })
}

/// What follows from the guidance itself.
pub(super) fn from_guidance(week: &WeekGuidance) -> Vec<Notice> {
    if !week.watched {
        return vec![Notice::NotWatched];
    }
    let mut notices = Vec::new();
    notices.extend(finds_alone(week));
    let members = || week.sets.iter().flat_map(|s| &s.members);
    if !members().any(words::about_now) {
        notices.push(Notice::NothingExpected);
    } else if week.sets.iter().all(|s| s.chance_together < WORTH_READING) {
        notices.push(Notice::QuietWeek);
    }
    let bare = |s: &&SetGuidance| {
        s.marks.is_empty() && s.not_to_rely_on.is_empty() && s.chance_together >= words::HARDLY
    };
    let titles: Vec<String> = week
        .sets
        .iter()
        .filter(bare)
        .map(|s| s.title.clone())
        .collect();
    if !titles.is_empty() {
        notices.push(Notice::MembersOnly(titles));
    }
    notices
}

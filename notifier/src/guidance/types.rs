//! This week's guidance for one site, as data: what `week` prints and the digest renders.

use crate::findings::Findings;
use chrono::NaiveDate;
use config::look_alikes::{Plumage, Trust};
use forecast::calendar::IsoWeek;
pub use forecast::stands::Stands;

/// Where a chance comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// The seasonal curve.
    Curve,
    /// The smoothed part of visits within 7 days of the date on which it was found.
    Frequency,
    /// None: what is known of it are finds alone, and nobody knows how often it was not there.
    FindsAlone,
}

/// One species on the date.
#[derive(Debug, Clone, PartialEq)]
pub struct MemberGuidance {
    /// Scientific name.
    pub species: String,
    /// Vernacular name in the workspace's language, else the scientific name.
    pub name: String,
    /// Probability, 0..=1, of at least one on one standard visit; this and the next two are no
    /// number where finds alone are known.
    pub chance_visit: f64,
    /// Probability, 0..=1, of at least one in the week's assumed visits.
    pub chance_week: f64,
    /// Probabilities, 0..=1, of at least one in 1, 2, ... 7 standard visits in the week.
    pub by_visits: [f64; 7],
    /// Where the chances come from.
    pub basis: Basis,
    /// Was it ever recorded at the site? If not its chances only say how few the visits are,
    /// and nobody is told them.
    pub recorded: bool,
    /// Is it among the workspace's species? One that is neither may never have been looked for.
    pub listed: bool,
    /// Part of the set's birds expected to be of this species, 0..=1. 1 outside a set.
    pub share: f64,
    /// Where it stands; None where there is no curve to say and it is not plainly outside.
    pub stands: Option<Stands>,
    /// Plumages seen in this region in the month, best known first; empty where not stated.
    pub plumages: Vec<Plumage>,
}

impl MemberGuidance {
    /// Is a chance told of it?
    pub fn has_chance(&self) -> bool {
        self.recorded && self.basis != Basis::FindsAlone
    }

    /// Does its chance come from the bare part of earlier visits?
    pub fn has_star(&self) -> bool {
        self.recorded && self.basis == Basis::Frequency
    }
}

/// A mark that holds on the date, in the words of the set.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkGuidance {
    /// Part of the bird.
    pub part: String,
    /// How far it can be trusted.
    pub trust: Trust,
    /// Names of the members (as shown) and what each group shows.
    pub shows: Vec<(Vec<String>, String)>,
    /// Plumages about now in which it holds, empty for all of them.
    pub plumages: Vec<Plumage>,
    /// Known trap.
    pub trap: Option<String>,
}

/// A look-alike set on the date.
#[derive(Debug, Clone, PartialEq)]
pub struct SetGuidance {
    /// Set id.
    pub id: String,
    /// Title in words.
    pub title: String,
    /// The largest, over pairs of members, of the probability that both are found in the week; no
    /// number where of no two a chance is told.
    pub chance_together: f64,
    /// That pair, by shown names.
    pub likeliest_pair: Option<(String, String)>,
    /// Birds on which the shares stand.
    pub effective_birds: f64,
    /// Members, likeliest first, those never recorded last.
    pub members: Vec<MemberGuidance>,
    /// Marks to trust on this date, most trusted first.
    pub marks: Vec<MarkGuidance>,
    /// Marks that change with light: what not to rely on.
    pub not_to_rely_on: Vec<MarkGuidance>,
    /// What cannot be told apart on this date.
    pub cannot_tell: Vec<String>,
    /// What a description must contain, by member's shown name.
    pub describe: Vec<(String, String)>,
    /// The set's `review`.
    pub review: String,
    /// The set's `source`.
    pub source: String,
}

/// This week at one site.
#[derive(Debug, Clone, PartialEq)]
pub struct WeekGuidance {
    /// Site id.
    pub site: String,
    /// Site name.
    pub site_name: String,
    /// The date asked for.
    pub date: NaiveDate,
    /// Its ISO week.
    pub week: IsoWeek,
    /// Is the site watched on the date's day of the year?
    pub watched: bool,
    /// Standard visits the week's chances assume.
    pub visits_assumed: u32,
    /// Sets with two members or more among the site's species, the likeliest pair first; empty
    /// where not watched.
    pub sets: Vec<SetGuidance>,
    /// Species of no set that can be expected (chance_week of 2 % or more), likeliest first.
    pub others: Vec<MemberGuidance>,
    /// Names of species found about the date in earlier years of which finds alone are known, so that
    /// no chance is told; None where there is no such species at any time of the year.
    pub finds_alone: Option<Vec<String>>,
    /// What the years say of these species: temperature, long-term change, few records.
    pub findings: Findings,
    /// What to do when none of the names fits.
    pub when_none_fits: String,
    /// Always: a forecast never identifies a bird.
    pub reminder: String,
    /// Cautions for the field, the site's own first.
    pub cautions: Vec<String>,
}

//! This week's guidance: which look-alikes are about together and which marks to trust.

pub mod marks;
pub mod types;

use chrono::{Datelike, NaiveDate};
use config::look_alikes::{LookAlikeSet, Plumage};
use config::settings::{Site, Workspace};
use forecast::calendar::{DayOfYear, IsoWeek};
use forecast::chance::{self, Chances};
use forecast::fit::SpeciesFit;
use forecast::series::{CountSeries, Visit};
use forecast::share::shares;
use forecast::stands::{OUTSIDE_BELOW, stands};
use forecast::watched::Watched;
use std::collections::BTreeMap;
use types::{Basis, MemberGuidance, SetGuidance, WeekGuidance};

/// Said with every guidance.
pub const REMINDER: &str = "A forecast never identifies a bird: it says what to expect, and the bird decides.";

const WHEN_NONE_FITS: &str = "When no name fits, leave the bird unnamed within its set and write down, before looking \
anything up: size against a bird beside it, bill and legs (length, shape, colour), wing tip against tail, what the \
feathers of back and wing looked like and how worn they were, calls, what it did, the light, the distance, and who \
else saw it. Take pictures, even poor ones.";

const CAUTIONS: [&str; 3] = [
    "Nobody is worth a count: tell someone where you are and when you will be back, and mind weather, water, tides and roads.",
    "Keep away from nests, roosts and feeding flocks that would fly; leave when birds alarm.",
    "Access rules and local law come first; handling birds, or work near protected nests, is for licensed people.",
];

/// All that guidance for one site needs.
pub struct SiteView<'a> {
    /// The workspace's settings.
    pub workspace: &'a Workspace,
    /// The site.
    pub site: &'a Site,
    /// The site's standard visits.
    pub visits: &'a [Visit],
    /// Counts by scientific name, on these visits.
    pub series: &'a BTreeMap<String, CountSeries>,
    /// Nothing found on every visit that would have told: a species never counted here.
    pub unrecorded: &'a CountSeries,
    /// Fits by scientific name.
    pub fits: &'a BTreeMap<String, SpeciesFit>,
    /// The days of the year on which the site is watched.
    pub watched: &'a Watched,
}

impl SiteView<'_> {
    /// The name shown for a species: the workspace's in its language, else a set's, else the
    /// scientific one.
    pub fn shown_name(&self, species: &str) -> String {
        let language = &self.workspace.language;
        let listed = self.workspace.species.iter().find(|s| s.scientific == species);
        let own = listed.and_then(|s| s.names.get(language));
        let in_sets = || self.workspace.look_alikes.iter().find_map(|s| s.member(species)?.names.get(language));
        own.or_else(in_sets).cloned().unwrap_or_else(|| species.to_owned())
    }

    fn series_of(&self, species: &str) -> &CountSeries {
        self.series.get(species).unwrap_or(self.unrecorded)
    }

    /// Was the species ever found here?
    pub fn found_here(&self, species: &str) -> bool {
        self.series_of(species).birds() > 0
    }

    fn chances(&self, species: &str, date: NaiveDate) -> (Chances, Basis) {
        let visits = self.workspace.visits_assumed;
        if let Some(curve) = self.fits.get(species).and_then(|f| f.curve.as_ref()) {
            let days = IsoWeek::of(date).days().map(DayOfYear::of);
            return (chance::from_curve(curve, &days, visits), Basis::Curve);
        }
        let frequency = chance::from_frequency(self.series_of(species), DayOfYear::of(date), visits);
        (frequency, Basis::Frequency)
    }

    fn member(&self, species: &str, share: f64, plumages: Vec<Plumage>, date: NaiveDate) -> MemberGuidance {
        let (chances, basis) = self.chances(species, date);
        let day = DayOfYear::of(date);
        let standing = match self.fits.get(species) {
            Some(fit) => stands(fit, day, chances.week),
            None => (chances.week < OUTSIDE_BELOW).then_some(types::Stands::Outside),
        };
        MemberGuidance {
            species: species.to_owned(),
            name: self.shown_name(species),
            chance_visit: chances.visit,
            chance_week: chances.week,
            basis,
            share,
            stands: standing,
            plumages,
        }
    }
}

/// Guidance for the ISO week that holds the date.
pub fn week(view: &SiteView, date: NaiveDate) -> WeekGuidance {
    let watched = view.watched.on(DayOfYear::of(date));
    let sets: Vec<SetGuidance> =
        if watched { view.workspace.look_alikes.iter().filter_map(|s| set(view, s, date)).collect() } else { Vec::new() };
    let others = if watched { others(view, &sets, date) } else { Vec::new() };
    let own = view.site.cautions.iter().cloned();
    WeekGuidance {
        site: view.site.id.clone(),
        site_name: view.site.name.clone(),
        date,
        week: IsoWeek::of(date),
        watched,
        visits_assumed: view.workspace.visits_assumed,
        sets,
        others,
        when_none_fits: WHEN_NONE_FITS.to_owned(),
        reminder: REMINDER.to_owned(),
        cautions: own.chain(CAUTIONS.map(str::to_owned)).collect(),
    }
}

/// A set of which at least two members have ever been found at the site.
fn set(view: &SiteView, set: &LookAlikeSet, date: NaiveDate) -> Option<SetGuidance> {
    if set.members.iter().filter(|m| view.found_here(&m.species)).count() < 2 {
        return None;
    }
    let series: Vec<&CountSeries> = set.members.iter().map(|m| view.series_of(&m.species)).collect();
    let shared = shares(&series, DayOfYear::of(date));
    let month = date.month() as u8;
    let mut members: Vec<MemberGuidance> = set
        .members
        .iter()
        .zip(&shared.shares)
        .map(|(m, share)| view.member(&m.species, *share, m.plumages_in(&view.site.region, month), date))
        .collect();
    members.sort_by(|a, b| b.chance_week.total_cmp(&a.chance_week));
    // the two likeliest members make the likeliest pair, since each pair's chance is a product
    let pair = members.first().zip(members.get(1));
    let together = pair.map_or(0.0, |(a, b)| chance::together(week_chances(a), week_chances(b)));
    let chosen = marks::choose(view, set, &members, month);
    Some(SetGuidance {
        id: set.id.clone(),
        title: set.title.clone(),
        chance_together: together,
        likeliest_pair: pair.map(|(a, b)| (a.name.clone(), b.name.clone())),
        effective_birds: shared.effective_birds,
        marks: chosen.trusted,
        not_to_rely_on: chosen.not_to_rely_on,
        cannot_tell: chosen.cannot_tell,
        describe: chosen.describe,
        members,
        review: set.review.clone(),
        source: set.source.clone(),
    })
}

fn week_chances(m: &MemberGuidance) -> Chances {
    Chances { visit: m.chance_visit, week: m.chance_week }
}

/// Species of no set shown, expected this week.
fn others(view: &SiteView, sets: &[SetGuidance], date: NaiveDate) -> Vec<MemberGuidance> {
    let shown = |species: &str| sets.iter().any(|s| s.members.iter().any(|m| m.species == species));
    let mut others: Vec<MemberGuidance> = view
        .series
        .iter()
        .filter(|(species, series)| series.birds() > 0 && !shown(species))
        .map(|(species, _)| view.member(species, 1.0, Vec::new(), date))
        .filter(|m| m.chance_week >= OUTSIDE_BELOW)
        .collect();
    others.sort_by(|a, b| b.chance_week.total_cmp(&a.chance_week));
    others
}

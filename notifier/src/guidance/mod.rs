//! This week's guidance: which look-alikes are about together and which marks to trust.

pub mod ahead;
pub mod document;
pub mod marks;
pub mod types;

use crate::findings::Findings;
use crate::record::LookBack;
use ahead::{Ahead, AheadOfWeek};
use chrono::{Datelike, NaiveDate};
use config::look_alikes::{LookAlikeSet, Member, Plumage};
use config::settings::{Site, Workspace};
use forecast::calendar::{DAYS, DayOfYear, IsoWeek};
use forecast::chance::{self, Chances};
use forecast::fit::SpeciesFit;
use forecast::series::{CountSeries, Visit};
use forecast::share::{NEAR_DAYS, shares};
use forecast::stands::{OUTSIDE_BELOW, stands};
use forecast::temperature::daily::DailyTemperature;
use forecast::watched::Watched;
use ingest::store::IssuedChance;
use std::collections::BTreeMap;
use types::{Basis, MemberGuidance, SetGuidance, WeekGuidance};

/// Said with every guidance.
pub const REMINDER: &str =
    "A forecast never identifies a bird: it says what to expect, and the bird decides.";

const WHEN_NONE_FITS: &str = "When no name fits, leave the bird unnamed within its set and write down, before looking \
anything up: size against a bird beside it, bill and legs (length, shape, colour), wing tip against tail, what the \
feathers of back and wing looked like and how worn they were, calls, what it did, the light, the distance, and who \
else saw it. Take pictures, even poor ones.";

/// What comes before any count.
pub(crate) const CAUTIONS: [&str; 3] = [
    "No count is worth your safety: tell someone where you are and when you will be back, and mind weather, water, tides and roads.",
    "Keep away from nests, roosts and feeding flocks that would fly; leave when birds alarm.",
    "Access rules and local law come first; handling birds, or work near protected nests, is for licensed people.",
];

/// All that guidance for one site needs.
pub struct SiteView<'a> {
    /// The workspace's settings.
    pub workspace: &'a Workspace,
    /// How the program is called on it, for commands that people are told to run.
    pub program: &'a str,
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
    /// Its daily temperatures, where any are loaded.
    pub temperature: Option<&'a DailyTemperature>,
    /// How often its forecasts would have come true in past seasons.
    pub look_back: Option<&'a LookBack>,
    /// Its forecasts as issued, each before its week.
    pub issued: &'a [IssuedChance],
}

impl SiteView<'_> {
    /// Does the workspace write a species down itself?
    pub fn lists(&self, species: &str) -> bool {
        let mut listed = self.workspace.species.iter();
        listed.any(|s| s.written && s.scientific == species)
    }

    /// The name shown for a species: the workspace's in its language, else a set's, else the
    /// scientific one.
    pub fn shown_name(&self, species: &str) -> String {
        let language = &self.workspace.language;
        let listed = self
            .workspace
            .species
            .iter()
            .find(|s| s.scientific == species);
        let own = listed.and_then(|s| s.names.get(language));
        let in_sets = || {
            self.workspace
                .look_alikes
                .iter()
                .find_map(|s| s.member(species)?.names.get(language))
        };
        own.or_else(in_sets)
            .cloned()
            .unwrap_or_else(|| species.to_owned())
    }

    /// Its counts; of a species never recorded, what was then not found.
    pub fn series_of(&self, species: &str) -> &CountSeries {
        self.series.get(species).unwrap_or(self.unrecorded)
    }

    /// Was the species ever found here?
    pub fn found_here(&self, species: &str) -> bool {
        self.series_of(species).birds() > 0
    }

    /// Do the counts about the day say how often the species was not found? Else no chance is told
    /// of it.
    pub fn tells_of_absence(&self, species: &str, day: DayOfYear) -> bool {
        chance::tells_of_absence(self.series_of(species), self.unrecorded, day)
    }

    /// Do finds alone raise its curve above what a visit can expect, on any watched day?
    pub fn curve_of_finds(&self, species: &str) -> bool {
        let mut days = (1..=DAYS as u16).filter_map(|d| DayOfYear::try_from(d).ok());
        days.any(|d| self.watched.on(d) && !self.tells_of_absence(species, d))
    }
}

/// A site in one week.
struct InWeek<'a> {
    view: &'a SiteView<'a>,
    date: NaiveDate,
    ahead: Option<AheadOfWeek<'a>>,
}

impl InWeek<'_> {
    /// This season's forecast, else the year curve, else the bare frequency.
    fn chances(&self, species: &str, visits: u32) -> (Chances, Basis) {
        let ahead = self.ahead.as_ref();
        if let Some(chances) = ahead.and_then(|a| a.chances(species, visits)) {
            return (chances, Basis::Curve);
        }
        if let Some(curve) = self.view.fits.get(species).and_then(|f| f.curve.as_ref()) {
            let days = IsoWeek::of(self.date).days().map(DayOfYear::of);
            return (chance::from_curve(curve, &days, visits), Basis::Curve);
        }
        let series = self.view.series_of(species);
        (
            chance::from_frequency(
                series,
                self.view.unrecorded,
                DayOfYear::of(self.date),
                visits,
            ),
            Basis::Frequency,
        )
    }

    /// Do the counts say how often a species that was found here was not?
    fn tells_of_absence(&self, species: &str) -> bool {
        self.view
            .tells_of_absence(species, DayOfYear::of(self.date))
    }

    fn member(&self, species: &str, share: f64, plumages: Vec<Plumage>) -> MemberGuidance {
        if self.view.found_here(species) && !self.tells_of_absence(species) {
            return self.finds_alone(species, share, plumages);
        }
        let of_visits = |visits| self.chances(species, visits);
        let (chances, basis) = of_visits(self.view.workspace.visits_assumed);
        let standing = match self.view.fits.get(species) {
            Some(fit) => stands(fit, DayOfYear::of(self.date), chances.week),
            None => (chances.week < OUTSIDE_BELOW).then_some(types::Stands::Outside),
        };
        MemberGuidance {
            species: species.to_owned(),
            name: self.view.shown_name(species),
            chance_visit: chances.visit,
            chance_week: chances.week,
            by_visits: [1, 2, 3, 4, 5, 6, 7].map(|n| of_visits(n).0.week),
            basis,
            recorded: self.view.found_here(species),
            listed: self.view.lists(species),
            share,
            stands: standing,
            plumages,
        }
    }

    /// A species of which no chance is told, and so neither where it stands.
    fn finds_alone(&self, species: &str, share: f64, plumages: Vec<Plumage>) -> MemberGuidance {
        MemberGuidance {
            species: species.to_owned(),
            name: self.view.shown_name(species),
            chance_visit: f64::NAN,
            chance_week: f64::NAN,
            by_visits: [f64::NAN; 7],
            basis: Basis::FindsAlone,
            recorded: true,
            listed: self.view.lists(species),
            share,
            stands: None,
            plumages,
        }
    }

    /// Species without a chance that were found about the date, by name.
    fn without_chance(&self) -> Option<Vec<String>> {
        let day = DayOfYear::of(self.date);
        let found_here = self.view.series.iter().filter(|(_, s)| s.birds() > 0);
        let silent: Vec<(&String, &CountSeries)> = found_here
            .filter(|(species, _)| !self.tells_of_absence(species))
            .collect();
        let about = |series: &CountSeries| {
            let mut near = series
                .known()
                .filter(|(v, _)| v.day().distance(day) <= NEAR_DAYS);
            near.any(|(_, c)| c.found() == Some(true))
        };
        let named = silent.iter().filter(|(_, series)| about(series));
        let names = named.map(|(species, _)| self.view.shown_name(species));
        (!silent.is_empty()).then(|| names.collect())
    }

    /// Probability that both are found: integrated over what their season shares where both
    /// have a forecast, else as if they came and went by themselves.
    fn both(&self, a: &MemberGuidance, b: &MemberGuidance) -> f64 {
        let shared = self.ahead.as_ref().and_then(|ahead| {
            let visits = self.view.workspace.visits_assumed;
            ahead.both(&a.species, &b.species, visits)
        });
        shared.unwrap_or_else(|| chance::together(week_chances(a), week_chances(b)))
    }

    /// The pair likeliest to be found together, among members that were ever recorded.
    fn likeliest_pair<'m>(
        &self,
        members: &'m [MemberGuidance],
    ) -> Option<(f64, &'m MemberGuidance, &'m MemberGuidance)> {
        let here: Vec<&MemberGuidance> = members.iter().filter(|m| m.has_chance()).collect();
        let pairs = here
            .iter()
            .enumerate()
            .flat_map(|(i, a)| here[i + 1..].iter().map(move |b| (*a, *b)));
        pairs
            .map(|(a, b)| (self.both(a, b), a, b))
            .max_by(|x, y| x.0.total_cmp(&y.0))
    }

    /// A set of which at least two members have ever been found at the site.
    fn set(&self, set: &LookAlikeSet) -> Option<SetGuidance> {
        let view = self.view;
        let found = set.members.iter().filter(|m| view.found_here(&m.species));
        if found.count() < 2 {
            return None;
        }
        let series = set.members.iter().map(|m| view.series_of(&m.species));
        let shared = shares(&series.collect::<Vec<_>>(), DayOfYear::of(self.date));
        let month = self.date.month() as u8;
        let members = self.members(set, &shared.shares);
        let pair = self.likeliest_pair(&members);
        let chosen = marks::choose(view, set, &members, month);
        Some(SetGuidance {
            id: set.id.clone(),
            title: set.title.clone(),
            chance_together: pair.map_or(together_of_none(&members), |(chance, ..)| chance),
            likeliest_pair: pair.map(|(_, a, b)| (a.name.clone(), b.name.clone())),
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

    /// The likeliest first; the never recorded last, whatever so few visits make of them, before them
    /// those of which no chance is told.
    fn members(&self, set: &LookAlikeSet, shares: &[f64]) -> Vec<MemberGuidance> {
        let (region, month) = (&self.view.site.region, self.date.month() as u8);
        let of = |(m, share): (&Member, &f64)| {
            self.member(&m.species, *share, m.plumages_in(region, month))
        };
        let mut members: Vec<MemberGuidance> = set.members.iter().zip(shares).map(of).collect();
        members.sort_by(|a, b| {
            let rank = |m: &MemberGuidance| (!m.recorded, !m.has_chance());
            let chances = b.chance_week.total_cmp(&a.chance_week);
            rank(a).cmp(&rank(b)).then(chances)
        });
        members
    }

    /// Species of no set shown, expected this week.
    fn others(&self, sets: &[SetGuidance]) -> Vec<MemberGuidance> {
        let shown = |species: &str| {
            sets.iter()
                .any(|s| s.members.iter().any(|m| m.species == species))
        };
        let mut others: Vec<MemberGuidance> = self
            .view
            .series
            .iter()
            .filter(|(species, series)| series.birds() > 0 && !shown(species))
            .map(|(species, _)| self.member(species, 1.0, Vec::new()))
            .filter(|m| m.chance_week >= OUTSIDE_BELOW && m.stands != Some(types::Stands::Outside))
            .collect();
        others.sort_by(|a, b| b.chance_week.total_cmp(&a.chance_week));
        others
    }
}

/// Guidance for the ISO week that holds the date.
pub fn week(view: &SiteView, date: NaiveDate) -> WeekGuidance {
    let watched = view.watched.on(DayOfYear::of(date));
    let train = || Ahead::new(view.visits, view.series, view.temperature, date);
    let trained = watched.then(train).flatten();
    let ahead = trained.as_ref().map(|a| a.week(date));
    let this = InWeek { view, date, ahead };
    let known = &view.workspace.look_alikes;
    let mut sets: Vec<SetGuidance> = if watched {
        known.iter().filter_map(|s| this.set(s)).collect()
    } else {
        Vec::new()
    };
    sets.sort_by(|a, b| b.chance_together.total_cmp(&a.chance_together));
    let others = if watched {
        this.others(&sets)
    } else {
        Vec::new()
    };
    let finds_alone = watched.then(|| this.without_chance()).flatten();
    let findings = Findings::of(view, date, this.ahead.as_ref(), &sets, &others);
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
        finds_alone,
        findings,
        when_none_fits: WHEN_NONE_FITS.to_owned(),
        reminder: REMINDER.to_owned(),
        cautions: own.chain(CAUTIONS.map(str::to_owned)).collect(),
    }
}

/// Without a pair of members that have chances: nothing is known where finds alone are.
fn together_of_none(members: &[MemberGuidance]) -> f64 {
    match members.iter().any(|m| m.basis == Basis::FindsAlone) {
        true => f64::NAN,
        false => 0.0,
    }
}

fn week_chances(m: &MemberGuidance) -> Chances {
    Chances {
        visit: m.chance_visit,
        week: m.chance_week,
    }
}

//! A site's records as questions.

use super::asks::{asks, doubts};
use super::list::{LookAlike, Question};
use super::reason::{Grounds, kind};
use super::scene::Scene;
use chrono::{Datelike, NaiveDate};
use config::look_alikes::{LookAlikeSet, Trust};
use config::settings::{Site, Workspace};
use forecast::calendar::DayOfYear;
use forecast::second_look::{InDoubt, Judged, Said, Standing, why};
use forecast::series::{Count, CountSeries};
use forecast::share::shares;
use ingest::store::{RecordKey, SiteHistory};

/// Marks that are asked for at most: a finder answers three questions, not ten.
const MOST_MARKS: usize = 4;

/// A site whose records are told of.
pub(super) struct Place<'a> {
    pub(super) workspace: &'a Workspace,
    pub(super) site: &'a Site,
    pub(super) history: &'a SiteHistory,
    pub(super) scene: &'a Scene<'a>,
}

impl Place<'_> {
    /// What is asked about a record.
    pub(super) fn question(&self, said: &Said, judged: &Judged) -> Question {
        let species = self.scene.names[said.species];
        let key = RecordKey::new(&self.site.id, said.date, species, said.count);
        let standing = Standing::of(self.scene.series[said.species], said.date);
        let reason = why(said, judged, &standing);
        let in_doubt = InDoubt::of(&reason, judged);
        let look_alikes = self.look_alikes(said);
        let (marks, describe) = match in_doubt.name {
            true => self.told_by(species, said.date),
            false => (Vec::new(), None),
        };
        let grounds = Grounds {
            place: self,
            said,
            judged,
            standing: &standing,
            look_alikes: &look_alikes,
        };
        Question {
            record: key.fingerprint(),
            site_name: self.site.name.clone(),
            name: self.workspace.shown_name(species).to_owned(),
            reason: kind(&reason),
            because: grounds.because(&reason),
            doubts: doubts(in_doubt),
            asks: asks(in_doubt, &marks),
            score: judged.score,
            expected: judged.expected,
            chance: judged.at_least,
            look_alikes,
            marks,
            describe,
            answer: None,
            key,
        }
    }

    /// Parts of the bird that a description must mention, and what its set asks for.
    fn told_by(&self, species: &str, date: NaiveDate) -> (Vec<String>, Option<String>) {
        let all = self.workspace.look_alikes.iter();
        let sets = || all.clone().filter(|s| s.member(species).is_some());
        let marks = sets().flat_map(|s| marks(s, species, self.site, date));
        let describe = sets().find_map(|s| s.member(species)?.describe.clone());
        (marks.take(MOST_MARKS).collect(), describe)
    }

    /// Shares of the species' look-alikes on the date, the record itself left out.
    fn look_alikes(&self, said: &Said) -> Vec<LookAlike> {
        let members = &self.scene.relatives[said.species];
        if members.len() < 2 {
            return Vec::new();
        }
        let own = without(self.scene.series[said.species], said.date);
        let series: Vec<&CountSeries> = members
            .iter()
            .map(|m| match *m == said.species {
                true => own.as_ref().unwrap_or(self.scene.series[*m]),
                false => self.scene.series[*m],
            })
            .collect();
        let shared = shares(&series, DayOfYear::of(said.date)).shares;
        let one = |(member, share): (&usize, f64)| {
            let species = self.scene.names[*member];
            LookAlike {
                species: species.to_owned(),
                name: self.workspace.shown_name(species).to_owned(),
                share,
            }
        };
        let mut all: Vec<LookAlike> = members.iter().zip(shared).map(one).collect();
        all.sort_by(|a, b| b.share.total_cmp(&a.share));
        all
    }

    /// The name shown of a species by its place.
    pub(super) fn name(&self, species: usize) -> &str {
        self.workspace.shown_name(self.scene.names[species])
    }

    /// Visits made in earlier years.
    pub(super) fn earlier_visits(&self, date: NaiveDate) -> usize {
        let earlier = self
            .history
            .visits
            .iter()
            .filter(|v| v.year() < date.year());
        earlier.count()
    }
}

/// The series with nothing known of one date; None where it has no such date.
pub(super) fn without(series: &CountSeries, date: NaiveDate) -> Option<CountSeries> {
    let count = |(visit, count): (&forecast::series::Visit, Count)| match visit.date == date {
        true => Count::Unknown,
        false => count,
    };
    CountSeries::new(series.visits().clone(), series.iter().map(count).collect()).ok()
}

/// Parts of the bird that separate it from another member in that month, the most trusted first.
fn marks(set: &LookAlikeSet, species: &str, site: &Site, date: NaiveDate) -> Vec<String> {
    let month = date.month() as u8;
    let mut marks: Vec<_> = set
        .marks
        .iter()
        .filter(|m| m.trust != Trust::Light && m.holds(&site.region, month))
        .filter(|m| m.shows.len() > 1)
        .filter(|m| {
            m.shows
                .iter()
                .any(|s| s.members.iter().any(|n| n == species))
        })
        .collect();
    marks.sort_by_key(|m| m.trust);
    marks.into_iter().map(|m| m.part.clone()).collect()
}

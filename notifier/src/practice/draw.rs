//! A bird by lot.

use super::{Exercise, clue, month};
use crate::guidance::SiteView;
use crate::lesson::Lesson;
use crate::web::Snapshot;
use chrono::NaiveDate;
use config::look_alikes::LookAlikeSet;
use forecast::calendar::{DAYS, DayOfYear};
use forecast::series::CountSeries;
use forecast::share::shares;
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64;

/// Seeds go up to nine digits, which can be read out in a class.
pub const LARGEST_SEED: u64 = 999_999_999;
/// Days drawn until one is worth practising on; where none of so many is, hardly any is.
const TRIES: usize = 300;
/// A day is worth it where two members at least have such a share: ours, so that there is something to
/// weigh.
const WORTH: f64 = 0.05;
/// And where the shares rest on so many birds.
const LEAST_BIRDS: f64 = 10.0;

/// What is to be drawn from.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub struct Wanted {
    /// Only this site.
    pub site: Option<String>,
    /// Only this set.
    pub set: Option<String>,
}

/// Seeds that a day has for itself, so that a run of birds takes none of the next day's.
const SEEDS_A_DAY: u64 = 100;

/// The first seed of a day, for those who name none. Days are counted from 1970 on: birds drawn one
/// after the other have numbers one after the other, which dates written as numbers have not.
pub fn seed_of(date: NaiveDate) -> u64 {
    let days = (date - NaiveDate::default()).num_days();
    u64::try_from(days).unwrap_or_default() * SEEDS_A_DAY
}

/// Draws a site, a set and a day of those on which it is worth practising, then a bird by the day's
/// shares, then one of its plumages of the month. None where there is no such day.
pub fn draw<'a>(snapshot: &'a Snapshot, wanted: &Wanted, seed: u64) -> Option<Exercise<'a>> {
    let mut lots = Pcg64::seed_from_u64(seed);
    let sites = snapshot.sites.iter();
    let sites = sites.filter(|s| wanted.site.as_ref().is_none_or(|id| *id == s.site.id));
    let known = &snapshot.workspace.look_alikes;
    let mut grounds: Vec<(usize, &LookAlikeSet)> = Vec::new();
    let views: Vec<SiteView> = sites.filter_map(|s| s.view(&snapshot.workspace)).collect();
    for (place, view) in views.iter().enumerate() {
        let sets = known.iter();
        let sets = sets.filter(|s| wanted.set.as_ref().is_none_or(|id| *id == s.id));
        let found = |set: &&LookAlikeSet| {
            let found = set.members.iter().filter(|m| view.found_here(&m.species));
            found.count() >= 2
        };
        grounds.extend(sets.filter(found).map(|set| (place, set)));
    }
    if grounds.is_empty() {
        return None;
    }
    let mut views: Vec<Option<SiteView>> = views.into_iter().map(Some).collect();
    for _ in 0..TRIES {
        let (place, set) = grounds[lots.random_range(0..grounds.len())];
        let day = DayOfYear::try_from(lots.random_range(1..=DAYS as u16)).ok()?;
        let ground = views[place]
            .as_ref()
            .and_then(|view| Ground::of(view, set, day));
        if let Some(ground) = ground {
            return ground.with_bird(views[place].take()?, seed, &mut lots);
        }
    }
    None
}

/// A day worth practising on.
struct Ground {
    set: LookAlikeSet,
    day: DayOfYear,
    shares: Vec<f64>,
    effective_birds: f64,
}

impl Ground {
    fn of(view: &SiteView, set: &LookAlikeSet, day: DayOfYear) -> Option<Self> {
        if !view.watched.on(day) {
            return None;
        }
        let mut set = set.clone();
        let region = &view.site.region;
        set.members.retain(|m| {
            view.found_here(&m.species) && !m.plumages_in(region, month(day)).is_empty()
        });
        let series: Vec<&CountSeries> = { set.members.iter() }
            .map(|m| view.series_of(&m.species))
            .collect();
        let shares = shares(&series, day);
        let worth = shares.shares.iter().filter(|s| **s >= WORTH).count() >= 2;
        let enough = shares.effective_birds >= LEAST_BIRDS;
        (worth && enough && can_be_told(view, &set, day)).then_some(Ground {
            set,
            day,
            shares: shares.shares,
            effective_birds: shares.effective_birds,
        })
    }

    fn with_bird<'a>(
        self,
        view: SiteView<'a>,
        seed: u64,
        lots: &mut Pcg64,
    ) -> Option<Exercise<'a>> {
        let bird = by_share(&self.shares, lots.random::<f64>());
        let worn = self.set.members[bird].plumages_in(&view.site.region, month(self.day));
        let plumage = *worn.get(lots.random_range(0..worn.len().max(1)))?;
        Some(Exercise {
            seed,
            view,
            set: self.set,
            day: self.day,
            shares: self.shares,
            effective_birds: self.effective_birds,
            bird,
            plumage,
        })
    }
}

/// Has each member that may be the bird a mark to be told by, in each plumage of the month?
fn can_be_told(view: &SiteView, set: &LookAlikeSet, day: DayOfYear) -> bool {
    let lesson = Lesson::at(view, set, Some(month(day)));
    set.members.iter().enumerate().all(|(bird, member)| {
        let worn = member.plumages_in(&view.site.region, month(day));
        { worn.iter() }.all(|plumage| !clue::of(&lesson, bird, *plumage).is_empty())
    })
}

/// The member on which a number from 0 to 1 falls where each takes its share.
fn by_share(shares: &[f64], lot: f64) -> usize {
    let mut left = lot * shares.iter().sum::<f64>();
    for (place, share) in shares.iter().enumerate() {
        left -= share;
        if left < 0.0 {
            return place;
        }
    }
    shares.len().saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_two_days_share_no_bird_and_read_as_no_date() {
        let first = NaiveDate::from_ymd_opt(2026, 11, 29).unwrap();
        let (one, next) = (seed_of(first), seed_of(first.succ_opt().unwrap()));
        // 40 birds are the most of a run
        assert!(one + 40 <= next && next <= LARGEST_SEED, "{one} {next}");
        for form in ["%Y%m%d", "%y%m%d", "%d%m%Y", "%m%d%Y", "%d%m%y"] {
            let read = NaiveDate::parse_from_str(&one.to_string(), form);
            assert!(read.is_err(), "{one} as {form}");
        }
    }

    /// 20,000 draws; four standard deviations of a count.
    #[test]
    fn birds_fall_by_their_shares() {
        let shares = [0.6, 0.3, 0.1];
        let mut lots = Pcg64::seed_from_u64(7);
        let mut fell = [0.0; 3];
        for _ in 0..20_000 {
            fell[by_share(&shares, lots.random())] += 1.0;
        }
        for (fell, share) in fell.iter().zip(shares) {
            let expected = 20_000.0 * share;
            let sd = f64::sqrt(expected * (1.0 - share));
            assert!((fell - expected).abs() < 4.0 * sd, "{fell} of {expected}");
        }
        assert_eq!(
            (by_share(&shares, 0.0), by_share(&shares, 0.999_999)),
            (0, 2)
        );
    }
}

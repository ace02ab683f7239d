//! The gates of a site's passages, asked for together.

use super::daily::DailyTemperature;
use super::windows::{Predictors, Window, columns};
use super::{Candidate, Gate, ValidParams, gates};
use crate::calendar::DAYS;
use crate::fit::{Passage, SpeciesFit};
use crate::season_shift::SeasonShift;

/// Base of degree days, deg C: about where plants and insects of temperate spring begin to grow
/// (common practice, no source).
pub const BASE_C: f64 = 5.0;

/// When a passage's past seasons ran.
#[derive(Debug, Clone, PartialEq)]
pub struct PastTiming {
    /// Long-term arrival, as a position on the circle of the year that runs on beyond New Year
    /// for seasons that began before it.
    pub arrival_day: f64,
    /// Seasons, named by the year in which they began.
    pub shifts: Vec<SeasonShift>,
}

/// The gates of these passages, in their order; None for one that is not given, since it has no
/// timing to tell. The seed deals the shuffles.
pub fn search(
    passages: &[Option<PastTiming>],
    temperature: &DailyTemperature,
    seed: u64,
) -> Vec<Option<Gate>> {
    let usual = columns(&Window::usual(0), BASE_C);
    let years = || {
        let told = passages.iter().flatten().flat_map(|p| &p.shifts);
        told.map(|s| s.year())
    };
    let (Some(first), Some(last)) = (years().min(), years().max()) else {
        return passages.iter().map(|_| None).collect();
    };
    let candidate = |passage: &Option<PastTiming>| {
        let passage = passage.as_ref()?;
        let years = first..=last;
        let known = Predictors::new(temperature, passage.arrival_day, usual.clone(), years);
        Candidate::new(known.ok()?, &passage.shifts).ok()
    };
    let candidates: Vec<Option<Candidate>> = passages.iter().map(candidate).collect();
    let given: Vec<Candidate> = candidates.iter().flatten().cloned().collect();
    let mut found = gates(&given, &ValidParams::default(), seed).into_iter();
    let gate = |c: Option<Candidate>| c.and_then(|_| found.next());
    candidates.into_iter().map(gate).collect()
}

/// Searches all passages of a site's fits and keeps with each what was found.
pub fn keep_gates(fits: &mut [&mut SpeciesFit], temperature: &DailyTemperature, seed: u64) {
    let passages = || fits.iter().flat_map(|f| &f.passages);
    let timings: Vec<Option<PastTiming>> = passages().map(timing).collect();
    let found = search(&timings, temperature, seed);
    let places = fits.iter_mut().flat_map(|f| &mut f.passages);
    for (passage, gate) in places.zip(found) {
        passage.temperature = gate;
    }
}

fn timing(passage: &Passage) -> Option<PastTiming> {
    let arrival = passage.arrival?.day;
    // seasons are named by the first day of the stretch, which may lie in the year before
    let before_stretch = arrival + 0.5 < f64::from(passage.stretch.0);
    (!passage.shifts.is_empty()).then(|| PastTiming {
        arrival_day: arrival + if before_stretch { DAYS as f64 } else { 0.0 },
        shifts: passage.shifts.clone(),
    })
}

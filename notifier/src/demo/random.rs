//! Separate streams of chance, so that one part of the demo never moves another: a change to
//! the visits leaves the weather as it was.

use super::DemoError;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal};
use rand_pcg::Pcg64;

/// What a stream is for; two parts must not share one.
#[derive(Debug, Clone, Copy)]
pub(super) enum Purpose {
    Weather,
    /// by site
    VisitDates(usize),
    /// by site
    Searches(usize),
    /// by spring or autumn side of the year
    SharedShift(usize),
    /// by site and side of the year
    SharedLevel(usize, usize),
    /// by species and passage
    OwnLevel(usize, usize),
    /// by species and passage
    OwnShift(usize, usize),
    /// by site and species
    Counts(usize, usize),
    Writing,
}

impl Purpose {
    fn key(self) -> u64 {
        let (kind, a, b) = match self {
            Purpose::Weather => (1, 0, 0),
            Purpose::VisitDates(site) => (2, site, 0),
            Purpose::SharedShift(side) => (3, side, 0),
            Purpose::SharedLevel(site, side) => (4, site, side),
            Purpose::OwnLevel(species, passage) => (5, species, passage),
            Purpose::OwnShift(species, passage) => (6, species, passage),
            Purpose::Counts(site, species) => (7, site, species),
            Purpose::Writing => (8, 0, 0),
            Purpose::Searches(site) => (9, site, 0),
        };
        (kind << 48) | ((a as u64) << 24) | b as u64
    }
}

/// The stream of a purpose. `seed_from_u64` scrambles, so that near seeds give unlike streams.
pub(super) fn stream(seed: u64, purpose: Purpose) -> Pcg64 {
    Pcg64::seed_from_u64(seed.rotate_left(32) ^ purpose.key())
}

/// A standard normal number.
pub(super) fn normal(rng: &mut Pcg64) -> f64 {
    rng.sample(StandardNormal)
}

/// True with the given probability.
pub(super) fn happens(rng: &mut Pcg64, probability: f64) -> bool {
    rng.random::<f64>() < probability
}

/// A negative binomial count of the given mean and size, as a Poisson count whose mean is
/// gamma distributed.
pub(super) fn negative_binomial(rng: &mut Pcg64, mean: f64, size: f64) -> Result<u32, DemoError> {
    let refused = |e: &dyn std::fmt::Display| DemoError::Draw(e.to_string());
    let rate = Gamma::new(size, mean / size)
        .map_err(|e| refused(&e))?
        .sample(rng);
    if rate < f64::MIN_POSITIVE {
        // A gamma number of small size can fall below what a double holds; no bird then.
        return Ok(0);
    }
    let count: f64 = Poisson::new(rate).map_err(|e| refused(&e))?.sample(rng);
    Ok(count as u32)
}

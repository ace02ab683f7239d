//! Random moments, the same for the same seed.

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use std::time::Duration;

/// Moments to stop a program at.
pub struct Moments(Pcg64Mcg);

impl Moments {
    /// Those of a seed.
    pub fn new(seed: u64) -> Self {
        Moments(Pcg64Mcg::seed_from_u64(seed))
    }

    /// A moment within a run that took so long, or a little after its end.
    pub fn within(&mut self, run: Duration) -> Duration {
        run.mul_f64(self.0.random_range(0.0..1.05))
    }
}

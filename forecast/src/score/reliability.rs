//! Whether what we said 70 % of came seven times in ten.

use super::{Issued, ScoreError, check_issued};

/// Equal bins of the chance that the table has.
pub const BINS: usize = 10;

/// Chances of one bin and what came of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// Lower edge, which belongs to the bin.
    pub from: f64,
    /// Upper edge, which belongs to the next bin, save for the last.
    pub to: f64,
    /// Forecasts in it.
    pub forecasts: usize,
    /// How many of them came true.
    pub happened: usize,
    /// Mean chance issued; None for an empty bin.
    pub mean_chance: Option<f64>,
}

impl Bin {
    /// Part of them that came true; None for an empty bin.
    pub fn frequency(&self) -> Option<f64> {
        (self.forecasts > 0).then(|| self.happened as f64 / self.forecasts as f64)
    }
}

/// A reliability table in ten equal bins.
#[derive(Debug, Clone, PartialEq)]
pub struct Reliability {
    /// Bins in order, empty ones too.
    pub bins: [Bin; BINS],
    /// Calibration error: the sum over bins of weight times |mean chance - frequency|, the weight
    /// being the bin's part of the forecasts.
    pub calibration_error: f64,
}

impl Reliability {
    /// The bin that a chance falls in; None outside 0..=1.
    pub fn bin_of(&self, chance: f64) -> Option<&Bin> {
        (0.0..=1.0)
            .contains(&chance)
            .then(|| &self.bins[index(chance)])
    }
}

/// Tables chances against what came.
pub fn table(issued: &[Issued]) -> Result<Reliability, ScoreError> {
    check_issued(issued)?;
    let mut tally = [(0usize, 0usize, 0.0f64); BINS];
    for one in issued {
        let (forecasts, happened, chances) = &mut tally[index(one.chance)];
        *forecasts += 1;
        *happened += usize::from(one.happened);
        *chances += one.chance;
    }
    let bins = std::array::from_fn(|i| {
        let (forecasts, happened, chances) = tally[i];
        Bin {
            from: edge(i),
            to: edge(i + 1),
            forecasts,
            happened,
            mean_chance: (forecasts > 0).then(|| chances / forecasts as f64),
        }
    });
    let error = |b: &Bin| match (b.mean_chance, b.frequency()) {
        (Some(said), Some(came)) => b.forecasts as f64 * (said - came).abs(),
        _ => 0.0,
    };
    let calibration_error = bins.iter().map(error).sum::<f64>() / issued.len() as f64;
    Ok(Reliability {
        bins,
        calibration_error,
    })
}

fn edge(i: usize) -> f64 {
    i as f64 / BINS as f64
}

/// The bin of a chance in 0..=1, by its edges as written: 0.3 * 10 is above 3 by rounding or not.
fn index(chance: f64) -> usize {
    (1..BINS).take_while(|i| chance >= edge(*i)).count()
}

//! The climatologies as one would work them out by hand: all counts of earlier years on visits
//! within 7 days of the date's day of year (14 if there is none), mean m = (sum + 0.25) / (n + 1),
//! negative binomial of size m^2 / (variance - m), 20 where the variance does not exceed m, held
//! to 0.03..20. That of the last five years is the same on the five years before.

use chrono::{Datelike, NaiveDate};
use harness::night_migrants::{self, Counted};
use std::collections::{BTreeMap, HashMap};

/// Counts on every visit, by site and species; from the tables, not from the program.
pub struct Counts {
    by_name: BTreeMap<(String, String), Vec<(NaiveDate, u32)>>,
}

impl Counts {
    pub fn read() -> Option<Counts> {
        let one = |c: Counted| {
            let counts = c.series.iter().map(|(v, n)| (v.date, n.birds())).collect();
            ((c.site, c.species), counts)
        };
        Some(Counts {
            by_name: night_migrants::read()?.into_iter().map(one).collect(),
        })
    }

    pub fn names(&self) -> impl Iterator<Item = &(String, String)> {
        self.by_name.keys()
    }

    /// Visits and counts in date order.
    pub fn of(&self, site: &str, species: &str) -> &[(NaiveDate, u32)] {
        &self.by_name[&(site.to_owned(), species.to_owned())]
    }

    pub fn on(&self, site: &str, species: &str, date: NaiveDate) -> u32 {
        let counts = self.of(site, species);
        let found = counts.binary_search_by_key(&date, |c| c.0);
        counts[found.expect("a visit")].1
    }
}

/// A negative binomial.
#[derive(Clone, Copy)]
pub struct Climate {
    mean: f64,
    size: f64,
}

impl Climate {
    /// P(Y <= 0), ..., P(Y <= 140).
    pub fn cdf(self) -> Vec<f64> {
        let Climate { mean, size } = self;
        let (mut p, mut sum) = (self.none(), 0.0);
        let step = |k: u32| {
            if k > 0 {
                p *= (f64::from(k) - 1.0 + size) / f64::from(k) * mean / (mean + size);
            }
            sum += p;
            sum
        };
        (0..=140).map(step).collect()
    }

    /// P(Y = 0).
    pub fn none(self) -> f64 {
        (self.size / (self.size + self.mean)).powf(self.size)
    }
}

/// Climatologies, each worked out once; of all earlier years or of the last few.
pub struct ByHand<'a> {
    counts: &'a Counts,
    last_years: Option<i32>,
    known: HashMap<(String, String, i32, u32), Climate>,
}

impl<'a> ByHand<'a> {
    pub fn new(counts: &'a Counts, last_years: Option<i32>) -> Self {
        ByHand {
            counts,
            last_years,
            known: HashMap::new(),
        }
    }

    /// What the years before `year` say of the date.
    pub fn on(&mut self, site: &str, species: &str, year: i32, date: NaiveDate) -> Climate {
        let key = (site.to_owned(), species.to_owned(), year, date.ordinal());
        let (counts, last_years) = (self.counts.of(site, species), self.last_years);
        *self.known.entry(key).or_insert_with(|| {
            let first = last_years.map_or(i32::MIN, |n| year - n);
            let near = |reach: i32| -> Vec<f64> {
                let within = |d: &NaiveDate| {
                    let apart = (d.ordinal() as i32 - date.ordinal() as i32).abs();
                    (first..year).contains(&d.year()) && apart.min(366 - apart) <= reach
                };
                counts
                    .iter()
                    .filter(|(d, _)| within(d))
                    .map(|(_, n)| f64::from(*n))
                    .collect()
            };
            match near(7) {
                some if !some.is_empty() => climate(&some),
                _ => climate(&near(14)),
            }
        })
    }
}

fn climate(counts: &[f64]) -> Climate {
    let n = counts.len() as f64;
    let sum: f64 = counts.iter().sum();
    let mean = (sum + 0.25) / (n + 1.0);
    let variance = match counts.len() {
        0 | 1 => 0.0,
        _ => counts.iter().map(|y| (y - sum / n).powi(2)).sum::<f64>() / (n - 1.0),
    };
    let size = match variance > mean {
        true => (mean * mean / (variance - mean)).clamp(0.03, 20.0),
        false => 20.0,
    };
    Climate { mean, size }
}

#[test]
fn a_negative_binomial_is_that_of_a_library() {
    use statrs::distribution::{DiscreteCDF, NegativeBinomial};
    for (mean, size) in [(0.4, 0.3), (3.0, 20.0), (11.0, 1.7)] {
        let theirs = NegativeBinomial::new(size, size / (size + mean)).expect("a distribution");
        let ours = Climate { mean, size }.cdf();
        for (k, ours) in ours.iter().enumerate() {
            assert!(
                (ours - theirs.cdf(k as u64)).abs() < 1e-10,
                "{mean} {size} {k}"
            );
        }
    }
}

//! How good the forecasts are, worked out from the file of predictions and the tables alone.

use super::by_hand::{ByHand, Climate, Counts};
use super::predictions::{Prediction, Says, read};
use super::{ABSENT, Tested, backtest, loaded, tested};
use chrono::{Datelike, Duration, NaiveDate};
use harness::places;
use std::collections::BTreeMap;

const SITES: [&str; 2] = ["MP", "CHI"];
/// Ours, the hand climatology, that of the last five years.
type Three = [f64; 3];

/// Sums of one site.
#[derive(Default)]
struct Scored {
    days: f64,
    crps: Three,
    weeks: Vec<(Three, bool)>,
}

impl Scored {
    fn mean_crps(&self) -> Three {
        self.crps.map(|sum| sum / self.days)
    }

    fn brier(&self) -> Three {
        let one = |i: usize| {
            let error = |(c, found): &(Three, bool)| (c[i] - f64::from(u8::from(*found))).powi(2);
            self.weeks.iter().map(error).sum::<f64>() / self.weeks.len() as f64
        };
        [one(0), one(1), one(2)]
    }

    /// Ten equal bins: the sum over bins of weight times |mean chance - frequency|.
    fn calibration_error(&self, i: usize) -> f64 {
        let mut bins = [(0.0, 0.0); 10];
        for (chances, found) in &self.weeks {
            let edges = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];
            let bin = &mut bins[edges.iter().filter(|e| chances[i] >= **e).count()];
            bin.0 += chances[i];
            bin.1 += f64::from(u8::from(*found));
        }
        // weight times a difference of means is the difference of the sums
        bins.iter()
            .map(|(said, came)| (said - came).abs())
            .sum::<f64>()
            / self.weeks.len() as f64
    }

    fn add(&mut self, p: &Prediction, counts: &Counts, by_hand: &mut [ByHand; 2]) {
        let year = p.issued.year();
        let mut climates = |date| -> [Climate; 2] {
            [0, 1].map(|i| by_hand[i].on(&p.site, &p.species, year, date))
        };
        match &p.says {
            Says::Day(_, cdf) => {
                let found = counts.on(&p.site, &p.species, p.target);
                let [hand, recent] = climates(p.target).map(|c| crps(&c.cdf(), found));
                let scores = [crps(cdf, found), hand, recent];
                self.days += 1.0;
                self.crps
                    .iter_mut()
                    .zip(scores)
                    .for_each(|(sum, score)| *sum += score);
            }
            Says::Week(chance) => {
                let end = p.target + Duration::days(7);
                let within = |d: &NaiveDate| (p.target..end).contains(d);
                let visits = counts
                    .of(&p.site, &p.species)
                    .iter()
                    .filter(|(d, _)| within(d));
                let (mut none, mut found) = ([1.0, 1.0], false);
                for (date, birds) in visits {
                    let zeros = climates(*date).map(Climate::none);
                    none.iter_mut().zip(zeros).for_each(|(n, z)| *n *= z);
                    found |= *birds > 0;
                }
                self.weeks
                    .push(([*chance, 1.0 - none[0], 1.0 - none[1]], found));
            }
        }
    }
}

/// Over 0..=140 birds, which no count of these years passes; a distribution is 1 beyond its end.
fn crps(cdf: &[f64], found: u32) -> f64 {
    let term = |k: u32| {
        let said = cdf.get(k as usize).copied().unwrap_or(1.0);
        (said - f64::from(u8::from(k >= found))).powi(2)
    };
    (0..=140).map(term).sum()
}

fn score(predictions: &str, counts: &Counts, history: Option<i32>) -> BTreeMap<String, Scored> {
    let mut by_hand = [ByHand::new(counts, history), ByHand::new(counts, Some(5))];
    let mut sites: BTreeMap<String, Scored> = BTreeMap::new();
    for p in read(predictions) {
        sites
            .entry(p.site.clone())
            .or_default()
            .add(&p, counts, &mut by_hand);
    }
    sites
}

fn gain(scores: Three, over: usize) -> f64 {
    1.0 - scores[0] / scores[over]
}

/// What the forecast must gain on the hand climatology: site, CRPS, Brier score.
const GAINS: [(&str, f64, f64); 2] = [("MP", 0.008, 0.025), ("CHI", 0.08, 0.15)];

#[test]
fn it_beats_the_hand_climatology_and_is_twice_as_well_calibrated() {
    let (Some(tested), Some(counts)) = (tested(), Counts::read()) else {
        return places::skipped(ABSENT);
    };
    let sites = score(&tested.predictions, &counts, None);
    for (site, least_crps, least_brier) in GAINS {
        let scored = &sites[site];
        let (crps, brier) = (gain(scored.mean_crps(), 1), gain(scored.brier(), 1));
        let (ours, hand) = (scored.calibration_error(0), scored.calibration_error(1));
        println!("{site}: CRPS {crps:.4} Brier {brier:.4} calibration {ours:.4} by hand {hand:.4}");
        assert!(crps >= least_crps, "{site}: CRPS {crps}");
        assert!(brier >= least_brier, "{site}: Brier {brier}");
        assert!(
            ours <= hand / 2.0,
            "{site}: calibration {ours}, by hand {hand}"
        );
    }
    agrees_with_the_summary(tested, &sites);
}

#[test]
fn it_beats_the_last_five_years() {
    let (Some(tested), Some(counts)) = (tested(), Counts::read()) else {
        return places::skipped(ABSENT);
    };
    let sites = score(&tested.predictions, &counts, None);
    let mut both = Scored::default();
    for scored in sites.into_values() {
        both.days += scored.days;
        both.crps
            .iter_mut()
            .zip(scored.crps)
            .for_each(|(sum, score)| *sum += score);
        both.weeks.extend(scored.weeks);
    }
    let (crps, brier) = (gain(both.mean_crps(), 2), gain(both.brier(), 2));
    println!("both sites: CRPS {crps:.4} Brier {brier:.4}");
    assert!(crps > 0.0 && brier > 0.0, "CRPS {crps}, Brier {brier}");
}

#[test]
fn five_earlier_years_are_enough_to_beat_their_climatology() {
    let (Some(workspace), Some(counts)) = (loaded(), Counts::read()) else {
        return places::skipped(ABSENT);
    };
    let args = ["--from", "2006", "--to", "2011", "--history", "5"];
    let tested = backtest(&workspace, &args);
    let sites = score(&tested.predictions, &counts, Some(5));
    let text = workspace.run(&[&["backtest"], &args[..]].concat()).works();
    assert!(
        text.lines().all(|l| l.chars().count() <= 80),
        "wider than 80 columns"
    );
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for site in SITES {
        let (crps, brier) = (
            gain(sites[site].mean_crps(), 1),
            gain(sites[site].brier(), 1),
        );
        assert!(
            crps > 0.0 && brier > 0.0,
            "{site}: CRPS {crps}, Brier {brier}"
        );
        for (of, gain) in [("counts", crps), ("chances", brier)] {
            let printed = format!("{of} {:.1} % better", 100.0 * gain);
            assert!(text.contains(&printed), "{site}: {printed}");
        }
    }
    agrees_with_the_summary(&tested, &sites);
}

/// The program's own sums are those of the file. The file stops where a distribution reaches
/// 0.999999, so a score is out by the birds that one in a million nights brings.
fn agrees_with_the_summary(tested: &Tested, sites: &BTreeMap<String, Scored>) {
    let told = tested.summary["sites"].as_array().expect("sites");
    assert_eq!(told.iter().map(|s| &s["site"]).collect::<Vec<_>>(), SITES);
    for site in told {
        let scored = &sites[site["site"].as_str().expect("an id")];
        let same = |told: &serde_json::Value, ours: Three, within: f64| {
            for (key, ours) in ["ours", "hand", "last_five"].iter().zip(ours) {
                let told = told[key].as_f64().expect("a number");
                assert!(
                    (told - ours).abs() < within,
                    "{}: {key} {told}, file {ours}",
                    site["site"]
                );
            }
        };
        let overall = &site["overall"];
        same(&overall["counts"]["crps"]["mean"], scored.mean_crps(), 1e-5);
        same(&overall["weeks"]["brier"]["mean"], scored.brier(), 1e-8);
        for (i, key) in ["ours", "hand", "last_five"].iter().enumerate() {
            let told = site["reliability"][key]["calibration_error"]
                .as_f64()
                .expect("a number");
            assert!(
                (told - scored.calibration_error(i)).abs() < 1e-6,
                "{key} {told}"
            );
        }
    }
}

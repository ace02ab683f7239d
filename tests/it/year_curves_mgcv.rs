//! Year curves of the real counts against R's mgcv.
//!
//! `tests/reference/year_curves_mgcv.json` was made by the script beside it with R 4.2.2 and mgcv
//! 1.8.41: `gam(y ~ s(doy, bs = "cc", k = 20) + s(year, bs = "re"), family = nb(), method =
//! "REML")`, knots 0.5 and 366.5, for every species with 50 birds or more.

use forecast::year_curve::{Params, fit};
use harness::{night_migrants, places};
use serde_json::Value;

/// A hundredth of an 80 % interval's width: nothing that is printed can change.
const LOG_MEAN: f64 = 0.002;
/// The optimisers' own tolerances leave as much.
const THETA: f64 = 0.002;
/// Beyond this the variance of a count of ten differs from a Poisson's by less than a thousandth.
const POISSON: f64 = 1e4;
/// Where the curve is as good as zero, its logarithm runs off along a nearly flat likelihood.
const MEAN_THAT_MATTERS: f64 = 0.01;

#[test]
fn year_curves_agree_with_mgcv() {
    let Some(counted) = night_migrants::read() else {
        return places::skipped("../shared/data is absent");
    };
    let text = std::fs::read_to_string(places::reference("year_curves_mgcv.json")).expect("values");
    let reference: Vec<Value> = serde_json::from_str(&text).expect("JSON");
    let enough = counted.iter().filter(|c| c.series.birds() >= 50).count();
    assert_eq!(enough, reference.len(), "species with 50 birds or more");
    let failures: Vec<String> = reference
        .iter()
        .filter_map(|r| {
            let same =
                |c: &&night_migrants::Counted| r["site"] == c.site && r["species"] == c.species;
            let found = counted
                .iter()
                .find(same)
                .expect("the species is in the data");
            against(found, r).err()
        })
        .collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

fn against(counted: &night_migrants::Counted, reference: &Value) -> Result<(), String> {
    let name = format!("{} {}", counted.site, counted.species);
    if reference["birds"] != counted.series.birds() {
        return Err(format!(
            "{name}: {} birds, R read {}",
            counted.series.birds(),
            reference["birds"]
        ));
    }
    let params = Params { knots: 20 }.check().expect("knots");
    let curve = fit(&counted.series, &params)
        .map_err(|e| format!("{name}: {e}"))?
        .curve;
    let theta = reference["theta"].as_f64().expect("theta");
    let found = curve.dispersion.theta().unwrap_or(f64::INFINITY);
    // both have run to the Poisson limit: mgcv stops on the way, where its criterion is flat
    if !(found > POISSON && theta > POISSON) && (found / theta - 1.0).abs() > THETA {
        return Err(format!("{name}: theta {found}, mgcv has {theta}"));
    }
    let log_mean = reference["log_mean"].as_array().expect("a curve");
    assert_eq!(log_mean.len(), curve.log_mean.len());
    for (day, (wanted, found)) in log_mean.iter().zip(&curve.log_mean).enumerate() {
        let wanted = wanted.as_f64().expect("a number");
        if wanted.exp() > MEAN_THAT_MATTERS && (wanted - found).abs() > LOG_MEAN {
            return Err(format!(
                "{name}: day {}: {found}, mgcv has {wanted}",
                day + 1
            ));
        }
    }
    Ok(())
}

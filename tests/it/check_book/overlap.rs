//! Topic 06: overlap of two seasons.

use super::case::{Case, Found, Trouble};
use super::read::number_or_none;
use forecast::overlap::kernel::{CircularDensity, dhat1, dhat4};
use forecast::overlap::{VonMises, of_normals, of_von_mises};
use serde_json::json;
use statrs::distribution::Normal;

pub fn overlap(case: &Case) -> Found {
    match case.id.split('/').nth(1) {
        Some("normal") => normal(case),
        Some("vonmises") => von_mises(case),
        Some("circular_kernel") => circular_kernel(case),
        _ => Err(Trouble::Failed(format!(
            "unknown kind of overlap: {}",
            case.id
        ))),
    }
}

fn normal(case: &Case) -> Found {
    let a = Normal::new(case.number("mu1")?, case.number("sd1")?)?;
    let b = Normal::new(case.number("mu2")?, case.number("sd2")?)?;
    Ok(json!(of_normals(&a, &b)))
}

fn von_mises(case: &Case) -> Found {
    let a = VonMises::new(case.number("mu1")?, case.number("kappa1")?);
    let b = VonMises::new(case.number("mu2")?, case.number("kappa2")?);
    Ok(json!(a.zip(b).map(|(a, b)| of_von_mises(&a, &b))))
}

fn circular_kernel(case: &Case) -> Found {
    let (period, nu) = (case.number("period")?, number_or_none(case, "nu_fixed")?);
    let a = CircularDensity::new(&case.numbers("doy_a")?, period, nu)?;
    let b = CircularDensity::new(&case.numbers("doy_b")?, period, nu)?;
    let (coarse, fine) = (dhat1(&a, &b, 512), dhat1(&a, &b, 65536));
    // the check's tolerance `Dhat1_between_grids`: two grids of one integral
    if (coarse - fine).abs() > 1e-4 {
        return Err(Trouble::Failed(format!(
            "512 nodes give {coarse}, 65536 {fine}"
        )));
    }
    Ok(json!({
        "kappa_a": a.kappa(), "kappa_b": b.kappa(),
        "nu_a": a.nu(), "nu_b": b.nu(),
        "Dhat1_grid512": coarse,
        "Dhat1_grid65536": fine,
        "Dhat4": dhat4(&a, &b),
    }))
}

//! `wingtide curve`

use super::args::Curve;
use super::session::{LoadedSite, Session};
use super::{Failure, Streams, print_json};
use crate::guidance::document;
use crate::words;
use forecast::calendar::{DayOfYear, MonthDay};
use forecast::year_curve::YearCurve;
use std::path::Path;

/// Shows the year curve of a species at a site.
pub fn run(dir: &Path, args: &Curve, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let loaded = session.fitted_site(session.site(args.site.as_deref())?)?;
    loaded.warn(streams.err)?;
    let species = session.species(&loaded, &args.species)?;
    let curve = curve_of(&loaded, &species)?;
    if loaded.view().curve_of_finds(&species) {
        writeln!(streams.err, "note: {}", words::CURVE_OF_FINDS)?;
    }
    if args.json {
        let value = document::curve(curve, &loaded.watched);
        return print_json(&value, streams.out);
    }
    let (name, site) = (loaded.view().shown_name(&species), &loaded.site.name);
    writeln!(streams.out, "{name} at {site}")?;
    writeln!(
        streams.out,
        "birds expected on a standard visit in an average year, every tenth day:"
    )?;
    days(curve, &loaded, streams)
}

fn curve_of<'l>(loaded: &'l LoadedSite, species: &str) -> Result<&'l YearCurve, Failure> {
    let fit = loaded.fits.get(species).ok_or_else(|| {
        Failure::new(format!("{species} was counted after the last fit")).hint("run: wingtide fit")
    })?;
    fit.curve.as_ref().ok_or_else(|| {
        let (birds, seasons) = (fit.birds, fit.seasons);
        let few = || format!("too few records, {birds} birds in {seasons} seasons");
        let why = fit.failure.clone().unwrap_or_else(few);
        let site = &loaded.site.id;
        Failure::new(format!("there is no curve of {species} at {site}: {why}"))
    })
}

/// A bar for every tenth day.
fn days(curve: &YearCurve, loaded: &LoadedSite, streams: &mut Streams) -> Result<(), Failure> {
    let highest = curve.log_mean.iter().copied();
    let top = highest.fold(f64::NEG_INFINITY, f64::max).exp();
    for day in (1..=361).step_by(10) {
        let day = DayOfYear::try_from(day)?;
        let date = MonthDay::of_position(f64::from(day.get()));
        let mean = curve.mean(day);
        let bar = bar(mean, top, 50);
        match loaded.watched.on(day) {
            true => writeln!(streams.out, "  {date} {mean:>9.3} {bar}")?,
            false => writeln!(streams.out, "  {date}         - not watched")?,
        }
    }
    Ok(())
}

fn bar(value: f64, top: f64, width: usize) -> String {
    "#".repeat((value / top * width as f64).round() as usize)
}

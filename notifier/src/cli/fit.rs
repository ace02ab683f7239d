//! `wingtide fit`

use super::session::Session;
use super::{Failure, Streams};
use crate::fitting::{self, SiteSummary};
use indicatif::{ProgressBar, ProgressStyle};
use std::path::Path;

/// Fits every species at every site and keeps the fits.
pub fn run(dir: &Path, streams: &mut Streams) -> Result<(), Failure> {
    let mut session = Session::open(dir)?;
    let summaries = fit(&mut session, streams)?;
    for site in &summaries {
        report(site, streams)?;
    }
    Ok(())
}

/// Fits with a progress bar where people are looking.
pub fn fit(session: &mut Session, streams: &Streams) -> Result<Vec<SiteSummary>, Failure> {
    let bar = if streams.progress {
        ProgressBar::no_length()
    } else {
        ProgressBar::hidden()
    };
    let style = ProgressStyle::with_template("fitting curves [{bar:30}] {pos}/{len} {msg}")?;
    bar.set_style(style.progress_chars("=> "));
    let summaries = fitting::fit_all(&session.workspace, &mut session.store, &|step| {
        bar.set_length(step.total as u64);
        bar.set_position(step.done as u64);
        bar.set_message(step.species.to_owned());
    })?;
    bar.finish_and_clear();
    Ok(summaries)
}

fn report(site: &SiteSummary, streams: &mut Streams) -> Result<(), Failure> {
    streams.tell(&format!(
        "{}: {} with a curve, {} there all year or without a season, {} with too few records",
        site.site, site.curves, site.uncut, site.too_few
    ))?;
    for (species, why) in &site.failures {
        streams.remark(&format!(
            "warning: {}: the fit of {species} failed: {why}",
            site.site
        ))?;
    }
    Ok(())
}

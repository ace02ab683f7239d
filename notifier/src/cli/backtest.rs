//! `wingtide backtest`

use super::args::Backtest;
use super::session::Session;
use super::{Failure, Streams, print_json};
use crate::backtest::{self, ChartFile, Params, Site, ValidParams};
use crate::columns::wrap;
use crate::fitting;
use config::settings::BacktestSettings;
use forecast::backtest::Setup;
use forecast::temperature::daily::DailyTemperature;
use indicatif::{ProgressBar, ProgressStyle};
use ingest::store::SiteHistory;
use std::path::Path;

/// Tests the forecasts on past years.
pub fn run(dir: &Path, args: &Backtest, streams: &mut Streams) -> Result<(), Failure> {
    let chart = args.chart.as_deref().map(ChartFile::new).transpose()?;
    let session = Session::open(dir)?;
    let params = params(args, &session.workspace.backtest)?;
    let sites = match &args.site {
        Some(id) => vec![session.site(Some(id))?],
        None => session.workspace.sites.iter().collect(),
    };
    let histories: Vec<(&str, SiteHistory, Option<DailyTemperature>)> = sites
        .into_iter()
        .map(|s| {
            Ok((
                s.name.as_str(),
                session.store.history(&session.workspace, &s.id)?,
                fitting::temperature(&session.store, &s.id)?,
            ))
        })
        .collect::<Result<_, Failure>>()?;
    let histories = histories.iter();
    let sites = histories.map(|(name, history, temperature)| Site {
        name,
        history,
        temperature: temperature.as_ref(),
    });
    let sites: Vec<Site> = sites.collect();
    let bar = progress(params.mondays() * sites.len(), streams)?;
    let summary = backtest::run(&sites, &params, args.predictions.as_deref(), &|| bar.inc(1));
    bar.finish_and_clear();
    let summary = summary?;
    let shown = chart.map(|c| c.write(&summary)).transpose()?;
    match args.json {
        true => print_json(&serde_json::to_value(&summary)?, streams.out)?,
        false => write!(streams.out, "{}", backtest::text(&summary, streams.width))?,
    }
    if let Some(shown) = shown {
        let words = format!("The chart shows: {shown}");
        writeln!(streams.err, "{}", wrap(&words, "", "", streams.width))?;
    }
    Ok(())
}

fn params(args: &Backtest, settings: &BacktestSettings) -> Result<ValidParams, Failure> {
    let mondays = match args.mondays.as_slice() {
        [] => &settings.mondays,
        named => named,
    };
    let setup = Setup {
        history: args.history,
        issued: mondays.iter().map(|s| s.days()).collect(),
        ..Setup::default()
    };
    Ok(Params {
        from: args.from,
        to: args.to,
        setup,
    }
    .check()?)
}

fn progress(mondays: usize, streams: &Streams) -> Result<ProgressBar, Failure> {
    if !streams.progress {
        return Ok(ProgressBar::hidden());
    }
    let bar = ProgressBar::new(mondays as u64);
    let style =
        ProgressStyle::with_template("forecasting [{bar:30}] {pos}/{len} Mondays, {eta} to go")?;
    bar.set_style(style.progress_chars("=> "));
    Ok(bar)
}

//! `wingtide season`

use super::args::{Season, SeasonName};
use super::handed_out::Shown;
use super::session::{Session, today};
use super::{Failure, Streams, print_json};
use crate::backtest::ChartFile;
use crate::columns::wrap;
use crate::season::{Ask, SeasonReport, document, leading, named, page, table};
use crate::whole_file;
use config::settings::Site;
use std::path::Path;

/// Holds the season of one site, or of all, against the other years.
pub fn run(dir: &Path, args: &Season, streams: &mut Streams) -> Result<(), Failure> {
    let chart = args.chart.as_deref().map(ChartFile::new).transpose()?;
    let session = Session::open(dir)?;
    let site = session.site(args.site.as_deref())?;
    let loaded = session.fitted_site(site)?;
    loaded.warn(streams.err)?;
    let report = leading(&loaded.view(), &ask(args, site))?;
    match args.json {
        true => print_json(&document::season(&report), streams.out)?,
        false => write!(
            streams.out,
            "{}",
            table::text(&report, args.all, streams.width)
        )?,
    }
    if chart.is_none() && args.page.is_none() {
        return Ok(());
    }
    let report = match args.with_sensitive {
        true => report,
        false => handed_out(dir, args, site)?,
    };
    if let Some(file) = chart {
        draw(&report, &file, streams)?;
    }
    match &args.page {
        Some(path) => write_page(&report, path, streams),
        None => Ok(()),
    }
}

/// A page or a chart may go anywhere, so what is sensitive is left out.
fn handed_out(dir: &Path, args: &Season, own: &Site) -> Result<SeasonReport, Failure> {
    let shown = Shown::read(dir)?;
    let site = shown.site(own)?;
    Ok(leading(&shown.view(site)?, &ask(args, own))?)
}

fn draw(report: &SeasonReport, file: &ChartFile, streams: &mut Streams) -> Result<(), Failure> {
    let chart = page::overview(report)?
        .ok_or_else(|| Failure::new("no passage is told of, so there is no chart to draw"))?;
    file.put(chart.svg()?)?;
    let shown = format!("The chart shows: {}", chart.alt_text());
    writeln!(streams.err, "{}", wrap(&shown, "", "", streams.width))?;
    Ok(())
}

fn write_page(report: &SeasonReport, path: &Path, streams: &mut Streams) -> Result<(), Failure> {
    let html = page::html(report)?;
    whole_file::write(path, html.as_bytes()).map_err(|why| {
        Failure::new(format!(
            "the page {} cannot be written: {why}",
            path.display()
        ))
    })?;
    writeln!(streams.err, "the page is {}", path.display())?;
    Ok(())
}

fn ask(args: &Season, site: &Site) -> Ask {
    Ask {
        date: args.date.unwrap_or_else(|| today(site)),
        season: args.season.map(|s| (s.year, s.name)),
        as_known_then: args.date.is_some(),
    }
}

/// A season as it is typed: "2010-autumn".
pub fn read(text: &str) -> Result<SeasonName, String> {
    named::read(text).map(|(year, name)| SeasonName { year, name })
}

//! `wingtide season`

use super::args::{Season, SeasonName};
use super::session::{Session, today};
use super::{Failure, Streams, print_json};
use crate::backtest::ChartFile;
use crate::columns::wrap;
use crate::season::{Ask, SeasonReport, document, of_site, page, table};
use crate::whole_file;
use config::nearest::nearest;
use config::settings::Site;
use forecast::fit::PassageName;
use std::path::Path;

/// Holds the season of one site, or of all, against the other years.
pub fn run(dir: &Path, args: &Season, streams: &mut Streams) -> Result<(), Failure> {
    let chart = args.chart.as_deref().map(ChartFile::new).transpose()?;
    let session = Session::open(dir)?;
    let site = session.site(args.site.as_deref())?;
    let loaded = session.fitted_site(site)?;
    loaded.warn(streams.err)?;
    let report = of_site(&loaded.view(), &ask(args, site))?;
    match args.json {
        true => print_json(&document::season(&report), streams.out)?,
        false => write!(
            streams.out,
            "{}",
            table::text(&report, args.all, streams.width)
        )?,
    }
    if let Some(file) = chart {
        draw(&report, &file, streams)?;
    }
    match &args.page {
        Some(path) => write_page(&report, path, streams),
        None => Ok(()),
    }
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

const NAMES: [(&str, PassageName); 4] = [
    ("spring", PassageName::Spring),
    ("summer", PassageName::Summer),
    ("autumn", PassageName::Autumn),
    ("winter", PassageName::Winter),
];

/// A season as it is typed: "2010-autumn".
pub fn read(text: &str) -> Result<SeasonName, String> {
    let expected = "expected a year and a season, such as 2010-autumn";
    let (year, name) = text.trim().split_once('-').ok_or(expected)?;
    let digits = year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit());
    let year = year.parse().ok().filter(|_| digits).ok_or(expected)?;
    let known = NAMES.iter().find(|(n, _)| *n == name);
    if let Some((_, name)) = known {
        return Ok(SeasonName { year, name: *name });
    }
    Err(match nearest(name, NAMES.map(|(n, _)| n)) {
        Some(near) => format!("there is no season \"{name}\"; did you mean {year}-{near}?"),
        None => format!("there is no season \"{name}\"; {expected}"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_season_is_a_year_and_a_name() {
        let autumn = SeasonName {
            year: 2010,
            name: PassageName::Autumn,
        };
        assert_eq!(read("2010-autumn"), Ok(autumn));
        assert!(
            read("2010-autum")
                .unwrap_err()
                .contains("did you mean 2010-autumn?")
        );
        for wrong in [
            "autumn",
            "10-autumn",
            "2010-",
            "2010 autumn",
            "autumn-2010",
            "+201-spring",
        ] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }
}

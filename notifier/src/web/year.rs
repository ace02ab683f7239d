//! The year of a site: a chart of all its species, the same windows as a table, and sheets to print.

use super::address::{Place, slug};
use super::ask::YearFile;
use super::page::{self, Frame, Link};
use super::render::{Making, Refusal};
use super::snapshot::{ShownSite, Snapshot};
use crate::findings::passage;
use crate::printed::{self, Paper};
use crate::words;
use crate::year::{About, Row, Window, Year, YearError};
use serde::Serialize;

#[derive(Serialize)]
struct View {
    under: Option<String>,
    notices: Vec<String>,
    charts: Vec<String>,
    files: Vec<Link>,
    rows: Vec<RowView>,
    /// Species about all year or without a season, and why they have no window.
    all_year: Vec<(Link, String)>,
    without: Vec<String>,
    key: Vec<String>,
    source: Vec<String>,
}

/// A passage.
#[derive(Serialize)]
struct RowView {
    link: Link,
    passage: &'static str,
    dates: [String; 3],
}

/// The year of the site; None where no species has a curve.
fn of_site(snapshot: &Snapshot, site: &ShownSite) -> Result<Option<Year>, Refusal> {
    let Some(view) = site.view(&snapshot.workspace) else {
        return Ok(None);
    };
    let about = About {
        made: snapshot.changed,
        licence: None,
        own_use: false,
    };
    match Year::of(&view, &about) {
        Ok(year) => Ok(Some(year)),
        Err(YearError::NoCurve(_)) => Ok(None),
        Err(why) => Err(Refusal::broken(why)),
    }
}

/// The paper of the files.
const ON: Paper = Paper::A3;

/// How many sheets there are to print; counted once for a snapshot.
pub(super) fn sheets(snapshot: &Snapshot, site: &ShownSite) -> Result<u8, Refusal> {
    if let Some(known) = site.sheets.get() {
        return Ok(*known);
    }
    let year = of_site(snapshot, site)?;
    let number = year.map(|y| y.sheets(ON)).transpose();
    let number = number.map_err(Refusal::broken)?.unwrap_or(0);
    let number = u8::try_from(number).map_err(Refusal::broken)?;
    Ok(*site.sheets.get_or_init(|| number))
}

/// A file to print, with its media type.
pub(super) fn file(
    making: &Making,
    site: &ShownSite,
    file: YearFile,
) -> Result<(&'static str, Vec<u8>), Refusal> {
    let snapshot = making.snapshot;
    // before anything is drawn
    if file.is_beyond(sheets(snapshot, site)?) {
        return Err(Refusal::Absent);
    }
    let year = of_site(snapshot, site)?.ok_or(Refusal::Absent)?;
    match file {
        YearFile::Png(number) => Ok(("image/png", picture(&year, number)?)),
        YearFile::Pdf => {
            let about = printed::About {
                title: year.title(),
                language: words::LANGUAGE.to_owned(),
                author: Some(snapshot.workspace.name.clone()),
                made: snapshot.changed,
            };
            let sides = year.sides(ON).map_err(Refusal::broken)?;
            let pdf = printed::pdf(&sides, &about).map_err(Refusal::broken)?;
            Ok(("application/pdf", pdf))
        }
    }
}

/// A sheet, from 1 on.
fn picture(year: &Year, number: u8) -> Result<Vec<u8>, Refusal> {
    let place = usize::from(number).checked_sub(1).ok_or(Refusal::Absent)?;
    let side = year.side(ON, place).map_err(Refusal::broken)?;
    let side = side.ok_or(Refusal::Absent)?;
    let picture = printed::png(&side, printed::DOTS_PER_INCH).map_err(Refusal::broken)?;
    Ok(picture.png)
}

/// The page.
pub(super) fn page(making: &Making, site: &ShownSite) -> Result<String, Refusal> {
    let title = format!("The year at {}", site.site.name);
    let own = making.addresses.to(&Place::Year(&site.site.id));
    let frame = Frame::of_site(title, making.snapshot, site, making.addresses).at(&own);
    let view = match of_site(making.snapshot, site)? {
        Some(year) => told(making, site, &year)?,
        None => empty(making, site),
    };
    Ok(page::render("year.html", &frame, &view)?)
}

fn empty(making: &Making, site: &ShownSite) -> View {
    let why = match site.view(&making.snapshot.workspace) {
        None => "No counts are loaded and fitted for this site yet.",
        Some(_) => "No species has records enough for a curve yet.",
    };
    View {
        under: None,
        notices: vec![why.to_owned()],
        charts: Vec::new(),
        files: Vec::new(),
        rows: Vec::new(),
        all_year: Vec::new(),
        without: Vec::new(),
        key: Vec::new(),
        source: Vec::new(),
    }
}

fn told(making: &Making, site: &ShownSite, year: &Year) -> Result<View, Refusal> {
    let old = site.data.as_ref().and_then(|d| d.old_curves());
    let link = |row: &Row| {
        let slug = slug(&row.curve.scientific);
        let place = Place::Species(&site.site.id, &slug);
        Link::new(&row.curve.name, making.addresses.to(&place))
    };
    let rows = year.rows.iter().flat_map(|row| {
        let cells = row.windows.iter();
        cells.map(move |window| cells_of(link(row), window))
    });
    let all_year = year.rows.iter();
    let all_year = all_year.filter_map(|row| Some((link(row), row.without_window()?)));
    Ok(View {
        under: Some(year.under()),
        notices: old
            .iter()
            .map(|n| n.words().trim_end().to_owned())
            .collect(),
        charts: year.narrow("year").map_err(Refusal::broken)?,
        files: files(making, site, sheets(making.snapshot, site)?),
        rows: rows.collect(),
        all_year: all_year.collect(),
        without: year.without.told(),
        key: year.key(),
        source: year.source(),
    })
}

fn cells_of(link: Link, window: &Window) -> RowView {
    RowView {
        link,
        passage: passage(window.name),
        dates: window.cells(),
    }
}

/// Links to the sheets.
fn files(making: &Making, site: &ShownSite, sheets: u8) -> Vec<Link> {
    let to = |file| making.addresses.to(&Place::YearFile(&site.site.id, file));
    let pdf = Link::new("As a PDF to print on A3", to(YearFile::Pdf));
    let png = |sheet| match sheets {
        1 => Link::new("As a picture (PNG)", to(YearFile::Png(1))),
        _ => Link::new(
            format!("Sheet {sheet} as a picture (PNG)"),
            to(YearFile::Png(sheet)),
        ),
    };
    std::iter::once(pdf).chain((1..=sheets).map(png)).collect()
}

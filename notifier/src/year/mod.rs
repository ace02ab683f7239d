//! The year of a site as a chart for a wall: every species with a curve in the order of its peak,
//! with its interval and its windows; on sheets of paper, and narrow for a page.

mod foot;
pub(crate) mod lane;
mod names;
mod narrow;
mod pen;
mod row;
mod sheet;
mod strips;
#[cfg(test)]
mod tests;
mod told;

pub use sheet::SMALLEST_POINTS;

use crate::chart::{ChartError, SpeciesCurve, written};
use crate::compose::species_curve;
use crate::guidance::SiteView;
use crate::windows::in_order;
use chrono::{DateTime, NaiveDate, Utc};
use config::sensitive::Sensitive;
use forecast::calendar::{DAYS, DayOfYear};
use forecast::chance::{from_curve, tells_of_absence};
use forecast::fit::{DateEstimate, Passage, PassageName, SpeciesFit, Verdict};
use forecast::sun::day_length_hours;

/// What a visit finds is worked out for every so many days: curves are smooth over weeks.
const FOUND_EVERY: usize = 4;
/// The sun is up while its centre stands less than so far below the horizon: its own half width and
/// the usual refraction (Meeus 1998, Astronomical Algorithms, chapter 15).
const SUN_DEG: f64 = 0.833;

/// A year that cannot be drawn.
#[derive(Debug, thiserror::Error)]
pub enum YearError {
    /// A text cannot be measured.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// Nothing to draw.
    #[error("no species at {0} has records enough for a curve, so there is no year to draw")]
    NoCurve(String),
    /// More words than a sheet holds.
    #[error("what is to be said of {0} leaves no room for a curve on the sheet")]
    NoRoom(String),
}

/// What is told of a chart besides the site's counts.
#[derive(Debug, Clone)]
pub struct About {
    /// As of when counts and curves are shown.
    pub made: DateTime<Utc>,
    /// What others may do with it; the usual line where None.
    pub licence: Option<String>,
    /// For the keeper alone: what is kept back from others is on it.
    pub own_use: bool,
}

/// The year of a site.
#[derive(Debug, Clone)]
pub struct Year {
    /// The site's name.
    site: String,
    /// Whose counts they are.
    workspace: String,
    /// "From 27 years of visits ...".
    ground: String,
    licence: String,
    made: NaiveDate,
    own_use: bool,
    /// Those with a season in the order of their peaks, then those without.
    pub(crate) rows: Vec<Row>,
    pub(crate) without: Without,
    /// By day of the year: is the site watched?
    watched: Vec<bool>,
    /// By day of the year: hours of daylight. None where they would tell where the site is.
    light: Option<Vec<f64>>,
    /// By day of the year: how many of the species drawn a standard visit finds. None where finds
    /// alone are known of one of them.
    found: Option<Vec<f64>>,
}

/// Names of species that were found and have no curve, and why.
#[derive(Debug, Clone, Default)]
pub(crate) struct Without {
    /// With how many birds were counted.
    pub(crate) few: Vec<(String, u64)>,
    pub(crate) failed: Vec<String>,
    /// Counted after the last fit.
    pub(crate) unfitted: Vec<String>,
}

/// A species.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// Its curve with its names.
    pub(crate) curve: SpeciesCurve,
    /// The watched day on which the curve is highest, with its birds; None where it shows no season.
    pub(crate) peak: Option<DayOfYear>,
    /// Birds at the highest.
    pub(crate) most: f64,
    /// Its counts hold finds alone on some watched days, which raises the curve.
    pub(crate) of_finds: bool,
    /// What its counts allow to be said.
    pub(crate) verdict: Verdict,
    /// Its passages in the order of the year; none where it has no season.
    pub(crate) windows: Vec<Window>,
}

/// A passage. Dates are positions on the circle of the year.
#[derive(Debug, Clone)]
pub(crate) struct Window {
    pub(crate) name: PassageName,
    /// Arrival and departure; None with too few records.
    pub(crate) days: Option<(DateEstimate, DateEstimate)>,
    pub(crate) peak: Option<f64>,
    /// Where in the year it lies.
    about: f64,
    /// Already about when the watch begins.
    begun_before: bool,
    /// Still about when it ends.
    ends_after: bool,
}

impl Year {
    /// Of all species of the view.
    ///
    /// # Errors
    /// [`YearError::NoCurve`].
    pub fn of(view: &SiteView, about: &About) -> Result<Self, YearError> {
        let watched = view.watched.days().to_vec();
        let known = view.fits.iter();
        let mut rows: Vec<Row> = known
            .filter_map(|(species, fit)| row(view, species, fit, &watched))
            .collect();
        if rows.is_empty() {
            return Err(YearError::NoCurve(view.site.name.clone()));
        }
        rows.sort_by(|a, b| {
            let order = |r: &Row| (r.windows.is_empty(), r.peak.is_none(), r.peak);
            let names = a.curve.name.cmp(&b.curve.name);
            order(a).cmp(&order(b)).then(names)
        });
        let made = about.made.with_timezone(&view.site.time_zone).date_naive();
        Ok(Year {
            site: view.site.name.clone(),
            workspace: view.workspace.name.clone(),
            ground: told::ground(view.visits),
            licence: told::licence(view, about.licence.as_deref()),
            made,
            own_use: about.own_use,
            without: Without::of(view),
            light: light(view, about.own_use),
            found: found(view, &rows),
            rows,
            watched,
        })
    }

    /// The watched day on which most species are found, and how many.
    fn most_found(&self) -> Option<(f64, f64)> {
        let found = self.found.as_ref()?.iter().enumerate();
        let watched = found.filter(|(i, _)| self.watched[*i]);
        let most = watched.max_by(|a, b| a.1.total_cmp(b.1));
        most.map(|(i, n)| (i as f64 + 1.0, *n))
    }
}

impl Without {
    fn of(view: &SiteView) -> Self {
        let mut without = Without::default();
        for (species, series) in view.series.iter().filter(|(_, s)| s.birds() > 0) {
            let name = || written(&view.shown_name(species), species);
            match view.fits.get(species) {
                None => without.unfitted.push(name()),
                Some(fit) if fit.curve.is_some() => {}
                Some(fit) if fit.failure.is_some() => without.failed.push(name()),
                Some(_) => without.few.push((name(), series.birds())),
            }
        }
        without.few.sort();
        without.failed.sort();
        without.unfitted.sort();
        without
    }
}

fn row(view: &SiteView, species: &str, fit: &SpeciesFit, watched: &[bool]) -> Option<Row> {
    let name = written(&view.shown_name(species), species);
    let curve = species_curve(&name, species, fit)?;
    let (peak, most) = curve.peak(watched)?;
    let windows = match fit.verdict {
        Verdict::Curve => in_order(&fit.passages).into_iter().map(window).collect(),
        _ => Vec::new(),
    };
    Some(Row {
        peak: (fit.verdict != Verdict::NoSeason).then_some(peak),
        most,
        of_finds: view.curve_of_finds(species),
        verdict: fit.verdict,
        windows,
        curve,
    })
}

fn window(p: &Passage) -> Window {
    let (first, last) = (f64::from(p.stretch.0), f64::from(p.stretch.1));
    let middle = first + (last - first).rem_euclid(DAYS as f64) / 2.0;
    Window {
        name: p.name,
        days: p.arrival.zip(p.departure),
        peak: p.peak.map(|d| d.day),
        about: p.median.map_or(middle, |d| d.day),
        begun_before: p.begun_before_watch,
        ends_after: p.ends_after_watch,
    }
}

/// Hours of daylight by day of the year; not of a site whose place is made coarse for others, since
/// they tell how far north it lies.
fn light(view: &SiteView, own_use: bool) -> Option<Vec<f64>> {
    let coarse = matches!(view.site.sensitive, Some(Sensitive::Coarsen { .. }));
    let hours = |day: usize| day_length_hours(view.site.latitude, day as f64, SUN_DEG);
    (own_use || !coarse).then(|| (1..=DAYS).map(hours).collect())
}

/// How many of these species a standard visit finds, by their long-term curves.
fn found(view: &SiteView, rows: &[Row]) -> Option<Vec<f64>> {
    let days = (1..=DAYS as u16).step_by(FOUND_EVERY);
    let days: Vec<DayOfYear> = days.filter_map(|d| DayOfYear::try_from(d).ok()).collect();
    let on = |day: &DayOfYear| -> Option<f64> {
        let chances = rows.iter().map(|row| {
            let species = row.curve.scientific.as_str();
            let curve = view.fits.get(species)?.curve.as_ref()?;
            let told = tells_of_absence(view.series_of(species), view.unrecorded, *day);
            (told || !view.watched.on(*day)).then(|| from_curve(curve, &[*day], 1).visit)
        });
        chances.sum()
    };
    let known: Vec<f64> = days.iter().map(on).collect::<Option<_>>()?;
    Some((0..DAYS).map(|day| between(&known, day)).collect())
}

/// Of values for every so many days of the circle, that of a day between them.
fn between(known: &[f64], day: usize) -> f64 {
    let (place, after) = (day / FOUND_EVERY, (day / FOUND_EVERY + 1) % known.len());
    let part = (day % FOUND_EVERY) as f64 / FOUND_EVERY as f64;
    known[place] * (1.0 - part) + known[after] * part
}

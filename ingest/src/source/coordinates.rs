//! Latitude and longitude columns: a row belongs to the nearest site, if that is near enough.

use super::Reading;
use super::columns::{Cell, Cells, Taken, repairs, taken};
use super::walk::Fault;
use crate::cell::tidy;
use crate::error::LoadError;
use crate::intern::Interner;
use crate::mapping::Finder;
use crate::read::rows::Row;
use crate::report::Repair;
use config::settings::Site;
use geographiclib_rs::{Geodesic, InverseGeodesic};

/// Why coordinates name no site.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum PlaceProblem {
    #[error("empty latitude or longitude")]
    Empty,
    #[error(
        "not degrees; write latitude (-90 to 90) and longitude (-180 to 180) as 54.63 and -0.41"
    )]
    NotDegrees,
    #[error(
        "{km:.1} km from the nearest site, \"{site}\"; at most {within_km} km are allowed (within_km)"
    )]
    TooFar {
        site: String,
        km: f64,
        within_km: f64,
    },
    #[error("{km:.0} km from the nearest site, but at \"{site}\" {how}; put it right in the file")]
    Turned {
        site: String,
        km: f64,
        how: &'static str,
    },
}

/// Parts the two cells in one key.
const BETWEEN: char = '\u{1f}';

/// The two columns and the sites of the workspace.
pub(crate) struct Coordinates {
    latitude: usize,
    longitude: usize,
    sites: Vec<Site>,
    within_km: f64,
    cells: Cells<u32, PlaceProblem>,
    joined: Vec<u8>,
}

impl Coordinates {
    pub(crate) fn new(
        reading: &Reading<'_>,
        finder: &mut Finder<'_>,
    ) -> Result<Option<Self>, LoadError> {
        let meaning = &reading.source.meaning;
        let Some((latitude, longitude)) = &meaning.columns.coordinates else {
            return Ok(None);
        };
        Ok(Some(Coordinates {
            latitude: finder.column("latitude", latitude)?,
            longitude: finder.column("longitude", longitude)?,
            sites: reading.workspace.sites.clone(),
            within_km: meaning.within_km,
            cells: Interner::new(),
            joined: Vec::new(),
        }))
    }

    pub(crate) fn read(&mut self, row: &Row<'_>) -> Result<Taken<u32>, Fault> {
        self.joined.clear();
        self.joined.extend_from_slice(&row.cells[self.latitude]);
        self.joined
            .extend_from_slice(BETWEEN.to_string().as_bytes());
        self.joined.extend_from_slice(&row.cells[self.longitude]);
        let (sites, within_km) = (&self.sites, self.within_km);
        let place = self
            .cells
            .place(&self.joined, |text| site_cell(text, sites, within_km));
        taken(&self.cells, place, self.latitude)
    }

    pub(crate) fn last_column(&self) -> usize {
        self.latitude.max(self.longitude)
    }

    pub(crate) fn accept(&mut self, place: u32, line: u64) {
        self.cells.accept(place, line);
    }

    pub(crate) fn repairs(&self, finder: &Finder<'_>) -> Vec<Repair> {
        let [latitude, longitude] =
            [self.latitude, self.longitude].map(|column| finder.header.name(column));
        let read_as = |site: &u32| self.sites[*site as usize].id.clone();
        let mut all = repairs(&self.cells, &format!("{latitude} and {longitude}"), read_as);
        for example in all.iter_mut().flat_map(|r| &mut r.examples) {
            example.written = example.written.replace(BETWEEN, " ");
        }
        all
    }
}

fn site_cell(text: &str, sites: &[Site], within_km: f64) -> Cell<u32, PlaceProblem> {
    let (latitude, longitude) = text.split_once(BETWEEN).unwrap_or((text, ""));
    let ((latitude, stray), (longitude, other)) = (tidy(latitude), tidy(longitude));
    let mut repairs = stray.repairs();
    repairs.extend(
        other
            .repairs()
            .into_iter()
            .filter(|k| !stray.repairs().contains(k)),
    );
    let read = site_at((&latitude, &longitude), sites, within_km);
    Cell { read, repairs }
}

/// The site of a place in degrees as written, by its place among the sites.
pub(crate) fn site_at(
    (latitude, longitude): (&str, &str),
    sites: &[Site],
    within_km: f64,
) -> Result<u32, PlaceProblem> {
    let north = degrees(latitude, 90.0)?;
    let east = degrees(longitude, 180.0)?;
    nearest_site((north, east), sites, within_km)
}

/// A decimal comma is read as a point: no degrees have thousands.
fn degrees(cell: &str, most: f64) -> Result<f64, PlaceProblem> {
    if cell.is_empty() {
        return Err(PlaceProblem::Empty);
    }
    let plain = cell.replacen(',', ".", 1).replacen('\u{2212}', "-", 1);
    let number = plain.parse::<f64>().ok();
    number
        .filter(|n| n.abs() <= most)
        .ok_or(PlaceProblem::NotDegrees)
}

fn nearest_site(
    (latitude, longitude): (f64, f64),
    sites: &[Site],
    within_km: f64,
) -> Result<u32, PlaceProblem> {
    let distance =
        |site: &Site| distance_km((latitude, longitude), (site.latitude, site.longitude));
    let measured = sites.iter().map(distance).enumerate();
    let Some((place, km)) = measured.min_by(|a, b| a.1.total_cmp(&b.1)) else {
        return Err(PlaceProblem::Empty);
    };
    if km <= within_km {
        return Ok(place as u32);
    }
    let too_far = || PlaceProblem::TooFar {
        site: sites[place].id.clone(),
        km,
        within_km,
    };
    Err(turned((latitude, longitude), km, sites, within_km).unwrap_or_else(too_far))
}

/// A slip of which coordinates are often the victim, where it would put them at a site.
fn turned(
    (latitude, longitude): (f64, f64),
    km: f64,
    sites: &[Site],
    within_km: f64,
) -> Option<PlaceProblem> {
    let slips = [
        (
            (longitude, latitude),
            "if latitude and longitude change places",
        ),
        (
            (latitude, -longitude),
            "if the longitude changes its sign (west is negative)",
        ),
        (
            (-latitude, longitude),
            "if the latitude changes its sign (south is negative)",
        ),
    ];
    let sound = slips
        .iter()
        .filter(|((latitude, _), _)| latitude.abs() <= 90.0);
    let mut at = sound.flat_map(|(place, how)| sites.iter().map(move |site| (*place, site, *how)));
    let near = |place: (f64, f64), site: &Site| {
        distance_km(place, (site.latitude, site.longitude)) <= within_km
    };
    let (_, site, how) = at.find(|slip| near(slip.0, slip.1))?;
    let site = site.id.clone();
    Some(PlaceProblem::Turned { site, km, how })
}

/// Kilometres between two places in degrees north and east, along the geodesic of the WGS 84
/// ellipsoid (Karney 2013, Journal of Geodesy 87: 43-55).
pub fn distance_km(a: (f64, f64), b: (f64, f64)) -> f64 {
    let metres: f64 = Geodesic::wgs84().inverse(a.0, a.1, b.0, b.1);
    metres / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A minute of latitude at 45 degrees north is 1852.2 m on WGS 84, a degree of longitude at
    /// the equator 111.3195 km (a * pi / 180, a = 6378.137 km).
    #[test]
    fn distances_on_the_ellipsoid() {
        let minute = distance_km((45.0 - 0.5 / 60.0, 7.0), (45.0 + 0.5 / 60.0, 7.0));
        assert!((minute - 1.8522).abs() < 1e-4, "{minute}");
        let degree = distance_km((0.0, 179.5), (0.0, -179.5));
        assert!((degree - 111.3195).abs() < 1e-4, "{degree}");
    }

    #[test]
    fn degrees_as_written() {
        assert_eq!(degrees("54,63", 90.0), Ok(54.63));
        assert_eq!(degrees("\u{2212}0.41", 180.0), Ok(-0.41));
        assert_eq!(degrees("", 90.0), Err(PlaceProblem::Empty));
        for wrong in ["91", "NaN", "inf", "54°38'"] {
            assert_eq!(
                degrees(wrong, 90.0),
                Err(PlaceProblem::NotDegrees),
                "{wrong}"
            );
        }
    }
}

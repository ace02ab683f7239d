//! The site of an event: by its name or id, else by where it lies.

use crate::cell::tidy;
use crate::error::LoadError;
use crate::mapping::SiteBook;
use chrono_tz::Tz;
use config::settings::{Source, Workspace};

/// How far from a site an event may lie and still be counted there, km. Common practice, no source.
const WITHIN_KM: f64 = 1.0;

/// Mean radius of the Earth, km (IUGG).
const EARTH_KM: f64 = 6371.0088;

struct Place {
    id: String,
    latitude: f64,
    longitude: f64,
    zone: Tz,
}

/// The workspace's sites.
pub(crate) struct Places {
    book: SiteBook,
    places: Vec<Place>,
    /// The site of every row, where the settings name it.
    stated: Option<usize>,
}

/// Where an event says that it was.
pub(super) struct Where<'a> {
    pub(super) location_id: &'a str,
    pub(super) locality: &'a str,
    pub(super) latitude: &'a str,
    pub(super) longitude: &'a str,
}

/// The place of a site, or why there is none, with the words that were read.
pub(super) struct NoSite {
    pub(super) written: String,
    pub(super) why: String,
}

impl Places {
    pub(super) fn new(workspace: &Workspace, source: &Source) -> Result<Self, LoadError> {
        let book = SiteBook::new(workspace, source)?;
        let stated = source.site.as_ref().map(|id| book.of_id(id, source));
        let places = workspace.sites.iter().map(|site| Place {
            id: site.id.clone(),
            latitude: site.latitude,
            longitude: site.longitude,
            zone: site.time_zone,
        });
        Ok(Places {
            stated: stated.transpose()?.map(|place| place as usize),
            book,
            places: places.collect(),
        })
    }

    pub(super) fn id(&self, place: usize) -> &str {
        &self.places[place].id
    }

    pub(super) fn zone(&self, place: usize) -> Tz {
        self.places[place].zone
    }

    /// The site, by the settings, the location's id, its name, or its coordinates.
    pub(super) fn find(&self, at: &Where<'_>) -> Result<usize, NoSite> {
        if let Some(stated) = self.stated {
            return Ok(stated);
        }
        let mut unknown = None;
        for name in [at.location_id, at.locality] {
            let name = tidy(name).0;
            match self.book.read(&name) {
                Ok((place, _)) => return Ok(place as usize),
                Err(why) if !name.is_empty() => {
                    unknown = Some(NoSite {
                        written: name.into_owned(),
                        why: why.to_string(),
                    });
                }
                Err(_) => {}
            }
        }
        match self.by_coordinates(at) {
            Some(found) => found,
            None => Err(unknown.unwrap_or_else(|| NoSite {
                written: String::new(),
                why: "neither locationID, locality nor coordinates say where it was".to_owned(),
            })),
        }
    }

    /// None where there are no coordinates.
    fn by_coordinates(&self, at: &Where<'_>) -> Option<Result<usize, NoSite>> {
        let degrees = |text: &str, most: f64| {
            let number = text.parse::<f64>().ok();
            number.filter(|n| n.abs() <= most)
        };
        let latitude = degrees(at.latitude, 90.0)?;
        let longitude = degrees(at.longitude, 180.0)?;
        let far =
            |place: &Place| haversine_km((latitude, longitude), (place.latitude, place.longitude));
        let with_distance = self.places.iter().map(far).enumerate();
        let (nearest, km) = with_distance.min_by(|a, b| a.1.total_cmp(&b.1))?;
        if km <= WITHIN_KM {
            return Some(Ok(nearest));
        }
        Some(Err(NoSite {
            written: format!("{} {}", at.latitude, at.longitude),
            why: format!(
                "{km:.1} km from the nearest site, {}, where {WITHIN_KM} km is the most",
                self.places[nearest].id
            ),
        }))
    }
}

/// Distance of two points given as degrees north and east, by the haversine formula on a sphere
/// (Sinnott 1984, Sky and Telescope 68: 159).
fn haversine_km(a: (f64, f64), b: (f64, f64)) -> f64 {
    let half = |from: f64, to: f64| ((to - from).to_radians() / 2.0).sin().powi(2);
    let across = a.0.to_radians().cos() * b.0.to_radians().cos() * half(a.1, b.1);
    2.0 * EARTH_KM * (half(a.0, b.0) + across).sqrt().min(1.0).asin()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_degree_of_latitude_is_111_km() {
        // a 360th of the sphere's girth
        let degree = 2.0 * std::f64::consts::PI * EARTH_KM / 360.0;
        for (a, b) in [((54.0, -0.4), (55.0, -0.4)), ((0.0, 179.5), (0.0, -179.5))] {
            assert!((haversine_km(a, b) - degree).abs() < 1e-6, "{a:?} {b:?}");
        }
    }
}

//! The site of an event: by its name or id, else by where it lies, as
//! rows with coordinates are placed.

use crate::cell::tidy;
use crate::error::LoadError;
use crate::mapping::SiteBook;
use crate::source::coordinates::{PlaceProblem, site_at};
use chrono_tz::Tz;
use config::settings::{Site, Source, Workspace};

/// The workspace's sites.
pub(crate) struct Places {
    book: SiteBook,
    sites: Vec<Site>,
    within_km: f64,
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
        Ok(Places {
            stated: stated.transpose()?.map(|place| place as usize),
            book,
            sites: workspace.sites.clone(),
            within_km: source.meaning.within_km,
        })
    }

    pub(super) fn id(&self, place: usize) -> &str {
        &self.sites[place].id
    }

    pub(super) fn zone(&self, place: usize) -> Tz {
        self.sites[place].time_zone
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
        match site_at((at.latitude, at.longitude), &self.sites, self.within_km) {
            Ok(place) => Ok(place as usize),
            Err(PlaceProblem::Empty) => Err(unknown.unwrap_or_else(|| NoSite {
                written: String::new(),
                why: "neither locationID, locality nor coordinates say where it was".to_owned(),
            })),
            Err(problem) => Err(NoSite {
                written: format!("{} {}", at.latitude, at.longitude),
                why: problem.to_string(),
            }),
        }
    }
}

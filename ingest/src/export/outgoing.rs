//! What goes out, before it has a format.

use super::unit;
use crate::report::HalfYear;
use crate::store::outgoing::SiteContent;
use crate::store::{Store, StoreError};
use chrono::NaiveDate;
use config::settings::{Site, Species, Workspace};
use forecast::series::Count;

/// All that goes out.
#[derive(Debug, Clone)]
pub(super) struct Outgoing {
    pub(super) name: String,
    /// Who keeps the counts, without an address.
    pub(super) keeper: Option<String>,
    pub(super) language: String,
    pub(super) visits_assumed: u32,
    pub(super) sites: Vec<SiteOut>,
    /// Species with a row, as the settings know them.
    pub(super) species: Vec<Species>,
    /// Unit of all efforts, where the files say it.
    pub(super) effort_unit: Option<&'static str>,
    /// Some species are withheld or told roughly.
    pub(super) species_kept_back: bool,
    /// Finds told by area and month alone.
    pub(super) coarse: Vec<CoarseFind>,
}

/// A site that goes out.
#[derive(Debug, Clone)]
pub(super) struct SiteOut {
    pub(super) site: Site,
    /// Where its place is told to a grid alone.
    pub(super) grid: Option<super::grid::Cell>,
    pub(super) content: SiteContent,
}

/// The most birds of a species on one visit in an area and month.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CoarseFind {
    pub(super) area: super::grid::Cell,
    pub(super) year: i32,
    pub(super) month: u32,
    pub(super) species: String,
    pub(super) most: Count,
}

impl CoarseFind {
    /// 2024-05
    pub(super) fn month_text(&self) -> String {
        format!("{:04}-{:02}", self.year, self.month)
    }
}

/// A count that goes out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row<'a> {
    pub(super) date: NaiveDate,
    pub(super) species: &'a str,
    pub(super) count: Count,
    pub(super) effort: Option<f64>,
}

impl Outgoing {
    /// Everything that the store has.
    pub(super) fn gather(store: &Store, workspace: &Workspace) -> Result<Self, StoreError> {
        let mut sites = Vec::new();
        for site in &workspace.sites {
            sites.push(SiteOut {
                site: site.clone(),
                grid: None,
                content: store.content(&site.id, (&workspace.records).into())?,
            });
        }
        let keeper = workspace.keeper.as_ref();
        let name = keeper.map(|k| k.split('<').next().unwrap_or_default().trim().to_owned());
        Ok(Outgoing {
            name: workspace.name.clone(),
            keeper: name.filter(|n| !n.is_empty() && !n.contains('@')),
            language: workspace.language.clone(),
            visits_assumed: workspace.visits_assumed,
            sites,
            effort_unit: unit::of(workspace),
            species_kept_back: workspace.species.iter().any(|s| s.sensitive.is_some()),
            species: workspace.species.clone(),
            coarse: Vec::new(),
        })
    }

    /// The name shown beside the scientific one, where there is another.
    pub(super) fn vernacular(&self, scientific: &str) -> Option<&str> {
        let species = self.species.iter().find(|s| s.scientific == scientific)?;
        species.names.get(&self.language).map(String::as_str)
    }
}

impl SiteOut {
    /// Its counts in the order of dates and names. A species that has a row at the site has one
    /// for each fully reported visit: 0 where none was found. Gaps have none, as nobody knows.
    pub(super) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        let content = &self.content;
        content.visits.iter().flat_map(move |(&date, facts)| {
            let searched = facts.fully_reported && !content.gaps.contains(&HalfYear::of(date));
            content.counts.iter().filter_map(move |(species, days)| {
                let none = || searched.then_some(Count::Exactly(0));
                let count = days.get(&date).copied().or_else(none)?;
                Some(Row {
                    date,
                    species,
                    count,
                    effort: facts.effort,
                })
            })
        })
    }
}

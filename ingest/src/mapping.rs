//! Which column is what, and which site a row is from.

use crate::cell::{repaired_to, tidy};
use crate::error::LoadError;
use crate::read::header::{Header, Wanted, Whose};
use crate::read::text::sha256_hex;
use crate::report::{Kind, Note, RepairKind};
use crate::totals::{TOTALS, TotalsWords};
use config::nearest::{folded, nearest};
use config::settings::{
    ACROSS_DATE, ACROSS_SPECIES, ACROSS_VALUE, Source, SourceKind, SpeciesColumns, Wide, Workspace,
};
use std::collections::HashMap;
use std::fmt::Write;

/// Raised whenever the same file would be read otherwise than before, so that it is read again.
const READING: u32 = 6;

/// What a source holds.
pub(crate) fn kind(source: &Source) -> Kind {
    match source.kind {
        SourceKind::Counts(_) => Kind::Counts,
        SourceKind::Visits(_) => Kind::Visits,
        SourceKind::Temperature(_) => Kind::Temperature,
    }
}

/// The source's file in messages: relative to the workspace where it lies inside.
pub(crate) fn file_name(workspace: &Workspace, source: &Source) -> String {
    let path = source.path.strip_prefix(&workspace.root);
    path.unwrap_or(&source.path).display().to_string()
}

/// SHA-256 of everything but the file that decides what is read from it.
pub(crate) fn fingerprint(workspace: &Workspace, source: &Source) -> String {
    let mut text = format!(
        "{READING} {} {:?} {:?} {:?} {:?} {:?} {:?} {:?}",
        file_name(workspace, source),
        source.kind,
        source.separator,
        source.encoding,
        source.date_order,
        source.site,
        source.site_names,
        source.layout,
    );
    let _ = write!(text, " {:?}", source.meaning); // writing to a String cannot fail
    for site in &workspace.sites {
        let _ = write!(text, " {:?} {:?} {}", site.id, site.name, site.time_zone); // as above
        if source.meaning.columns.coordinates.is_some() || source.layout.darwin_core {
            let _ = write!(text, " {} {}", site.latitude, site.longitude); // as above
        }
    }
    if kind(source) == Kind::Counts {
        let undecided = &workspace.records.undecided;
        let _ = write!(text, " {:?} {undecided:?}", workspace.species); // as above
    }
    if source.meaning.columns.observer.is_some() {
        let _ = write!(text, " {:?}", workspace.records.keep_observers); // as above
    }
    sha256_hex(text.as_bytes())
}

/// A key under `columns` and the name written there.
type Named<'a> = (&'static str, Option<&'a String>);

/// The columns that a source names.
pub(crate) fn wanted(source: &Source) -> Vec<Wanted<'_>> {
    let named = of_kind(source).into_iter().chain(further(source));
    named
        .filter_map(|(key, name)| name.map(|name| Wanted { key, name }))
        .collect()
}

/// Those of its kind.
fn of_kind(source: &Source) -> Vec<Named<'_>> {
    match &source.kind {
        SourceKind::Counts(c) => {
            let (species, genus, epithet) = match &c.species {
                SpeciesColumns::One(species) => (Some(species), None, None),
                SpeciesColumns::GenusEpithet(genus, epithet) => (None, Some(genus), Some(epithet)),
            };
            vec![
                ("date", Some(&c.date)),
                ("site", c.site.as_ref()),
                ("species", species),
                ("genus", genus),
                ("epithet", epithet),
                ("count", c.count.as_ref()),
                ("effort", c.effort.as_ref()),
            ]
        }
        SourceKind::Visits(v) => vec![
            ("date", Some(&v.date)),
            ("site", v.site.as_ref()),
            ("effort", v.effort.as_ref()),
        ],
        SourceKind::Temperature(t) => vec![
            ("date", Some(&t.date)),
            ("site", t.site.as_ref()),
            ("mean", t.mean.as_ref()),
            ("min", t.extremes.as_ref().map(|(min, _)| min)),
            ("max", t.extremes.as_ref().map(|(_, max)| max)),
        ],
    }
}

/// Those that any kind may have.
fn further(source: &Source) -> [Named<'_>; 10] {
    let more = &source.meaning.columns;
    let coordinates = more.coordinates.as_ref();
    [
        ("purpose", more.purpose.as_ref()),
        ("fully_reported", more.fully_reported.as_ref()),
        ("observer", more.observer.as_ref()),
        ("status", more.status.as_ref()),
        ("age", more.age.as_ref()),
        ("sex", more.sex.as_ref()),
        ("plumage", more.plumage.as_ref()),
        ("qualifier", more.qualifier.as_ref()),
        ("latitude", coordinates.map(|(latitude, _)| latitude)),
        ("longitude", coordinates.map(|(_, longitude)| longitude)),
    ]
}

/// The columns that must stand in the file itself: without those that a wide table's cells give.
pub(crate) fn wanted_in_file(source: &Source) -> Vec<Wanted<'_>> {
    let given = [ACROSS_DATE, ACROSS_SPECIES, ACROSS_VALUE];
    let across = source.layout.wide.as_ref();
    let mut columns = wanted(source);
    columns.retain(|w| across.is_none() || !given.contains(&w.name));
    let parts = across.map(Wide::date_parts).unwrap_or_default();
    columns.extend(parts.into_iter().map(|(key, name)| Wanted { key, name }));
    columns
}

/// Finds the columns of a source in the header of its file.
pub(crate) struct Finder<'a> {
    pub(crate) header: &'a Header,
    pub(crate) whose: Whose<'a>,
    pub(crate) notes: Vec<Note>,
    /// Columns that are used.
    pub(crate) used: Vec<bool>,
}

impl<'a> Finder<'a> {
    pub(crate) fn new(header: &'a Header, whose: Whose<'a>) -> Self {
        let used = vec![false; header.names.len()];
        Finder {
            header,
            whose,
            notes: Vec::new(),
            used,
        }
    }

    pub(crate) fn column(&mut self, key: &'static str, name: &str) -> Result<usize, LoadError> {
        let place = self
            .header
            .place(Wanted { key, name }, self.whose, &mut self.notes)?;
        self.used[place] = true;
        Ok(place)
    }

    pub(crate) fn optional(
        &mut self,
        key: &'static str,
        name: Option<&String>,
    ) -> Result<Option<usize>, LoadError> {
        name.map(|name| self.column(key, name)).transpose()
    }
}

/// Why a cell names no site.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum SiteProblem {
    #[error("empty; every row needs its site")]
    Empty,
    #[error("{TOTALS}")]
    Totals,
    #[error("no site of wingtide.toml{}", nearest_words(.0))]
    Unknown(Option<String>),
}

fn nearest_words(nearest: &Option<String>) -> String {
    match nearest {
        Some(name) => format!("; the nearest is \"{name}\": add the name to site_names if meant"),
        None => "; add it to site_names if it is another name of one".to_owned(),
    }
}

/// The names by which a source may call the workspace's sites.
pub(crate) struct SiteBook {
    ids: Vec<String>,
    known: HashMap<String, u32>,
    /// Names as people write them.
    exact: Vec<String>,
    /// Words that stand where a row adds up others.
    totals: TotalsWords,
}

impl SiteBook {
    pub(crate) fn new(workspace: &Workspace, source: &Source) -> Result<Self, LoadError> {
        let mut book = SiteBook {
            ids: workspace.sites.iter().map(|s| s.id.clone()).collect(),
            known: HashMap::new(),
            exact: Vec::new(),
            totals: TotalsWords::of(source),
        };
        for (place, site) in workspace.sites.iter().enumerate() {
            book.learn(&site.name, place as u32);
        }
        for (place, site) in workspace.sites.iter().enumerate() {
            book.learn(&site.id, place as u32);
        }
        // What the source says of its own names goes before ids and names.
        for (written, id) in &source.site_names {
            let place = book.of_id(id, source)?;
            book.learn(written, place);
        }
        Ok(book)
    }

    fn learn(&mut self, name: &str, place: u32) {
        let name = tidy(name).0.into_owned();
        self.known.insert(folded(&name), place);
        self.exact.push(name);
    }

    /// Place of the site of that id.
    pub(crate) fn of_id(&self, id: &str, source: &Source) -> Result<u32, LoadError> {
        let place = self.ids.iter().position(|i| i == id);
        let place = place.ok_or_else(|| LoadError::UnknownSite {
            source_id: source.id.clone(),
            site: id.to_owned(),
            sites: self.ids.clone(),
        })?;
        Ok(place as u32)
    }

    /// The site of every row where the file has no site column: the stated one, or the only one.
    pub(crate) fn of_source(&self, source: &Source) -> Result<u32, LoadError> {
        match (&source.site, &self.ids[..]) {
            (Some(id), _) => self.of_id(id, source),
            (None, [_]) => Ok(0),
            (None, ids) => Err(LoadError::NoSite {
                source_id: source.id.clone(),
                sites: ids.to_vec(),
            }),
        }
    }

    /// Reads a tidied cell; with what was repaired to read it.
    pub(crate) fn read(&self, cell: &str) -> Result<(u32, Vec<RepairKind>), SiteProblem> {
        if cell.is_empty() {
            return Err(SiteProblem::Empty);
        }
        let found = self.known.get(&folded(cell));
        let unknown = || match self.totals.begins(cell) {
            true => SiteProblem::Totals,
            false => SiteProblem::Unknown(self.nearest(cell)),
        };
        let place = *found.ok_or_else(unknown)?;
        let repairs = repaired_to(cell, self.exact.iter().map(String::as_str));
        Ok((place, repairs))
    }

    pub(crate) fn id(&self, place: u32) -> &str {
        &self.ids[place as usize]
    }

    pub(crate) fn into_ids(self) -> Vec<String> {
        self.ids
    }

    fn nearest(&self, cell: &str) -> Option<String> {
        let near = nearest(cell, self.exact.iter().map(String::as_str));
        near.map(str::to_owned)
    }
}

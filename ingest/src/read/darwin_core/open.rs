//! Opens the files that `meta.xml` names.

use super::events::Events;
use super::meta::{self, FileSpec, Meta};
use super::place::Places;
use super::{EVENT, HUMBOLDT, OCCURRENCE};
use crate::error::LoadError;
use crate::read::delimited::{Delimited, Shape};
use crate::read::fault::FormatError;
use crate::read::gather::{FileBytes, Gathered};
use crate::read::header::Whose;
use crate::read::kind::Kind;
use crate::read::rows::Rows;
use crate::read::unpack::{self, Budget};
use config::settings::{Source, Workspace};
use csv::ByteRecord;
use encoding_rs::Encoding;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::path::Path;

/// A data file of an archive, as text.
pub(super) struct DataFile {
    /// Its name in messages.
    pub(super) name: String,
    text: String,
    pub(super) spec: FileSpec,
}

/// An archive with its events joined.
pub(crate) struct Archive {
    /// Name in messages.
    pub(crate) name: String,
    pub(super) occurrences: Vec<DataFile>,
    /// None where occurrences are the core and tell their dates themselves.
    pub(super) events: Option<Events>,
    pub(super) places: Places,
    pub(super) source_id: String,
}

impl Archive {
    /// Names of the files of occurrences.
    pub(crate) fn names(&self) -> Vec<String> {
        self.occurrences.iter().map(|f| f.name.clone()).collect()
    }

    /// Name of what holds the events.
    pub(crate) fn events_name(&self) -> String {
        format!("{}, events", self.name)
    }

    /// Bytes of a file of occurrences.
    pub(crate) fn bytes(&self, file: usize) -> u64 {
        self.occurrences[file].bytes()
    }
}

/// A column of a data file, found by its term.
pub(super) struct TermColumn<'a> {
    index: Option<usize>,
    default: &'a str,
}

impl DataFile {
    /// The column of a term; nothing where the file has none.
    pub(super) fn column(&self, space: &str, term: &str) -> TermColumn<'_> {
        let is = |iri: &str| iri.strip_prefix(space) == Some(term);
        let field = self.spec.fields.iter().find(|f| is(&f.term));
        TermColumn {
            index: field.and_then(|f| f.index),
            default: field.and_then(|f| f.default.as_deref()).unwrap_or_default(),
        }
    }

    /// Its rows below the lines of its header.
    pub(super) fn rows<'t>(&'t self, source_id: &'t str) -> Result<Delimited<'t>, LoadError> {
        let whose = Whose {
            file: &self.name,
            source_id,
        };
        let shape = Shape {
            separator: self.spec.separator,
            quote: self.spec.quote,
        };
        let mut rows = Delimited::new(&self.text, 0, shape, whose);
        for _ in 0..self.spec.header_lines {
            if !rows.advance()? {
                break;
            }
        }
        Ok(rows)
    }

    pub(super) fn bytes(&self) -> u64 {
        self.text.len() as u64
    }
}

impl TermColumn<'_> {
    /// The cell without white space around it, or what holds for every row.
    pub(super) fn of<'a>(&'a self, cells: &'a ByteRecord) -> Cow<'a, str> {
        let cell = self.index.and_then(|i| cells.get(i)).unwrap_or_default();
        match cell.trim_ascii() {
            b"" => Cow::Borrowed(self.default),
            cell => String::from_utf8_lossy(cell),
        }
    }
}

/// Where an archive's files are.
enum Files<'a> {
    Zip(&'a FileBytes),
    Folder(&'a Gathered),
}

fn unreadable(file: &str, why: impl Into<String>) -> FormatError {
    FormatError::Unreadable {
        file: file.to_owned(),
        what: "a Darwin Core Archive",
        why: why.into(),
    }
}

/// An archive's description and data, before anything is joined.
struct Unjoined {
    name: String,
    meta: Meta,
    core: Vec<DataFile>,
    extensions: Vec<DataFile>,
}

impl Unjoined {
    fn new(gathered: &Gathered, name: &str) -> Result<Self, FormatError> {
        let files = match &gathered.files[..] {
            [one] if unpack::kind_of(&one.bytes) == Kind::Zip => Files::Zip(one),
            _ => Files::Folder(gathered),
        };
        let mut budget = Budget::new();
        let (base, bytes) = description(&files, name, &mut budget)?;
        let meta_name = format!("{name}, {base}meta.xml");
        let text =
            String::from_utf8(bytes).map_err(|_| unreadable(&meta_name, "it is not UTF-8"))?;
        let meta = meta::read(text.trim_start_matches('\u{feff}'));
        let meta = meta.map_err(|why| FormatError::Unreadable {
            file: meta_name,
            what: "the description of a Darwin Core Archive",
            why,
        })?;
        let mut load = |spec: &FileSpec| data(&files, name, &base, spec, &mut budget);
        let core = load(&meta.core)?;
        let mut extensions = Vec::new();
        for spec in &meta.extensions {
            // others, such as pictures, tell nothing of counts
            if [EVENT, OCCURRENCE, HUMBOLDT].contains(&spec.row_type.as_str()) {
                extensions.extend(load(spec)?);
            }
        }
        let name = name.to_owned();
        Ok(Unjoined {
            name,
            meta,
            core,
            extensions,
        })
    }
}

/// The folder inside the archive that holds `meta.xml`, and its bytes.
fn description(
    files: &Files<'_>,
    name: &str,
    budget: &mut Budget,
) -> Result<(String, Vec<u8>), FormatError> {
    let names = match files {
        Files::Zip(file) => unpack::names(file)?,
        Files::Folder(gathered) => gathered
            .files
            .iter()
            .map(|f| inside(&f.name, name))
            .collect(),
    };
    let is_description = |n: &&String| *n == "meta.xml" || n.ends_with("/meta.xml");
    let found = names.iter().filter(is_description).min_by_key(|n| n.len());
    let found = found.ok_or_else(|| {
        unreadable(
            name,
            "there is no meta.xml in it; write columns if it is no such archive",
        )
    })?;
    let base = found.trim_end_matches("meta.xml").to_owned();
    let bytes = fetch(files, name, found, budget)?;
    Ok((base, bytes))
}

/// A file's name below the folder that is loaded.
fn inside(file: &str, folder: &str) -> String {
    let inside = Path::new(file)
        .strip_prefix(folder)
        .unwrap_or(Path::new(file));
    inside.display().to_string().replace('\\', "/")
}

fn fetch(
    files: &Files<'_>,
    name: &str,
    wanted: &str,
    budget: &mut Budget,
) -> Result<Vec<u8>, FormatError> {
    let missing = || unreadable(name, format!("meta.xml names {wanted}, which is not there"));
    match files {
        Files::Zip(file) => {
            unpack::member(file, wanted, &format!("{name}, {wanted}"), budget)?.ok_or_else(missing)
        }
        Files::Folder(gathered) => {
            let found = gathered
                .files
                .iter()
                .find(|f| inside(&f.name, name) == wanted);
            found.map(|f| f.bytes.clone()).ok_or_else(missing)
        }
    }
}

fn data(
    files: &Files<'_>,
    name: &str,
    base: &str,
    spec: &FileSpec,
    budget: &mut Budget,
) -> Result<Vec<DataFile>, FormatError> {
    let one = |location: &String| {
        let bytes = fetch(files, name, &format!("{base}{location}"), budget)?;
        let file = format!("{name}, {location}");
        let encoding = Encoding::for_label(spec.encoding.trim().as_bytes());
        let encoding = encoding.ok_or_else(|| {
            unreadable(
                &file,
                format!(
                    "meta.xml states the encoding {}, which is none",
                    spec.encoding
                ),
            )
        })?;
        let text = encoding.decode_with_bom_removal(&bytes);
        if text.1 {
            let why = format!("it is not {}, as meta.xml says", encoding.name());
            return Err(unreadable(&file, why));
        }
        Ok(DataFile {
            name: file,
            text: text.0.into_owned(),
            spec: spec.clone(),
        })
    };
    spec.locations.iter().map(one).collect()
}

/// Opens the archive and joins its events.
pub(crate) fn open(
    gathered: &Gathered,
    name: &str,
    workspace: &Workspace,
    source: &Source,
) -> Result<Archive, LoadError> {
    let Unjoined {
        name,
        meta,
        core,
        extensions,
    } = Unjoined::new(gathered, name)?;
    let places = Places::new(workspace, source)?;
    let of_type = |files: Vec<DataFile>, kind: &str| -> Vec<DataFile> {
        files
            .into_iter()
            .filter(|f| f.spec.row_type == kind)
            .collect()
    };
    let (occurrences, events) = match meta.core.row_type.as_str() {
        OCCURRENCE => (core, None),
        EVENT => {
            let (occurrences, rest) = extensions
                .into_iter()
                .partition(|f: &DataFile| f.spec.row_type == OCCURRENCE);
            let humboldt = of_type(rest, HUMBOLDT);
            let events = Events::new(&core, &humboldt, &places, &source.id)?;
            (occurrences, Some(events))
        }
        other => {
            let why = format!("its core is of {other}; expected events or occurrences");
            return Err(unreadable(&name, why).into());
        }
    };
    Ok(Archive {
        name,
        occurrences,
        events,
        places,
        source_id: source.id.clone(),
    })
}

/// What an archive holds, before any row is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// Row type of the core.
    pub core: String,
    /// Row types of the extensions, in order.
    pub extensions: Vec<String>,
    /// Rows of the core.
    pub rows: u64,
    /// Occurrences by the id of their event; none where occurrences are the core.
    pub occurrences: BTreeMap<String, u64>,
    /// Occurrences whose event is none of the core, by file and id, with their lines.
    pub orphans: BTreeMap<String, BTreeMap<String, Vec<u64>>>,
    /// Values of the core that hold for every row, by term.
    pub defaults: BTreeMap<String, String>,
}

/// Reads an archive (a zip, or a folder with `meta.xml`) as far as its files go together.
///
/// # Errors
///
/// The sentence by which it is refused.
pub fn describe(path: &Path) -> Result<Described, LoadError> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let gathered = crate::read::gather::at(path, &name, "archive")?;
    let Unjoined {
        meta,
        core,
        extensions,
        ..
    } = Unjoined::new(&gathered, &name)?;
    let mut described = Described {
        core: meta.core.row_type.clone(),
        extensions: meta.extensions.iter().map(|e| e.row_type.clone()).collect(),
        rows: 0,
        occurrences: BTreeMap::new(),
        orphans: BTreeMap::new(),
        defaults: BTreeMap::new(),
    };
    for field in &meta.core.fields {
        if let Some(default) = &field.default {
            described
                .defaults
                .insert(field.term.clone(), default.clone());
        }
    }
    core.iter().try_for_each(|file| described.core(file))?;
    let occurrences = extensions.iter().filter(|f| f.spec.row_type == OCCURRENCE);
    for file in occurrences {
        described.occurrences_of(file)?;
    }
    Ok(described)
}

impl Described {
    fn core(&mut self, file: &DataFile) -> Result<(), LoadError> {
        let mut rows = file.rows("archive")?;
        while rows.advance()? {
            self.rows += 1;
            let id = id_of(rows.row().cells, &file.spec);
            self.occurrences.insert(id, 0);
        }
        Ok(())
    }

    fn occurrences_of(&mut self, file: &DataFile) -> Result<(), LoadError> {
        let mut rows = file.rows("archive")?;
        while rows.advance()? {
            let row = rows.row();
            let id = id_of(row.cells, &file.spec);
            match self.occurrences.get_mut(&id) {
                Some(number) => *number += 1,
                None => {
                    let location = file.spec.locations.first().cloned().unwrap_or_default();
                    let ids = self.orphans.entry(location).or_default();
                    ids.entry(id).or_default().push(row.line);
                }
            }
        }
        Ok(())
    }
}

/// The id of a row of the core, or of the core's row that it belongs to.
pub(super) fn id_of(cells: &ByteRecord, spec: &FileSpec) -> String {
    let cell = spec.id.and_then(|i| cells.get(i)).unwrap_or_default();
    String::from_utf8_lossy(cell.trim_ascii()).into_owned()
}

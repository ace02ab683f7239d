//! A source's files, opened into the tables that they hold.

use super::confined::{self, What};
use super::darwin_core::{self, Archive};
use super::fault::FormatError;
use super::gather::{FileBytes, Gathered};
use super::header::{Wanted, Whose};
use super::kind::Kind;
use super::rows::Stream;
use super::text::{self, Text};
use super::unpack::{self, Budget, Leaf};
use super::{delimited, listed, wide};
use crate::error::{LoadError, quoted};
use crate::mapping;
use crate::report::Note;
use config::nearest::nearest;
use config::settings::{Source, SourceKind, Workspace};
use std::sync::Arc;

/// Stands for every sheet that has the wanted columns.
const EVERY_SHEET: &str = "*";

/// What a workbook may unpack to, MiB.
const WORKBOOK_MIB: u64 = 768;

/// A file, sheet or member.
pub(crate) struct Part {
    /// Its name in messages.
    pub(crate) name: String,
    pub(crate) content: Content,
}

/// What it holds.
pub(crate) enum Content {
    Text(Text),
    /// Rows as the confined reader wrote them, and how they were kept, in words.
    Listed(Vec<u8>, &'static str),
    /// One of the files of occurrences of an archive.
    Occurrences(Arc<Archive>, usize),
    /// The events of an archive as visits.
    Visits(Arc<Archive>),
}

/// The tables of a source.
#[derive(Default)]
pub(crate) struct Opened {
    pub(crate) parts: Vec<Part>,
    pub(crate) notes: Vec<Note>,
}

impl Part {
    /// Its rows below its header.
    pub(crate) fn open<'t>(&'t self, source: &'t Source) -> Result<Stream<'t>, LoadError> {
        let wanted = mapping::wanted_in_file(source);
        let whose = Whose {
            file: &self.name,
            source_id: &source.id,
        };
        let stream = match &self.content {
            Content::Text(text) => delimited::open(&text.text, source.separator, &wanted, whose),
            Content::Listed(rows, _) => listed::open(rows, &wanted, whose),
            Content::Occurrences(archive, file) => darwin_core::occurrences(archive, *file),
            Content::Visits(archive) => Ok(darwin_core::visits(archive)),
        }?;
        let Some(wide) = &source.layout.wide else {
            return Ok(stream);
        };
        let place = |column: &Wanted<'_>| stream.header.place(*column, whose, &mut Vec::new());
        let named = wanted.iter().map(place).collect::<Result<Vec<_>, _>>()?;
        wide::open(stream, wide, &named, source, whose)
    }

    /// Its length, for progress.
    pub(crate) fn bytes(&self) -> u64 {
        match &self.content {
            Content::Text(text) => text.text.len() as u64,
            Content::Listed(rows, _) => rows.len() as u64,
            Content::Occurrences(archive, file) => archive.bytes(*file),
            Content::Visits(_) => 0,
        }
    }

    /// Its encoding, or what it is where it is no text.
    pub(crate) fn kept_as(&self) -> &'static str {
        match &self.content {
            Content::Text(text) => text.encoding,
            Content::Listed(_, what) => what,
            Content::Occurrences(..) | Content::Visits(_) => "Darwin Core Archive",
        }
    }

    /// Dates are values of their own and stand in ISO 8601 whatever the settings say.
    pub(crate) fn has_true_dates(&self) -> bool {
        !matches!(self.content, Content::Text(_))
    }
}

/// Opens every file of a source.
pub(crate) fn open(
    gathered: Gathered,
    file: &str,
    workspace: &Workspace,
    source: &Source,
) -> Result<Opened, LoadError> {
    if source.layout.darwin_core {
        return archive(&gathered, file, workspace, source);
    }
    let mut opening = Opening {
        source,
        wanted: mapping::wanted_in_file(source),
        budget: Budget::new(),
        opened: Opened::default(),
    };
    for file in gathered.files {
        opening.file(file)?;
    }
    Ok(opening.opened)
}

/// An archive's files of occurrences, or its events where the source is one of visits.
fn archive(
    gathered: &Gathered,
    file: &str,
    workspace: &Workspace,
    source: &Source,
) -> Result<Opened, LoadError> {
    let archive = Arc::new(darwin_core::open(gathered, file, workspace, source)?);
    let parts = match source.kind {
        SourceKind::Visits(_) => vec![Part {
            name: archive.events_name(),
            content: Content::Visits(archive),
        }],
        _ => archive
            .names()
            .into_iter()
            .enumerate()
            .map(|(place, name)| Part {
                name,
                content: Content::Occurrences(Arc::clone(&archive), place),
            })
            .collect(),
    };
    if parts.is_empty() {
        let (file, what) = (file.to_owned(), "occurrences");
        return Err(LoadError::Empty { file, what });
    }
    Ok(Opened {
        parts,
        notes: Vec::new(),
    })
}

struct Opening<'a> {
    source: &'a Source,
    /// Columns by which a sheet is chosen.
    wanted: Vec<Wanted<'a>>,
    budget: Budget,
    opened: Opened,
}

impl Opening<'_> {
    fn file(&mut self, file: FileBytes) -> Result<(), LoadError> {
        let member = self.source.layout.member.as_deref();
        if let Some(wanted) = member.filter(|_| unpack::kind_of(&file.bytes) != Kind::Zip) {
            return Err(self.no_parts(&file.name, "member", wanted, "is no zip archive"));
        }
        for leaf in unpack::leaves(file, member, &mut self.budget)? {
            self.leaf(leaf)?;
        }
        Ok(())
    }

    fn leaf(&mut self, leaf: Leaf) -> Result<(), LoadError> {
        let sheet = self.source.layout.sheet.as_deref();
        let is_workbook = matches!(leaf.kind, Kind::Xlsx | Kind::Ods);
        if let Some(sheet) = sheet.filter(|_| !is_workbook) {
            return Err(self.no_parts(&leaf.file.name, "sheet", sheet, "is no workbook"));
        }
        match leaf.kind {
            Kind::Xlsx => self.workbook(What::Xlsx, leaf.file),
            Kind::Ods => self.workbook(What::Ods, leaf.file),
            Kind::Parquet => self.parquet(leaf.file),
            Kind::Text | Kind::Gzip | Kind::Zip => self.text(leaf.file),
        }
    }

    fn no_parts(
        &self,
        file: &str,
        key: &'static str,
        wanted: &str,
        fault: &'static str,
    ) -> LoadError {
        let (file, wanted) = (file.to_owned(), wanted.to_owned());
        FormatError::NoParts {
            file,
            source_id: self.source.id.clone(),
            key,
            wanted,
            fault,
        }
        .into()
    }

    fn text(&mut self, file: FileBytes) -> Result<(), LoadError> {
        let text = text::decode(file.bytes, self.source, &file.name)?;
        self.opened.parts.push(Part {
            name: file.name,
            content: Content::Text(text),
        });
        Ok(())
    }

    fn parquet(&mut self, file: FileBytes) -> Result<(), LoadError> {
        let read = self.confined(What::Parquet, &file, None)?;
        let parts = read.tables.into_iter().map(|(_, rows)| Part {
            name: file.name.clone(),
            content: Content::Listed(rows, "Parquet"),
        });
        self.opened.parts.extend(parts);
        Ok(())
    }

    fn confined(
        &mut self,
        what: What,
        file: &FileBytes,
        sheet: Option<&str>,
    ) -> Result<confined::Read, LoadError> {
        let read = confined::read(what, &file.bytes, sheet);
        let read = read.map_err(|why| FormatError::Unreadable {
            file: file.name.clone(),
            what: what.name(),
            why,
        })?;
        if read.unconfined {
            let text = format!(
                "{} was read inside this program, as no process of its own could be started.",
                file.name
            );
            self.note(text);
        }
        Ok(read)
    }

    fn note(&mut self, text: String) {
        let note = Note {
            file: None,
            line: None,
            text,
        };
        if !self.opened.notes.contains(&note) {
            self.opened.notes.push(note);
        }
    }

    fn workbook(&mut self, what: What, file: FileBytes) -> Result<(), LoadError> {
        unpack::check_directory(&file, WORKBOOK_MIB)?;
        let sheet = self.source.layout.sheet.as_deref();
        let one = sheet.filter(|s| *s != EVERY_SHEET);
        let read = self.confined(what, &file, one)?;
        if let Some(wanted) = one.filter(|s| !read.sheets.iter().any(|name| name == s)) {
            let near = nearest(wanted, read.sheets.iter().map(String::as_str));
            return Err(FormatError::NoSuchPart {
                nearest: near.map(str::to_owned),
                file: file.name,
                key: "sheet",
                wanted: wanted.to_owned(),
                have: read.sheets,
            }
            .into());
        }
        if one.is_none() {
            let unread = |sheet: &&String| !read.tables.iter().any(|(name, _)| name == *sheet);
            let hidden = read.sheets.iter().filter(unread).cloned().collect();
            self.tell_unread(&file.name, "are hidden", hidden);
        }
        let chosen = self.chosen(&file.name, read.tables, sheet)?;
        for (name, rows) in chosen {
            self.opened.parts.push(Part {
                name: sheet_name(&file.name, &name),
                content: Content::Listed(rows, "workbook"),
            });
        }
        Ok(())
    }

    /// The sheets to read: those asked for; else the only one with the wanted columns, or the first.
    fn chosen(
        &mut self,
        file: &str,
        tables: Vec<(String, Vec<u8>)>,
        sheet: Option<&str>,
    ) -> Result<Vec<(String, Vec<u8>)>, LoadError> {
        if tables.is_empty() {
            let file = file.to_owned();
            let what = "rows in any sheet that is not hidden";
            return Err(LoadError::Empty { file, what });
        }
        if tables.len() == 1 || sheet.is_some_and(|s| s != EVERY_SHEET) {
            return Ok(tables);
        }
        let mut fitting = Vec::new();
        for (place, (name, rows)) in tables.iter().enumerate() {
            let name = sheet_name(file, name);
            let whose = Whose {
                file: &name,
                source_id: &self.source.id,
            };
            if listed::columns_found(rows, &self.wanted, whose)? == self.wanted.len() {
                fitting.push(place);
            }
        }
        if sheet.is_none() {
            self.tell(file, &tables, &fitting);
            fitting = vec![fitting.first().copied().unwrap_or(0)];
        } else if fitting.is_empty() {
            fitting = vec![0];
        } else {
            let others = (0..tables.len()).filter(|place| !fitting.contains(place));
            let names = others.map(|place| tables[place].0.clone()).collect();
            self.tell_unread(file, "have not all the columns", names);
        }
        let mut tables: Vec<_> = tables.into_iter().map(Some).collect();
        Ok(fitting.iter().filter_map(|&p| tables[p].take()).collect())
    }

    fn tell_unread(&mut self, file: &str, why: &str, names: Vec<String>) {
        if !names.is_empty() {
            let names = quoted(&names);
            self.note(format!(
                "Sheets of {file} that {why} were not read: {names}."
            ));
        }
    }

    /// Says which sheet is read where the settings leave it open.
    fn tell(&mut self, file: &str, tables: &[(String, Vec<u8>)], fitting: &[usize]) {
        let names = |places: &[usize]| -> Vec<String> {
            places.iter().map(|&p| tables[p].0.clone()).collect()
        };
        let text = match fitting {
            [] => format!(
                "No sheet of {file} has all the columns; its first, \"{}\", was read.",
                tables[0].0
            ),
            [one] => format!(
                "The sheet \"{}\" of {file} was read, the only one with the columns.",
                tables[*one].0
            ),
            [first, ..] => format!(
                "Sheets {} of {file} have the columns; only \"{}\" was read: write sheet = \
                 \"{EVERY_SHEET}\" for all of them, or name one.",
                quoted(&names(fitting)),
                tables[*first].0
            ),
        };
        self.note(text);
    }
}

fn sheet_name(file: &str, sheet: &str) -> String {
    format!("{file}, sheet \"{sheet}\"")
}

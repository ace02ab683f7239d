//! The rows of an archive as those of a counts or visits file.

use super::DWC;
use super::events::{Event, Events, WhenWhere};
use super::open::{Archive, DataFile, TermColumn, id_of};
use crate::error::LoadError;
use crate::read::delimited::Delimited;
use crate::read::header::Header;
use crate::read::rows::{Row, Rows, Stream};
use config::settings::{DARWIN_CORE_COUNTS, DARWIN_CORE_VISITS};
use csv::ByteRecord;

/// Places of the columns below.
const DATE: usize = 0;
const SITE: usize = 1;
const NAME: usize = 2;
const COUNT: usize = 3;

/// What stands for a bird that was found and not counted; one of the default words for it.
const PRESENT: &str = "present";

fn header(names: &[&str]) -> Header {
    Header {
        names: names.iter().map(|n| (*n).to_owned()).collect(),
        line: 1,
        raw: String::new(),
    }
}

/// The archive's occurrences in one of its files.
pub(crate) fn occurrences(archive: &Archive, file: usize) -> Result<Stream<'_>, LoadError> {
    let file = &archive.occurrences[file];
    Ok(Stream {
        header: header(&DARWIN_CORE_COUNTS),
        separator: None,
        rows: Box::new(Occurrences {
            archive,
            inner: file.rows(&archive.source_id)?,
            file,
            terms: Terms::of(file),
            record: ByteRecord::new(),
            fault: None,
            no_individuals: 0,
        }),
    })
}

/// The archive's fully reported events.
pub(crate) fn visits(archive: &Archive) -> Stream<'_> {
    let events = archive.events.iter().flat_map(|e| &e.all);
    let (full, other): (Vec<&Event>, Vec<&Event>) = events.partition(|e| e.full == Some(true));
    Stream {
        header: header(&DARWIN_CORE_VISITS),
        separator: None,
        rows: Box::new(Visits {
            archive,
            others: other.len(),
            events: full,
            at: 0,
            record: ByteRecord::new(),
        }),
    }
}

struct Terms<'a> {
    when_where: WhenWhere<'a>,
    scientific: TermColumn<'a>,
    vernacular: TermColumn<'a>,
    status: TermColumn<'a>,
    individuals: TermColumn<'a>,
    quantity: TermColumn<'a>,
    quantity_type: TermColumn<'a>,
    basis: TermColumn<'a>,
}

impl<'a> Terms<'a> {
    fn of(file: &'a DataFile) -> Self {
        let column = |term| file.column(DWC, term);
        Terms {
            when_where: WhenWhere::of(file),
            scientific: column("scientificName"),
            vernacular: column("vernacularName"),
            status: column("occurrenceStatus"),
            individuals: column("individualCount"),
            quantity: column("organismQuantity"),
            quantity_type: column("organismQuantityType"),
            basis: column("basisOfRecord"),
        }
    }
}

struct Occurrences<'t> {
    archive: &'t Archive,
    file: &'t DataFile,
    inner: Delimited<'t>,
    terms: Terms<'t>,
    record: ByteRecord,
    fault: Option<(usize, String)>,
    /// Rows whose quantity is not in individuals.
    no_individuals: u64,
}

impl Occurrences<'_> {
    fn convert(&mut self) {
        let row = self.inner.row();
        let cells = row.cells;
        let id = id_of(cells, &self.file.spec);
        let (event, orphan) = match &self.archive.events {
            Some(events) => event_of(events, &id),
            None => {
                let places = &self.archive.places;
                (self.terms.when_where.read(cells, row.line, places), None)
            }
        };
        let name = name(
            &self.terms.scientific.of(cells),
            &self.terms.vernacular.of(cells),
        );
        let counted = count(&self.terms, cells);
        let number = counted
            .as_ref()
            .map_or_else(|(written, _)| written.clone(), |c| c.text.clone());
        self.no_individuals += u64::from(counted.as_ref().is_ok_and(|c| c.other_quantity));
        self.record.clear();
        let full = event.full.map_or_else(String::new, |full| full.to_string());
        for cell in [
            &event.date,
            &event.site,
            &name,
            &number,
            &event.effort,
            &full,
        ] {
            self.record.push_field(cell.as_bytes());
        }
        let basis = basis_fault(&self.terms.basis.of(cells));
        self.fault = orphan
            .map(|why| (DATE, why))
            .or(basis.map(|why| (NAME, why)))
            .or(event.date_fault.map(|why| (DATE, why)))
            .or(event.site_fault.map(|why| (SITE, why)))
            .or(counted.err().map(|(_, why)| (COUNT, why)));
    }
}

/// The event of an occurrence, or that the archive has none for it.
fn event_of(events: &Events, id: &str) -> (Event, Option<String>) {
    match events.of(id) {
        Some(event) => (event.clone(), None),
        None => {
            let why = format!("its event \"{id}\" is none of the archive's events");
            (Event::default(), Some(why))
        }
    }
}

impl Rows for Occurrences<'_> {
    fn advance(&mut self) -> Result<bool, LoadError> {
        let more = self.inner.advance()?;
        if more {
            self.convert();
        }
        Ok(more)
    }

    fn row(&self) -> Row<'_> {
        Row {
            cells: &self.record,
            fault: self
                .fault
                .as_ref()
                .map(|(column, why)| (*column, why.as_str())),
            ..self.inner.row()
        }
    }

    fn bytes_read(&self) -> u64 {
        self.inner.bytes_read()
    }

    fn notes(&mut self) -> Vec<String> {
        let told = (self.no_individuals > 0).then(|| {
            format!(
                "Rows whose quantity is not in individuals, read as present without a number: {}.",
                self.no_individuals
            )
        });
        told.into_iter().collect()
    }
}

/// The name without its authors, else the vernacular one.
fn name(scientific: &str, vernacular: &str) -> String {
    if scientific.is_empty() {
        return vernacular.to_owned();
    }
    let words: Vec<&str> = scientific.split_whitespace().collect();
    let authors = words
        .iter()
        .skip(2)
        .position(|w| w.starts_with(|c: char| c == '(' || c.is_uppercase()));
    let kept = authors.map_or(words.len(), |place| place + 2);
    words[..kept].join(" ")
}

/// What was counted.
struct Counted {
    text: String,
    /// A quantity of another kind stood there.
    other_quantity: bool,
}

/// The count as a counts file writes it; else what is written and what is wrong with it.
fn count(terms: &Terms<'_>, cells: &ByteRecord) -> Result<Counted, (String, String)> {
    let status = terms.status.of(cells);
    let (individuals, quantity) = (terms.individuals.of(cells), terms.quantity.of(cells));
    let kind = terms.quantity_type.of(cells).to_lowercase();
    let in_individuals = ["individuals", "individual", "individualcount"].contains(&kind.as_str());
    let written = match (individuals.is_empty(), in_individuals) {
        (false, _) => individuals,
        (true, true) => quantity.clone(),
        (true, false) => "".into(),
    };
    let other_quantity = written.is_empty() && !quantity.is_empty() && !in_individuals;
    let zero = written.parse::<f64>() == Ok(0.0);
    let fault = |why: &str| {
        Err((
            format!("{status} {written}").trim().to_owned(),
            why.to_owned(),
        ))
    };
    let text = match status.to_lowercase().as_str() {
        "absent" if written.is_empty() || zero => "0".to_owned(),
        "absent" => return fault("absent, and yet counted"),
        "present" if zero => return fault("present, and yet none counted"),
        "present" | "" if written.is_empty() => PRESENT.to_owned(),
        "present" | "" => written.clone().into_owned(),
        _ => return fault("its occurrenceStatus is neither present nor absent"),
    };
    Ok(Counted {
        text,
        other_quantity,
    })
}

/// Only birds that somebody, or some device, noticed alive are counts.
fn basis_fault(basis: &str) -> Option<String> {
    let counts = [
        "",
        "humanobservation",
        "machineobservation",
        "observation",
        "occurrence",
        "event",
    ];
    let letters: String = basis.chars().filter(|c| c.is_alphanumeric()).collect();
    let known = counts.contains(&letters.to_lowercase().as_str());
    (!known).then(|| format!("its basisOfRecord is {basis}, which is no count"))
}

struct Visits<'t> {
    archive: &'t Archive,
    events: Vec<&'t Event>,
    /// Events that are not fully reported.
    others: usize,
    at: usize,
    record: ByteRecord,
}

impl Rows for Visits<'_> {
    fn advance(&mut self) -> Result<bool, LoadError> {
        let Some(event) = self.events.get(self.at) else {
            return Ok(false);
        };
        self.record.clear();
        for cell in [&event.date, &event.site, &event.effort] {
            self.record.push_field(cell.as_bytes());
        }
        self.at += 1;
        Ok(true)
    }

    fn row(&self) -> Row<'_> {
        let event = self.events[self.at - 1];
        let date = event.date_fault.as_deref().map(|why| (DATE, why));
        let site = event.site_fault.as_deref().map(|why| (SITE, why));
        Row {
            fault: date.or(site),
            ..Row::plain(event.line, 1, &self.record)
        }
    }

    fn bytes_read(&self) -> u64 {
        0
    }

    fn notes(&mut self) -> Vec<String> {
        let narrow = self.archive.events.iter().flat_map(|e| &e.narrow);
        let mut told: Vec<String> = narrow
            .map(|scope| {
                format!("Fully reported for \"{scope}\" alone, which makes no zeros of other birds known.")
            })
            .collect();
        if self.others > 0 {
            told.push(format!(
                "Events that are not said to be fully reported (eco:isTaxonomicScopeFullyReported), \
                 which make no visits: {}.",
                self.others
            ));
        }
        told
    }
}

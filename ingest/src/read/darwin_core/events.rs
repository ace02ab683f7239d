//! The events of an archive: when, where, how long, and whether all that was found was reported.

use super::event_date::EventDate;
use super::open::{DataFile, TermColumn, id_of};
use super::place::{NoSite, Places, Where};
use super::{DWC, ECO};
use crate::error::LoadError;
use crate::read::rows::Rows;
use csv::ByteRecord;
use std::collections::{HashMap, HashSet};

/// An event as the rows below need it.
#[derive(Clone, Default)]
pub(super) struct Event {
    pub(super) line: u64,
    /// The day, or what is written and why it is none.
    pub(super) date: String,
    pub(super) date_fault: Option<String>,
    /// The site's id, or what is written and why it is none.
    pub(super) site: String,
    pub(super) site_fault: Option<String>,
    /// Minutes; empty where not recorded.
    pub(super) effort: String,
    /// Was everything reported that was found of the birds? None where that is not said.
    pub(super) full: Option<bool>,
}

/// All events, by their ids.
pub(crate) struct Events {
    by_id: HashMap<String, usize>,
    pub(super) all: Vec<Event>,
    /// Fully reported within narrower bounds than birds, and those bounds.
    pub(super) narrow: Vec<String>,
}

/// Terms that tell when and where, on an event or on an occurrence that has none.
pub(super) struct WhenWhere<'a> {
    event_date: TermColumn<'a>,
    year: TermColumn<'a>,
    month: TermColumn<'a>,
    day: TermColumn<'a>,
    location_id: TermColumn<'a>,
    locality: TermColumn<'a>,
    latitude: TermColumn<'a>,
    longitude: TermColumn<'a>,
    sample_value: TermColumn<'a>,
    sample_unit: TermColumn<'a>,
    effort: TermColumn<'a>,
}

impl<'a> WhenWhere<'a> {
    pub(super) fn of(file: &'a DataFile) -> Self {
        let column = |term| file.column(DWC, term);
        WhenWhere {
            event_date: column("eventDate"),
            year: column("year"),
            month: column("month"),
            day: column("day"),
            location_id: column("locationID"),
            locality: column("locality"),
            latitude: column("decimalLatitude"),
            longitude: column("decimalLongitude"),
            sample_value: column("sampleSizeValue"),
            sample_unit: column("sampleSizeUnit"),
            effort: column("samplingEffort"),
        }
    }

    pub(super) fn read(&self, cells: &ByteRecord, line: u64, places: &Places) -> Event {
        let mut event = Event {
            line,
            ..Event::default()
        };
        let place = places.find(&Where {
            location_id: &self.location_id.of(cells),
            locality: &self.locality.of(cells),
            latitude: &self.latitude.of(cells),
            longitude: &self.longitude.of(cells),
        });
        match &place {
            Ok(place) => event.site = places.id(*place).to_owned(),
            Err(NoSite { written, why }) => {
                event.site.clone_from(written);
                event.site_fault = Some(why.clone());
            }
        }
        let written = self.date(cells);
        let zone = place.ok().map(|place| places.zone(place));
        match written.parse::<EventDate>().and_then(|date| date.day(zone)) {
            Ok(day) => event.date = day.to_string(),
            Err(why) => {
                event.date_fault = Some(why.to_string());
                event.date = written;
            }
        }
        let sample = minutes(&self.sample_value.of(cells), &self.sample_unit.of(cells));
        let effort = sample.or_else(|| {
            let text = self.effort.of(cells);
            let end = text.find(|c: char| !c.is_ascii_digit() && c != '.')?;
            minutes(&text[..end], &text[end..])
        });
        event.effort = effort.map_or_else(String::new, |m| m.to_string());
        event
    }

    /// `eventDate`, or year, month and day where that is all there is.
    fn date(&self, cells: &ByteRecord) -> String {
        let date = self.event_date.of(cells);
        let parts = [&self.year, &self.month, &self.day].map(|part| part.of(cells));
        if !date.is_empty() || parts.iter().any(|p| p.is_empty()) {
            return date.into_owned();
        }
        let [year, month, day] = parts;
        format!("{year}-{month:0>2}-{day:0>2}")
    }
}

/// A time as minutes; None for what is no time, such as trap nights or kilometres.
fn minutes(value: &str, unit: &str) -> Option<f64> {
    let value: f64 = value
        .trim()
        .parse()
        .ok()
        .filter(|v: &f64| v.is_finite() && *v > 0.0)?;
    let letters = unit.chars().filter(|c| c.is_alphabetic());
    let unit: String = letters.flat_map(char::to_lowercase).collect();
    let each = match unit.as_str() {
        "min" | "mins" | "minute" | "minutes" => 1.0,
        "h" | "hr" | "hrs" | "hour" | "hours" => 60.0,
        "observerhour" | "observerhours" | "personhour" | "personhours" => 60.0,
        "observerminute" | "observerminutes" | "personminute" | "personminutes" => 1.0,
        "s" | "sec" | "second" | "seconds" => 1.0 / 60.0,
        _ => return None,
    };
    Some(value * each)
}

impl Events {
    pub(super) fn new(
        core: &[DataFile],
        humboldt: &[DataFile],
        places: &Places,
        source_id: &str,
    ) -> Result<Self, LoadError> {
        let mut events = Events {
            by_id: HashMap::new(),
            all: Vec::new(),
            narrow: Vec::new(),
        };
        for file in core {
            let terms = WhenWhere::of(file);
            let mut rows = file.rows(source_id)?;
            while rows.advance()? {
                let row = rows.row();
                events
                    .by_id
                    .insert(id_of(row.cells, &file.spec), events.all.len());
                events.all.push(terms.read(row.cells, row.line, places));
            }
        }
        for file in humboldt {
            events.complete(file, source_id)?;
        }
        events.spare_full_days();
        Ok(events)
    }

    /// The event of that id.
    pub(super) fn of(&self, id: &str) -> Option<&Event> {
        self.by_id.get(id).map(|place| &self.all[*place])
    }

    /// Takes in what the Humboldt extension says: `samplingEffortValue` goes before the event's own
    /// effort, and `isTaxonomicScopeFullyReported` tells whether zeros are known.
    fn complete(&mut self, file: &DataFile, source_id: &str) -> Result<(), LoadError> {
        let column = |term| file.column(ECO, term);
        let (value, unit) = (column("samplingEffortValue"), column("samplingEffortUnit"));
        let (full, scope) = (
            column("isTaxonomicScopeFullyReported"),
            column("targetTaxonomicScope"),
        );
        let mut rows = file.rows(source_id)?;
        while rows.advance()? {
            let cells = rows.row().cells;
            let Some(&place) = self.by_id.get(&id_of(cells, &file.spec)) else {
                continue;
            };
            let event = &mut self.all[place];
            if let Some(minutes) = minutes(&value.of(cells), &unit.of(cells)) {
                event.effort = minutes.to_string();
            }
            let full = match full.of(cells).to_ascii_lowercase().as_str() {
                "true" => true,
                "false" => false,
                _ => continue,
            };
            let scope = scope.of(cells);
            let birds = covers_birds(&scope);
            // of several scopes of an event, one that takes in all birds is enough
            event.full = Some(event.full == Some(true) || full && birds);
            if full && !birds && !self.narrow.iter().any(|s| *s == scope) {
                self.narrow.push(scope.into_owned());
            }
        }
        Ok(())
    }

    /// What was met by the way on the day of a fully reported event takes nothing from that event:
    /// a species that neither has was not found by it.
    fn spare_full_days(&mut self) {
        let day = |e: &Event| (e.site.clone(), e.date.clone());
        let whole = |e: &&Event| e.site_fault.is_none() && e.date_fault.is_none();
        let full = self.all.iter().filter(|e| e.full == Some(true));
        let full: HashSet<_> = full.filter(whole).map(day).collect();
        let partial = self.all.iter_mut().filter(|e| e.full == Some(false));
        for event in partial.filter(|e| full.contains(&day(e))) {
            event.full = None;
        }
    }
}

/// Does the taxonomic scope take in all birds? A narrower one says nothing of species outside it.
fn covers_birds(scope: &str) -> bool {
    let mut groups = scope.split('|').map(str::trim);
    scope.trim().is_empty()
        || groups.any(|g| ["aves", "birds"].contains(&g.to_lowercase().as_str()))
}

//! Looks at each distinct cell once: a file of a million rows holds few distinct dates, sites and names.

use std::collections::HashMap;

/// What the rows with one and the same cell share.
pub(crate) struct Entry<T> {
    /// The cell.
    pub(crate) written: String,
    pub(crate) value: T,
    /// Accepted rows that hold it.
    pub(crate) rows: u64,
    /// Line of the first of them.
    pub(crate) first_line: u64,
}

/// Values worked out from cells, one for each distinct cell, in the order met.
pub(crate) struct Interner<T> {
    places: HashMap<Box<[u8]>, u32>,
    entries: Vec<Entry<T>>,
    // Neighbouring rows mostly share their date, site and species.
    last_cell: Vec<u8>,
    last: Option<u32>,
}

impl<T> Interner<T> {
    pub(crate) fn new() -> Self {
        Interner {
            places: HashMap::new(),
            entries: Vec::new(),
            last_cell: Vec::new(),
            last: None,
        }
    }

    /// Place of the cell's entry, whose value is made where the cell is new.
    pub(crate) fn place(&mut self, cell: &[u8], make: impl FnOnce(&str) -> T) -> u32 {
        if let Some(place) = self.last.filter(|_| self.last_cell == cell) {
            return place;
        }
        let place = match self.places.get(cell) {
            Some(&place) => place,
            None => self.learn(cell, make),
        };
        self.last_cell.clear();
        self.last_cell.extend_from_slice(cell);
        self.last = Some(place);
        place
    }

    fn learn(&mut self, cell: &[u8], make: impl FnOnce(&str) -> T) -> u32 {
        let place = self.entries.len() as u32; // at most one for each row, and lines fit 32 bits
        let written = String::from_utf8_lossy(cell).into_owned();
        let value = make(&written);
        self.entries.push(Entry {
            written,
            value,
            rows: 0,
            first_line: 0,
        });
        self.places.insert(cell.into(), place);
        place
    }

    /// Counts an accepted row with that entry.
    pub(crate) fn accept(&mut self, place: u32, line: u64) {
        let entry = &mut self.entries[place as usize];
        if entry.rows == 0 {
            entry.first_line = line;
        }
        entry.rows += 1;
    }

    pub(crate) fn value(&self, place: u32) -> &T {
        &self.entries[place as usize].value
    }

    pub(crate) fn entries(&self) -> &[Entry<T>] {
        &self.entries
    }
}

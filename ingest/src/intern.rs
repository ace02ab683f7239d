//! Looks at each distinct cell once: a file of a million rows holds few distinct dates, sites and names.

use std::borrow::Cow;
use std::collections::HashMap;

/// What the rows with one and the same cell share.
pub(crate) struct Entry<T> {
    /// The cell.
    pub(crate) written: String,
    /// The cell is UTF-8, so that nothing else is written so.
    is_text: bool,
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
    // Neighbouring rows mostly share their date and site.
    last: Option<u32>,
    /// Entries by a rough sum of their cell, the latest of each sum: most other cells are found
    /// here without the map's costly hash.
    recent: Vec<Option<u32>>,
}

/// Sums told apart, a power of two.
const SUMS: usize = 1 << 11;

impl<T> Interner<T> {
    pub(crate) fn new() -> Self {
        Interner {
            places: HashMap::new(),
            entries: Vec::new(),
            last: None,
            recent: vec![None; SUMS],
        }
    }

    /// Place of the cell's entry, whose value is made where the cell is new.
    pub(crate) fn place(&mut self, cell: &[u8], make: impl FnOnce(&str) -> T) -> u32 {
        if let Some(place) = self.last.filter(|last| self.is(*last, cell)) {
            return place;
        }
        let sum = sum(cell);
        let place = match self.recent[sum].filter(|recent| self.is(*recent, cell)) {
            Some(place) => place,
            None => self.known(cell).unwrap_or_else(|| self.learn(cell, make)),
        };
        self.recent[sum] = Some(place);
        self.last = Some(place);
        place
    }

    fn known(&self, cell: &[u8]) -> Option<u32> {
        self.places.get(cell).copied()
    }

    /// Was the entry made from the very cell? Never said of one that is not text: what is written
    /// for it stands for others too.
    fn is(&self, place: u32, cell: &[u8]) -> bool {
        let entry = &self.entries[place as usize];
        entry.is_text && entry.written.as_bytes() == cell
    }

    fn learn(&mut self, cell: &[u8], make: impl FnOnce(&str) -> T) -> u32 {
        let place = self.entries.len() as u32; // at most one for each row, and lines fit 32 bits
        let text = String::from_utf8_lossy(cell);
        let is_text = matches!(text, Cow::Borrowed(_));
        let written = text.into_owned();
        let value = make(&written);
        self.entries.push(Entry {
            written,
            is_text,
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

/// A rough sum of the bytes of a cell, below [`SUMS`]: eight at a time, each step turned and
/// multiplied by an odd number (2^64 over the golden ratio, as in Fibonacci hashing; Knuth, The
/// Art of Computer Programming, volume 3, 6.4). Cells with the same sum cost time and nothing else.
fn sum(cell: &[u8]) -> usize {
    const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
    let step = |sum: u64, word: u64| (sum.rotate_left(23) ^ word).wrapping_mul(ODD);
    let (words, rest) = cell.as_chunks::<8>();
    let sum = words.iter().fold(cell.len() as u64, |sum, word| {
        step(sum, u64::from_le_bytes(*word))
    });
    let rest = rest.iter().fold(0, |word, b| word << 8 | u64::from(*b));
    (step(sum, rest) >> (u64::BITS - SUMS.trailing_zeros())) as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    /// More cells than sums, each met twice and in turns, so that sums are shared and forgotten.
    #[test]
    fn every_cell_has_its_own_entry() {
        let mut interner = Interner::new();
        let cells: Vec<String> = (0..3 * SUMS).map(|n| format!("Avis nova {n}")).collect();
        for _ in 0..2 {
            for (n, cell) in cells.iter().enumerate() {
                let place = interner.place(cell.as_bytes(), str::to_owned);
                assert_eq!((place as usize, interner.value(place)), (n, cell));
            }
        }
        assert_eq!(interner.entries().len(), cells.len());
    }

    #[test]
    fn cells_that_are_no_text_are_told_apart() {
        let mut interner = Interner::new();
        let cells: [&[u8]; 3] = [b"\xff", b"\xfe", "\u{fffd}".as_bytes()];
        for _ in 0..2 {
            let places = cells.map(|cell| interner.place(cell, |_| ()));
            assert_eq!(places, [0, 1, 2]);
        }
    }
}

//! How many cells an OpenDocument sheet says that it has, counted before a library makes room for
//! them: a few bytes can repeat a cell over millions of rows.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::fs::File;
use std::io::BufReader;
use std::path::Path;
use zip::ZipArchive;

/// Most cells of the area that a sheet fills. The library takes 56 bytes for each at least (its
/// source, version 0.38: a value and a formula), so that these take 342 MiB and their texts more;
/// a million counts of six columns fit.
const MOST: u64 = 6_400_000;

/// Refuses a workbook with a sheet of more cells, or whose content is damaged or cut off: the library
/// looks for the end of a sheet for ever where there is none.
pub(super) fn check(input: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let mut zip = ZipArchive::new(File::open(input)?)?;
    let Ok(content) = zip.by_name("content.xml") else {
        return Ok(());
    };
    let mut reader = Reader::from_reader(BufReader::new(content));
    let (mut buffer, mut area, mut open) = (Vec::new(), Area::default(), 0_u64);
    loop {
        let event = reader.read_event_into(&mut buffer);
        match event.map_err(|e| format!("its content.xml is damaged ({e})"))? {
            Event::Start(e) => {
                open += 1;
                area.begin(&e, true);
            }
            Event::Empty(e) => {
                area.begin(&e, false);
                area.end(e.name().as_ref());
            }
            Event::End(e) => {
                open = open.saturating_sub(1);
                area.end(e.name().as_ref());
            }
            Event::Eof if open > 0 => return Err("its content.xml is cut off".into()),
            Event::Eof => return Ok(()),
            _ => {}
        }
        if area.cells() > MOST {
            let words = format!(
                "with its repeats, a sheet has more than {MOST} cells, as no table of counts does"
            );
            return Err(words.into());
        }
        buffer.clear();
    }
}

/// The area of a sheet that is filled so far.
#[derive(Default)]
struct Area {
    /// Rows down to the last one with anything in it, and columns up to the last such.
    filled: (u64, u64),
    /// Rows above the one that is read, and how often that is repeated.
    above: u64,
    repeated: u64,
    /// Columns of it that were read, and those up to the last with anything in it.
    columns: u64,
    row_filled: u64,
}

impl Area {
    fn begin(&mut self, e: &BytesStart<'_>, holds: bool) {
        match e.name().as_ref() {
            "table:table-row" => {
                self.repeated = repeats(e, "table:number-rows-repeated");
                (self.columns, self.row_filled) = (0, 0);
            }
            "table:table-cell" | "table:covered-table-cell" => {
                let repeated = repeats(e, "table:number-columns-repeated");
                self.columns = self.columns.saturating_add(repeated);
                if holds || has_value(e) {
                    self.row_filled = self.columns;
                }
            }
            _ => {}
        }
    }

    fn end(&mut self, name: &str) {
        match name {
            "table:table-row" => {
                self.above = self.above.saturating_add(self.repeated);
                if self.row_filled > 0 {
                    self.filled = (self.above, self.filled.1.max(self.row_filled));
                }
            }
            "table:table" => *self = Area::default(),
            _ => {}
        }
    }

    fn cells(&self) -> u64 {
        let (rows, columns) = self.filled;
        rows.saturating_mul(columns.max(self.row_filled))
    }
}

fn repeats(e: &BytesStart<'_>, key: &str) -> u64 {
    let found = e.try_get_attribute(key).ok().flatten();
    // what is no number, the library refuses
    found.and_then(|a| a.value.parse().ok()).unwrap_or(1)
}

fn has_value(e: &BytesStart<'_>) -> bool {
    let says = |key: &str| key.starts_with("office:") || key == "table:formula";
    let mut attributes = e.attributes();
    attributes.any(|a| a.is_ok_and(|a| says(a.key.as_ref())))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(rows: &str) -> u64 {
        let mut reader = Reader::from_str(rows);
        let mut area = Area::default();
        loop {
            match reader.read_event().unwrap() {
                Event::Start(e) => area.begin(&e, true),
                Event::Empty(e) => {
                    area.begin(&e, false);
                    area.end(e.name().as_ref());
                }
                Event::End(e) => area.end(e.name().as_ref()),
                Event::Eof => return area.cells(),
                _ => {}
            }
        }
    }

    #[test]
    fn an_area_reaches_to_its_last_filled_row_and_column() {
        let empty = "<table:table-row table:number-rows-repeated=\"1000000\"><table:table-cell \
            table:number-columns-repeated=\"16384\"/></table:table-row>";
        let one = "<table:table-row><table:table-cell/><table:table-cell office:value-type=\"float\" \
            office:value=\"1\"/><table:table-cell table:number-columns-repeated=\"9\"/></table:table-row>";
        let text = "<table:table-row table:number-rows-repeated=\"3\"><table:table-cell \
            table:number-columns-repeated=\"4\"><text:p>x</text:p></table:table-cell></table:table-row>";
        assert_eq!(cells(empty), 0);
        assert_eq!(cells(&[one, empty].concat()), 2);
        assert_eq!(cells(&[one, text, empty].concat()), 16);
        assert_eq!(cells(&[empty, one].concat()), 2_000_002);
    }
}

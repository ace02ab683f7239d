//! Rows on their way from the confined reader.

use super::task::{ROWS_MIB, Tables, rows_file};
use csv::Writer;
use std::error::Error;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

/// Takes the rows of one table: its cells and, behind them, the number of the row.
pub(crate) struct Sink {
    rows: Writer<BufWriter<File>>,
    /// Bytes that may still be written.
    left: u64,
    any: bool,
}

impl Sink {
    pub(crate) fn new(folder: &Path, place: usize) -> std::io::Result<Self> {
        let file = File::create(folder.join(rows_file(place)))?;
        let rows = csv::WriterBuilder::new()
            .flexible(true)
            .from_writer(BufWriter::new(file));
        Ok(Sink {
            rows,
            // a little less than the system's own bound, which would end the process
            left: (ROWS_MIB - 1) << 20,
            any: false,
        })
    }

    /// Writes a row; one without anything in it is left out, as sheets are long below their data.
    pub(crate) fn row(
        &mut self,
        cells: &[impl AsRef<str>],
        number: u64,
    ) -> Result<(), Box<dyn Error>> {
        let filled = cells.iter().rposition(|c| !c.as_ref().trim().is_empty());
        let Some(last) = filled else {
            return Ok(());
        };
        let cells = &cells[..=last];
        let number = number.to_string();
        // each cell may need quotes, and at worst all of it is quotes
        let bytes = cells
            .iter()
            .map(|c| 2 * c.as_ref().len() as u64 + 3)
            .sum::<u64>()
            + 20;
        let left = self.left.checked_sub(bytes);
        self.left =
            left.ok_or_else(|| format!("as text its rows take more than {ROWS_MIB} MiB"))?;
        self.any = true;
        let fields = cells.iter().map(|c| c.as_ref().as_bytes());
        self.rows.write_record(fields.chain([number.as_bytes()]))?;
        Ok(())
    }
}

impl Tables {
    /// Keeps a table that holds anything.
    pub(crate) fn keep(&mut self, mut sink: Sink, name: String) -> Result<(), Box<dyn Error>> {
        sink.rows.flush()?;
        sink.rows.into_inner().map_err(|e| e.to_string())?.flush()?;
        if sink.any {
            self.names.push(name);
        }
        Ok(())
    }
}

/// A number as people write it: without a fraction where it has none.
pub(crate) fn number(number: f64) -> String {
    // beyond this a double has no room for single units
    const WHOLE: f64 = 9_007_199_254_740_992.0;
    match number {
        n if n.fract() == 0.0 && n.abs() < WHOLE => (n as i64).to_string(),
        n => n.to_string(),
    }
}

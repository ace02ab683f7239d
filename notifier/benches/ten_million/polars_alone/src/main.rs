//! Polars alone: the file read whole, and its numbers added up by site, date and species. Cells
//! that are no number or date become nothing; nobody is told.

use polars_core::prelude::*;
use polars_io::prelude::*;
use std::time::Instant;

fn main() -> PolarsResult<()> {
    let path = std::env::args().nth(1).expect("the file");
    let start = Instant::now();
    let kinds = Schema::from_iter([
        Field::new("Date".into(), DataType::Date),
        Field::new("Number".into(), DataType::UInt32),
    ]);
    let frame = CsvReadOptions::default()
        .with_schema_overwrite(Some(kinds.into()))
        .with_ignore_errors(true)
        .try_into_reader_with_file_path(Some(path.into()))?
        .finish()?;
    let read = start.elapsed().as_secs_f64();
    let groups = frame.group_by(["Place", "Date", "Species"])?;
    #[allow(deprecated)] // eager, as the reading is; what replaces it is lazy
    let sums = groups.select(["Number"]).sum()?;
    let seconds = start.elapsed().as_secs_f64();
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kib = peak
        .and_then(|p| p.split_whitespace().next())
        .unwrap_or("0");
    println!(
        "{seconds} {kib} {} rows read in {read:.2} s, {} groups, {:?}",
        frame.height(),
        sums.height(),
        frame.dtypes()
    );
    Ok(())
}

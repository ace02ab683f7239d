//! A source's accepted rows written as a Parquet file by polars.

use super::error::StoreError;
use super::frames::{self, CountFrames, SiteRows};
use super::sweep::PARTIAL;
use crate::full::Noting;
use crate::source::{Batch, TemperatureRows, VisitRows};
use polars::prelude::*;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::mpsc::sync_channel;

/// Rows of a row group, the least that is read for a site.
const ROWS_A_GROUP: usize = 1 << 17;

/// Row groups that may wait to be written: one is made while another is written.
const GROUPS_WAITING: usize = 1;

/// What became of a batch's rows.
pub(super) struct Written {
    /// Length of the file.
    pub(super) bytes: u64,
    /// Where the rows of each site stand; of counts alone.
    pub(super) sites: Vec<SiteRows>,
}

/// Writes the rows of a batch.
pub(super) fn write(path: &Path, batch: &Batch) -> Result<Written, StoreError> {
    let (bytes, sites) = write_whole(path, |file| groups(batch, file))?;
    Ok(Written { bytes, sites })
}

/// Writes rows that are put together already; the length of the file.
pub(super) fn write_frame(path: &Path, frame: &mut DataFrame) -> Result<u64, StoreError> {
    let (bytes, _) = write_whole(path, |file| {
        ParquetWriter::new(file)
            .with_statistics(StatisticsOptions::empty())
            .with_row_group_size(Some(ROWS_A_GROUP))
            .finish(frame)
    })?;
    Ok(bytes)
}

/// Writes the file beside its place, makes sure of it on the disk and moves it there; its length.
fn write_whole<T>(
    path: &Path,
    write: impl FnOnce(&mut Noting<BufWriter<&File>>) -> PolarsResult<T>,
) -> Result<(u64, T), StoreError> {
    let mut partial = path.as_os_str().to_owned();
    partial.push(PARTIAL);
    let partial = PathBuf::from(partial);
    let disk = |cause| StoreError::disk(path, "written", cause);
    let file = File::create(&partial).map_err(disk)?;
    let mut buffered = Noting::new(BufWriter::new(&file));
    let written = write(&mut buffered).map_err(|e| disk(buffered.cause(e)))?;
    buffered.flush().map_err(disk)?;
    drop(buffered);
    file.sync_all().map_err(disk)?;
    let bytes = file.metadata().map_err(disk)?.len();
    std::fs::rename(&partial, path).map_err(disk)?;
    sync_folder(path).map_err(disk)?;
    Ok((bytes, written))
}

/// Elsewhere than on Unix a folder cannot be opened, and a move is made sure of by the system.
fn sync_folder(path: &Path) -> std::io::Result<()> {
    match path.parent() {
        Some(folder) if cfg!(unix) => File::open(folder)?.sync_all(),
        _ => Ok(()),
    }
}

/// All rows of a batch at once, as its file would hold them.
pub(super) fn frame(batch: &Batch) -> PolarsResult<DataFrame> {
    let frames = Frames::of(batch)?;
    frames.frame(0..frames.len())
}

enum Frames<'b> {
    Counts(Box<CountFrames<'b>>),
    Visits(&'b VisitRows),
    Temperature(&'b TemperatureRows),
}

impl<'b> Frames<'b> {
    fn of(batch: &'b Batch) -> PolarsResult<Self> {
        Ok(match batch {
            Batch::Counts(rows) => Frames::Counts(Box::new(CountFrames::new(rows)?)),
            Batch::Visits(rows) => Frames::Visits(rows),
            Batch::Temperature(rows) => Frames::Temperature(rows),
        })
    }

    fn len(&self) -> usize {
        match self {
            Frames::Counts(frames) => frames.len(),
            Frames::Visits(rows) => rows.line.len(),
            Frames::Temperature(rows) => rows.line.len(),
        }
    }

    fn frame(&self, part: Range<usize>) -> PolarsResult<DataFrame> {
        match self {
            Frames::Counts(frames) => frames.frame(part),
            Frames::Visits(rows) => frames::visits(rows, part),
            Frames::Temperature(rows) => frames::temperatures(rows, part),
        }
    }

    fn sites(&self) -> Vec<SiteRows> {
        match self {
            Frames::Counts(frames) => frames.sites(),
            Frames::Visits(_) | Frames::Temperature(_) => Vec::new(),
        }
    }
}

/// Makes the columns of a row group while those before it are written.
fn groups(batch: &Batch, file: &mut (impl Write + Send)) -> PolarsResult<Vec<SiteRows>> {
    let frames = &Frames::of(batch)?;
    let writer = ParquetWriter::new(file).with_statistics(StatisticsOptions::empty());
    let mut writer = writer.batched(frames.frame(0..0)?.schema())?;
    let parts = (0..frames.len()).step_by(ROWS_A_GROUP);
    let parts = parts.map(|first| first..frames.len().min(first + ROWS_A_GROUP));
    std::thread::scope(|scope| {
        let (made, to_write) = sync_channel(GROUPS_WAITING);
        scope.spawn(move || {
            for part in parts {
                if made.send(frames.frame(part)).is_err() {
                    return; // the writing failed
                }
            }
        });
        to_write
            .into_iter()
            .try_for_each(|frame| writer.write_batch(&frame?))
    })?;
    writer.finish()?;
    Ok(frames.sites())
}

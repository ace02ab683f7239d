//! What the store knows of former loads, by which a file need not be read again.

use crate::load::{Content, Prepared, is_fully_reported, still};
use crate::store::{BatchRow, SeenFile, Store, StoreError, UndoneBatch};
use crate::undo;
use config::settings::{Source, Workspace};

/// What the store knows of former loads.
#[derive(Default)]
pub(crate) struct Known {
    /// Batches in use.
    pub(crate) kept: Vec<BatchRow>,
    /// Those that were undone.
    undone: Vec<UndoneBatch>,
    /// Files as they were looked at.
    seen: Vec<SeenFile>,
    /// Load files even if their batches were undone.
    again: bool,
}

impl Known {
    pub(crate) fn of(store: Option<&Store>, again: bool) -> Result<Self, StoreError> {
        let Some(store) = store else {
            return Ok(Known::default());
        };
        Ok(Known {
            kept: store.batches()?,
            undone: store.undone()?,
            seen: store.seen_files()?,
            again,
        })
    }

    /// The batch in use of a source.
    fn in_use(&self, source: &str) -> Option<&BatchRow> {
        self.kept.iter().find(|b| b.source == source)
    }

    /// SHA-256 of a source's content where its file looks as it did when that was looked at.
    pub(crate) fn content_of(&self, source: &Source, stamp: Option<&str>) -> Option<&str> {
        let stamp = stamp.filter(|_| !self.again)?;
        let alike = |s: &&SeenFile| s.source == source.id && s.stamp == stamp;
        let seen = self.seen.iter().find(alike)?;
        Some(&seen.file_sha256)
    }

    /// The batch in use if it holds that file, read in that way.
    pub(crate) fn same(&self, source: &Source, (file, mapping): (&str, &str)) -> Option<&BatchRow> {
        let same = |b: &&BatchRow| b.file_sha256 == file && b.mapping_sha256 == mapping;
        self.in_use(&source.id).filter(same)
    }

    /// The source without a look at its rows, where its file is one that the store holds or that
    /// it is to leave alone. None where the file must be read.
    pub(crate) fn held(
        &self,
        workspace: &Workspace,
        source: &Source,
        (file, mapping): (&str, &str),
    ) -> Option<Prepared> {
        let Some(same) = self.same(source, (file, mapping)) else {
            let undone = self.undone(&source.id, file)?;
            let left_alone = !self.again && undone.mapping_sha256 == mapping;
            let in_use = self.in_use(&source.id);
            return left_alone.then(|| undo::withheld(workspace, source, in_use, undone.id));
        };
        (!same.report.has_future_rows()).then(|| Prepared {
            report: still(&same.report),
            file_sha256: file.to_owned(),
            mapping_sha256: mapping.to_owned(),
            fully_reported: is_fully_reported(source),
            content: Content::Kept(Box::new(same.clone())),
            seen: None,
        })
    }

    /// The batch that held this very file and was undone, unless other files came since.
    pub(crate) fn undone(&self, source: &str, file_sha256: &str) -> Option<&UndoneBatch> {
        let before = self.in_use(source).map(|b| b.id);
        let held = |b: &&UndoneBatch| {
            b.source == source && b.file_sha256 == file_sha256 && b.replaces == before
        };
        self.undone.iter().rev().find(held)
    }
}

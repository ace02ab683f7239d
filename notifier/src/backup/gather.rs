//! The files of a backup as they are at one moment, while loads and the service go on.

use super::error::{BackupError, disk};
use crate::service::tables;
use config::SetFiles;
use config::settings::Workspace;
use ingest::{STORE_FOLDER, Store};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::time::{Duration, SystemTime};
use tempfile::TempDir;

/// What goes into the archive.
pub(super) struct Gathered {
    /// Where each file lies now, by its place below the workspace, with slashes.
    pub(super) files: BTreeMap<String, PathBuf>,
    /// Files that the settings name outside the workspace's folder.
    pub(super) outside: Vec<PathBuf>,
    /// Copies of what changes; they go when this does.
    _copies: TempDir,
}

/// Beginning of the name of the folder of copies. It lies in the store, so that a batch, whose file
/// never changes, is there a second time without being copied.
const COPIES: &str = ".backup-";
/// Copies that are older were left by a backup that was killed.
const LEFT_OVER: Duration = Duration::from_secs(24 * 3600);
/// What of the store is no table, and is replaced only by a whole one: the secrets that readers' links
/// are made with and that open the keeper's pages, and the plan of visits.
const KEPT_AS_IT_IS: [&str; 3] = ["deliveries.key", "keeper.token", crate::plan::kept::FILE];

pub(super) fn gather(workspace: &Workspace) -> Result<Gathered, BackupError> {
    let store = workspace.root.join(STORE_FOLDER);
    std::fs::create_dir_all(&store).map_err(disk(&store, "made"))?;
    clear_left_over(&store);
    let copies = tempfile::Builder::new().prefix(COPIES).tempdir_in(&store);
    let copies = copies.map_err(disk(&store, "written"))?;
    copy_store(workspace, copies.path())?;
    let mut gathered = Gathered {
        files: BTreeMap::new(),
        outside: Vec::new(),
        _copies: copies,
    };
    gathered.take_store(&store)?;
    gathered.take_settings(workspace)?;
    Ok(gathered)
}

/// The ledger with the batches that it names, and the service's tables, each as at one moment. The
/// tables come first: then a forecast that they say went out may be missing from the ledger at
/// worst, and none is there twice.
fn copy_store(workspace: &Workspace, copies: &Path) -> Result<(), BackupError> {
    if tables::place(&workspace.root).exists() {
        let conn = tables::open(&workspace.root)?;
        tables::copy_into(&conn, &copies.join(tables::FILE))?;
    }
    match Store::open_loaded(&workspace.root) {
        Ok(store) => Ok(store.copy_into(copies)?),
        // a workspace into which nothing was loaded has its settings
        Err(ingest::StoreError::Absent(_)) => Ok(()),
        Err(error) => Err(error.into()),
    }
}

impl Gathered {
    fn take_store(&mut self, store: &Path) -> Result<(), BackupError> {
        let copies = self._copies.path().to_owned();
        for entry in std::fs::read_dir(&copies).map_err(disk(&copies, "read"))? {
            let entry = entry.map_err(disk(&copies, "read"))?;
            let name = entry.file_name().to_string_lossy().into_owned();
            self.files
                .insert(format!("{STORE_FOLDER}/{name}"), entry.path());
        }
        for name in KEPT_AS_IT_IS {
            let path = store.join(name);
            if path.exists() {
                self.files.insert(format!("{STORE_FOLDER}/{name}"), path);
            }
        }
        Ok(())
    }

    /// `wingtide.toml`, and what it names that people wrote.
    fn take_settings(&mut self, workspace: &Workspace) -> Result<(), BackupError> {
        let root = &workspace.root;
        let settings = root.join(config::FILE_NAME);
        let text = std::fs::read_to_string(&settings).map_err(disk(&settings, "read"))?;
        self.files.insert(config::FILE_NAME.to_owned(), settings);
        let read = Noted::default();
        config::parse(&text, root, NotedFiles(&read))?;
        let mut named = read.0.into_inner();
        named.extend(workspace.webhooks.iter().filter_map(|w| w.template.clone()));
        named.extend(workspace.mail.iter().filter_map(|m| m.certificates.clone()));
        for path in named.into_iter().filter(|path| path.exists()) {
            match below(root, &path) {
                Some(place) => drop(self.files.insert(place, path)),
                None => self.outside.push(path),
            }
        }
        Ok(())
    }
}

/// Notes which set files the settings read.
#[derive(Default)]
struct Noted(RefCell<Vec<PathBuf>>);

struct NotedFiles<'a>(&'a Noted);

impl SetFiles for NotedFiles<'_> {
    fn text(&self, file: &Path) -> io::Result<String> {
        self.0.0.borrow_mut().push(file.to_owned());
        std::fs::read_to_string(file)
    }

    fn entries(&self, folder: &Path) -> io::Result<Vec<PathBuf>> {
        let entries = std::fs::read_dir(folder)?;
        entries.map(|entry| Ok(entry?.path())).collect()
    }
}

/// A path's place below the folder, with slashes; None where it leads out of it.
fn below(root: &Path, path: &Path) -> Option<String> {
    let inside = path.strip_prefix(root).ok()?;
    let parts = inside.components().map(|part| match part {
        Component::Normal(name) => name.to_str(),
        _ => None,
    });
    let parts: Option<Vec<&str>> = parts.collect();
    Some(parts?.join("/"))
}

/// Removes copies that a killed backup left; what cannot be removed is only untidy.
fn clear_left_over(store: &Path) {
    let entries = std::fs::read_dir(store).into_iter().flatten().flatten();
    for entry in entries {
        let ours = entry.file_name().to_string_lossy().starts_with(COPIES);
        let made = entry.metadata().and_then(|about| about.modified());
        let age = made.map(|made| SystemTime::now().duration_since(made).unwrap_or_default());
        if ours && age.is_ok_and(|age| age > LEFT_OVER) {
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_leads_out_of_the_folder_has_no_place_in_it() {
        let root = Path::new("/reserve");
        let place = |path: &str| below(root, Path::new(path));
        assert_eq!(
            place("/reserve/sets/a.toml").as_deref(),
            Some("sets/a.toml")
        );
        assert_eq!(
            place("/reserve/./sets/a.toml").as_deref(),
            Some("sets/a.toml")
        );
        assert_eq!(place("/reserve/../a.toml"), None);
        assert_eq!(place("/elsewhere/a.toml"), None);
    }
}

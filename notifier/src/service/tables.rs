//! The service's own tables, in a file of their own beside the ledger, so that a long load never
//! keeps a delivery from being recorded.

use ingest::STORE_FOLDER;
use rusqlite::Connection;
use rusqlite_migration::{M, Migrations};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The file in the store's folder.
pub const FILE: &str = "service.sqlite";

/// Each step is applied once and never changed; its number is the file's version.
const STEPS: &[&str] = &[
    include_str!("sql/001-runs.sql"),
    include_str!("sql/002-deliveries.sql"),
    include_str!("sql/003-subscribers.sql"),
    include_str!("sql/004-asked-anew.sql"),
];

/// How long another program's transaction is waited for.
const PATIENCE: Duration = Duration::from_secs(5);

/// Why the tables cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum TablesError {
    /// A folder or file cannot be made or written.
    #[error("the service's {} cannot be {doing}: {cause}", path.display())]
    Disk {
        /// Folder or file.
        path: PathBuf,
        /// What was tried.
        doing: &'static str,
        /// What the system says.
        cause: io::Error,
    },
    /// A later version of the program wrote them.
    #[error(
        "{} was written by a newer Wingtide (its version {found}, this one knows {known}): use \
         that one",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Version found.
        found: i64,
        /// Last version known.
        known: i64,
    },
    /// Another program holds them.
    #[error("the service's tables are in use by another Wingtide; try again when it is done")]
    Busy,
    /// The file is damaged, or none of ours.
    #[error(
        "the service's tables in {FILE} cannot be used ({0}); restore a backup, or move the file \
         away: then what was sent is forgotten"
    )]
    Damaged(rusqlite::Error),
    /// The work on them was broken off.
    #[error("the work on the service's tables was broken off")]
    BrokenOff,
    /// The deliveries cannot be looked at.
    #[error("{0}")]
    Deliveries(String),
    /// What stands beside the tables, such as a key, cannot be used.
    #[error("{0}")]
    Told(String),
    /// The tables cannot be brought up to date.
    #[error("the service's tables cannot be brought up to date: {0}")]
    Migration(rusqlite_migration::Error),
}

impl From<rusqlite::Error> for TablesError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode::{DatabaseBusy, DatabaseLocked};
        match error.sqlite_error_code() {
            Some(DatabaseBusy | DatabaseLocked) => TablesError::Busy,
            _ => TablesError::Damaged(error),
        }
    }
}

/// Where the tables of a workspace lie.
pub fn place(workspace_root: &Path) -> PathBuf {
    workspace_root.join(STORE_FOLDER).join(FILE)
}

/// Opens the tables of a workspace, makes them where there are none, and brings those of an older
/// version up to date, of which a copy is kept.
///
/// # Errors
/// [`TablesError`] where the folder or the file cannot be used.
pub fn open(workspace_root: &Path) -> Result<Connection, TablesError> {
    open_with(workspace_root, STEPS)
}

fn open_with(workspace_root: &Path, steps: &[&'static str]) -> Result<Connection, TablesError> {
    let folder = workspace_root.join(STORE_FOLDER);
    std::fs::create_dir_all(&folder).map_err(|cause| TablesError::Disk {
        path: folder,
        doing: "made",
        cause,
    })?;
    let path = place(workspace_root);
    let mut conn = Connection::open(&path)?;
    conn.busy_timeout(PATIENCE)?;
    // readers and the writer do not wait for one another
    conn.pragma_update(None, "journal_mode", "wal")?;
    // what was committed outlives a loss of power: a mail that went out must not go out again
    conn.pragma_update(None, "synchronous", "full")?;
    conn.pragma_update(None, "foreign_keys", true)?;
    migrate(&mut conn, &path, steps)?;
    Ok(conn)
}

fn migrate(conn: &mut Connection, path: &Path, steps: &[&'static str]) -> Result<(), TablesError> {
    let found: i64 = conn.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let known = steps.len() as i64;
    if found > known {
        let path = path.to_owned();
        return Err(TablesError::Newer { path, found, known });
    }
    if found > 0 && found < known {
        keep_copy(conn, path, found)?;
    }
    let migrations = Migrations::new(steps.iter().copied().map(M::up).collect());
    migrations.to_latest(conn).map_err(|error| match error {
        rusqlite_migration::Error::RusqliteError { err, .. } => err.into(),
        other => TablesError::Migration(other),
    })
}

/// Keeps the tables as the older version left them, whole or not at all.
fn keep_copy(conn: &Connection, path: &Path, version: i64) -> Result<(), TablesError> {
    let place = path.with_file_name(format!("service-version-{version}.sqlite"));
    let partial = place.with_extension("sqlite.partial");
    let disk = |cause| TablesError::Disk {
        path: place.clone(),
        doing: "written",
        cause,
    };
    if partial.exists() {
        std::fs::remove_file(&partial).map_err(disk)?; // SQLite writes to no file that is there
    }
    copy_into(conn, &partial)?;
    std::fs::rename(&partial, &place).map_err(disk)
}

/// A whole copy of the tables as they are at one moment, while others go on with them.
///
/// # Errors
/// [`TablesError`] where the copy cannot be written; it may be there in part.
pub fn copy_into(conn: &Connection, to: &Path) -> Result<(), TablesError> {
    conn.execute("VACUUM INTO ?1", [to.to_string_lossy()])?;
    let synced = std::fs::File::open(to).and_then(|file| file.sync_all());
    synced.map_err(|cause| TablesError::Disk {
        path: to.to_owned(),
        doing: "written",
        cause,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn version(conn: &Connection) -> i64 {
        let version = conn.pragma_query_value(None, "user_version", |row| row.get(0));
        version.expect("a version")
    }

    #[test]
    fn tables_are_made_once_and_opened_again() {
        let root = tempfile::tempdir().expect("a folder");
        let first = open(root.path()).expect("tables");
        first
            .execute(
                "INSERT INTO jobs VALUES ('load', '2026-09-07T05:30:00Z')",
                [],
            )
            .expect("a row");
        let second = open(root.path()).expect("tables beside the first connection");
        let rows = second.query_row("SELECT count(*) FROM jobs", [], |row| row.get(0));
        assert_eq!(rows, Ok(1_i64));
        assert_eq!(version(&second), STEPS.len() as i64);
    }

    #[test]
    fn tables_of_an_older_version_are_kept_beside_the_new_ones() {
        let root = tempfile::tempdir().expect("a folder");
        let older = open_with(root.path(), &STEPS[..1]).expect("tables");
        older
            .execute(
                "INSERT INTO jobs VALUES ('load', '2026-09-07T05:30:00Z')",
                [],
            )
            .expect("a row");
        drop(older);
        let more = [STEPS, &["CREATE TABLE more (id INTEGER) STRICT;"]].concat();
        let newer = open_with(root.path(), &more).expect("brought up to date");
        newer
            .execute("INSERT INTO more VALUES (1)", [])
            .expect("the new table");
        let rows = newer.query_row("SELECT count(*) FROM jobs", [], |row| row.get(0));
        assert_eq!(rows, Ok(1_i64), "what was there stays");
        let kept = Connection::open(place(root.path()).with_file_name("service-version-1.sqlite"));
        let kept = kept.expect("the copy");
        assert_eq!(version(&kept), 1);
        assert_eq!(version(&newer), STEPS.len() as i64 + 1);
    }

    #[test]
    fn tables_of_a_newer_version_are_refused_and_left_alone() {
        let root = tempfile::tempdir().expect("a folder");
        let conn = open(root.path()).expect("tables");
        conn.pragma_update(None, "user_version", 99)
            .expect("a version");
        let error = open(root.path()).expect_err("refused").to_string();
        assert!(error.contains("newer Wingtide (its version 99"), "{error}");
        assert_eq!(version(&conn), 99);
    }

    #[test]
    fn a_file_of_something_else_is_told_of() {
        let root = tempfile::tempdir().expect("a folder");
        std::fs::create_dir(root.path().join(STORE_FOLDER)).expect("the store's folder");
        std::fs::write(place(root.path()), [b'x'; 4096]).expect("a file");
        let error = open(root.path()).expect_err("refused").to_string();
        assert!(error.contains("cannot be used"), "{error}");
    }
}

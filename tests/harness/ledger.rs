//! What a ledger says, row by row.

use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags};
use std::path::Path;

/// Says nothing of counts: how files looked on the disk when they were last read, which a load that
/// changes nothing may learn anew.
const ASIDE: &str = "seen_files";

/// Every table with its rows, as text.
pub fn told(path: &Path) -> Vec<u8> {
    let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)
        .expect("the ledger opens");
    let names = "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name";
    let mut statement = conn.prepare(names).expect("tables");
    let names = statement.query_map([], |row| row.get::<_, String>(0));
    let names = names.expect("tables").map(|name| name.expect("a name"));
    let tables = names.filter(|name| name != ASIDE);
    let told = tables.map(|name| format!("{name} {:?}\n", rows(&conn, &name)));
    told.collect::<String>().into_bytes()
}

fn rows(conn: &Connection, table: &str) -> Vec<Vec<Value>> {
    let mut statement = conn
        .prepare(&format!("SELECT * FROM \"{table}\""))
        .expect("a table");
    let columns = statement.column_count();
    let row = |row: &rusqlite::Row<'_>| (0..columns).map(|i| row.get(i)).collect();
    let rows = statement.query_map([], row).expect("rows");
    rows.map(|row| row.expect("a row")).collect()
}

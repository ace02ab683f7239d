//! What became of a source's rows.

use ingest::report::{Kind, Repair, SourceReport, at, grouped};
use serde::Serialize;

/// Refused rows shown of a file; a page with more would be no help.
pub(super) const ROWS_SHOWN: usize = 2000;
/// Repaired cells shown of a kind and column.
const CELLS_SHOWN: usize = 20;

#[derive(Debug, Serialize)]
pub(super) struct SourceView {
    id: String,
    file: String,
    read_as: String,
    told: Vec<String>,
    refused: Listed,
    kept_back: Listed,
    repairs: Vec<RepairView>,
}

/// Lines, and how many more there are.
#[derive(Debug, Serialize)]
pub(super) struct Listed {
    pub(super) number: String,
    pub(super) lines: Vec<String>,
    pub(super) more: Option<String>,
}

#[derive(Debug, Serialize)]
struct RepairView {
    title: String,
    cells: Listed,
}

impl Listed {
    /// The first of them; `total` counts those that were never kept.
    pub(super) fn new(lines: impl Iterator<Item = String>, total: usize, shown: usize) -> Self {
        Listed {
            number: grouped(total as u64),
            lines: lines.take(shown).collect(),
            more: (total > shown).then(|| grouped((total - shown) as u64)),
        }
    }
}

pub(super) fn view(source: &SourceReport) -> SourceView {
    let refused = |kept_back| {
        let rows = source
            .refused
            .iter()
            .filter(move |r| r.kept_back == kept_back);
        Listed::new(
            rows.clone().map(|r| r.to_string()),
            rows.count(),
            ROWS_SHOWN,
        )
    };
    let same = if source.unchanged { ", as before" } else { "" };
    SourceView {
        id: source.id.clone(),
        file: source.file.clone(),
        read_as: format!("{}{same}", source.read_as()),
        told: told(source),
        refused: refused(false),
        kept_back: refused(true),
        repairs: source.repairs.iter().map(repair).collect(),
    }
}

fn told(source: &SourceReport) -> Vec<String> {
    let blank = match source.blank_rows {
        0 => String::new(),
        n => format!(", and {} without anything in them", grouped(n)),
    };
    let mut told = vec![format!(
        "{} rows read{blank}; {} taken, {} of them repaired.",
        grouped(source.rows),
        grouped(source.accepted),
        grouped(source.repaired)
    )];
    if source.kind == Kind::Counts {
        let birds = source.species.iter().map(|s| s.birds).sum();
        let species = source.species.len();
        told.push(format!("{} birds of {species} species.", grouped(birds)));
    }
    told.extend(source.notes.iter().map(ToString::to_string));
    told
}

fn repair(repair: &Repair) -> RepairView {
    let place = match repair.column.as_str() {
        "" => String::new(),
        column => format!(" in {column}"),
    };
    let rows = grouped(repair.rows);
    let cells = repair.examples.iter().map(|e| {
        let (written, read_as) = (visible(&e.written), visible(&e.read_as));
        format!(
            "{}: \u{201c}{written}\u{201d} read as \u{201c}{read_as}\u{201d}, rows: {}",
            at(e.file.as_deref(), e.line),
            e.rows
        )
    });
    RepairView {
        title: format!(
            "{}{place}: {rows} rows from {}",
            repair.kind.words(),
            at(repair.file.as_deref(), repair.first_line)
        ),
        cells: Listed::new(cells, repair.cells as usize, CELLS_SHOWN),
    }
}

/// Tabs and the like, which nobody sees, as `\t`.
fn visible(text: &str) -> String {
    let seen = |c: char| match c.is_control() {
        true => c.escape_default().collect::<String>(),
        false => c.to_string(),
    };
    text.chars().map(seen).collect()
}

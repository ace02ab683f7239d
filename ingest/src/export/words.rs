//! What the folder says of itself, and how counts are written.

use super::Format;
use super::folder::FIRST_LINE;
use super::outgoing::Outgoing;
use forecast::series::Count;

/// A count as Wingtide and people read it: 12, 60+, c. 120, x; None where nothing is known.
pub(super) fn written(count: Count) -> Option<String> {
    Some(match count {
        Count::Exactly(n) => n.to_string(),
        Count::AtLeast(n) => format!("{n}+"),
        Count::About(n) => format!("c. {n}"),
        Count::Present => "x".to_owned(),
        Count::Unknown => return None,
    })
}

/// The number of an exact count.
pub(super) fn exact(count: Count) -> Option<u32> {
    match count {
        Count::Exactly(n) => Some(n),
        _ => None,
    }
}

/// `present` or `absent`, the values that Darwin Core recommends for occurrenceStatus.
pub(super) fn status(count: Count) -> &'static str {
    match count.found() {
        Some(false) => "absent",
        _ => "present",
    }
}

const TABLES: &str = "\
counts     one row for each species and visit. individualCount is the number of birds where they
           were counted exactly; count is what was noted, so that nothing is lost: 60+ at least 60,
           c. 120 about 120, x found without a number. A species that has a row at a site has one
           for each fully reported visit there, with 0 where none was found. On other visits a
           species without a row is unknown.
visits     the fully reported visits, those without a bird among them. effort is in the unit of
           those who counted, mostly minutes.
temperature  daily mean, degrees Celsius.
coarse     finds of species whose place is told roughly alone: the most birds on one visit in a grid
           cell and month. Not loaded by wingtide.toml.

wingtide.toml loads the tables again: wingtide --dir THIS_FOLDER load
";

const ARCHIVE: &str = "\
darwin-core.zip is a Darwin Core Archive: visits as events, counts as occurrences with absences,
and what was searched and reported by the Humboldt Extension.

wingtide.toml loads it again: wingtide --dir THIS_FOLDER load
";

const CARE: &str = "\
Records of sensitive species and places may be left out or told roughly. Do not try to find them
out. Keep to the law and to the word of those who protect the places when you go there.
";

/// The folder's README.
pub(super) fn readme(out: &Outgoing, format: Format) -> String {
    let content = match format {
        Format::Csv | Format::Parquet => TABLES,
        Format::DarwinCore => ARCHIVE,
    };
    let keeper = out.keeper.as_ref();
    let keeper = keeper.map_or_else(String::new, |k| format!("Kept by {k}.\n"));
    format!("{FIRST_LINE}\n\n{}\n{keeper}\n{content}\n{CARE}", out.name)
}

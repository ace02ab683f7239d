//! A source, checked: its file, what it holds, and in which columns.

use super::layout::Layout;
use crate::meaning::Meaning;
use std::collections::BTreeMap;
use std::path::PathBuf;
use url::Url;

/// What a source holds.
#[derive(Debug, Clone, PartialEq)]
pub enum SourceKind {
    /// Dated counts of birds.
    Counts(CountColumns),
    /// Dated visits, which make zeros real.
    Visits(VisitColumns),
    /// Daily temperature of one or more sites.
    Temperature(TemperatureColumns),
}

/// A file to load and how to read it.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Short name used in reports.
    pub id: String,
    /// The file; for an address, the copy of what was fetched from it last.
    pub path: PathBuf,
    /// Where the file is fetched from, `http` or `https`, without a user or password.
    pub url: Option<Url>,
    /// What it holds and in which columns.
    pub kind: SourceKind,
    /// Field separator; guessed from the header line where absent.
    pub separator: Option<u8>,
    /// Encoding label (WHATWG); UTF-8 with windows-1252 as fallback where absent.
    pub encoding: Option<String>,
    /// How dates are written; settled by the file's own dates where absent.
    pub date_order: Option<DateOrder>,
    /// The site of every row, where the file has no site column.
    pub site: Option<String>,
    /// Site as the file writes it -> site id.
    pub site_names: BTreeMap<String, String>,
    /// Which part of the file is read, and how its tables are laid out.
    pub layout: Layout,
    /// What else its rows tell: purpose, completeness, observers, ages.
    pub meaning: Meaning,
}

/// The order of the parts of a written date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// 2011-05-31
    YearMonthDay,
    /// 31.05.2011
    DayMonthYear,
    /// 05/31/2011
    MonthDayYear,
}

/// How a species is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SpeciesColumns {
    /// One column, scientific or vernacular.
    One(String),
    /// Genus and epithet in two columns.
    GenusEpithet(String, String),
}

/// Columns of a counts file.
#[derive(Debug, Clone, PartialEq)]
pub struct CountColumns {
    /// Date column.
    pub date: String,
    /// Site column, unless the source names one site.
    pub site: Option<String>,
    /// Species column or columns.
    pub species: SpeciesColumns,
    /// Count column; absent where each row is one bird.
    pub count: Option<String>,
    /// Effort column (minutes, or any one unit), where the counts file carries it.
    pub effort: Option<String>,
    /// True where each dated site with a row was fully reported: a species without a row was not found.
    pub fully_reported: bool,
    /// How inexact counts are written.
    pub tokens: CountTokens,
}

/// How inexact counts are written; compared without regard to case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountTokens {
    /// Before or after a number: at least that many (">=", "+", "min").
    pub at_least: Vec<String>,
    /// Before or after a number: about that many ("c.", "ca", "~").
    pub about: Vec<String>,
    /// Instead of a number: found, not counted ("x", "present").
    pub present: Vec<String>,
    /// Instead of a number: looked for and not found ("-", "none"); an empty cell is refused unless listed.
    pub absent: Vec<String>,
}

/// Columns of a visits file. Its visits are fully reported unless a column says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitColumns {
    /// Date column.
    pub date: String,
    /// Site column, unless the source names one site.
    pub site: Option<String>,
    /// Effort column.
    pub effort: Option<String>,
}

/// Columns of a temperature file.
#[derive(Debug, Clone, PartialEq)]
pub struct TemperatureColumns {
    /// Date column.
    pub date: String,
    /// Site column; absent where the series serves the source's site, or all sites.
    pub site: Option<String>,
    /// Daily mean.
    pub mean: Option<String>,
    /// Daily minimum and maximum; at least these or a mean are there.
    pub extremes: Option<(String, String)>,
    /// Unit of the file.
    pub unit: TemperatureUnit,
}

/// Unit of a temperature file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TemperatureUnit {
    /// deg C.
    #[default]
    Celsius,
    /// deg F.
    Fahrenheit,
}

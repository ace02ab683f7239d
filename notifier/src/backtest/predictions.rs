//! Every forecast as a line of CSV: `site,species,issued,kind,target,horizon_weeks,chance,mean,cdf`.
//!
//! * `kind` is `day`, the count of one visit, or `week`, finding at least one on a week's visits;
//! * `target` is the visit's date, or the Monday of the week; week 1 begins on the issue Monday;
//! * `chance` is that of a week; empty for a day;
//! * `mean` is the count expected on the visit, `cdf` P(Y<=0);P(Y<=1);... as far as the first that
//!   reaches 0.999999, or 140; both empty for a week.
//!
//! Sites stand in the workspace's order; within them years, issue Mondays, weeks and species in
//! order, each week before its days.

use super::BacktestError;
use crate::whole_file;
use chrono::NaiveDate;
use forecast::backtest::Row;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

const COLUMNS: [&str; 9] = [
    "site",
    "species",
    "issued",
    "kind",
    "target",
    "horizon_weeks",
    "chance",
    "mean",
    "cdf",
];

/// Distributions are written up to here: 0.999999 as written, with nine digits.
const ENOUGH: f64 = 0.999_999 - 0.5e-9;

/// The file under its temporary name.
pub(super) struct Predictions {
    path: PathBuf,
    file: BufWriter<NamedTempFile>,
}

impl Predictions {
    /// Begins beside where it will stand, so that a folder that can't be written is known at once.
    pub(super) fn begin(path: &Path) -> Result<Self, BacktestError> {
        let failed = |source| BacktestError::Write {
            path: path.to_owned(),
            source,
        };
        let file = whole_file::begin(path).map_err(failed)?;
        let mut begun = Predictions {
            path: path.to_owned(),
            file: BufWriter::new(file),
        };
        begun.add(format!("{}\n", COLUMNS.join(",")).as_bytes())?;
        Ok(begun)
    }

    pub(super) fn add(&mut self, rows: &[u8]) -> Result<(), BacktestError> {
        self.file
            .write_all(rows)
            .map_err(|source| self.failed(source))
    }

    /// Puts the whole file in its place.
    pub(super) fn finish(self) -> Result<(), BacktestError> {
        let Predictions { path, file } = self;
        let failed = |source| BacktestError::Write {
            path: path.clone(),
            source,
        };
        let file = file.into_inner().map_err(|e| failed(e.into_error()))?;
        whole_file::finish(file, &path).map_err(failed)
    }

    fn failed(&self, source: std::io::Error) -> BacktestError {
        BacktestError::Write {
            path: self.path.clone(),
            source,
        }
    }
}

/// Lines of one site and year.
pub(super) struct Rows<'a> {
    site: &'a str,
    lines: csv::Writer<Vec<u8>>,
}

impl<'a> Rows<'a> {
    pub(super) fn new(site: &'a str) -> Self {
        Rows {
            site,
            lines: csv::Writer::from_writer(Vec::new()),
        }
    }

    /// Adds a forecast; `names` are the species in the site's order.
    pub(super) fn add(&mut self, names: &[&str], row: &Row) -> Result<(), BacktestError> {
        let record = match row {
            Row::Week(f) => self.record(
                names[f.species],
                (f.issued, f.target),
                f.horizon_weeks,
                Of::Week(f.ours),
            ),
            Row::Night(f) => {
                let of = Of::Day(f.ours.mean, f.ours.cdf());
                self.record(names[f.species], (f.issued, f.target), f.horizon_weeks, of)
            }
        };
        Ok(self.lines.write_record(&record)?)
    }

    fn record(
        &self,
        species: &str,
        dates: (NaiveDate, NaiveDate),
        weeks: u32,
        of: Of,
    ) -> [String; 9] {
        let (kind, chance, mean, cdf) = match of {
            Of::Week(chance) => ("week", digits(chance), String::new(), String::new()),
            Of::Day(mean, cdf) => ("day", String::new(), digits(mean), steps(&cdf)),
        };
        [
            self.site.to_owned(),
            species.to_owned(),
            dates.0.to_string(),
            kind.to_owned(),
            dates.1.to_string(),
            weeks.to_string(),
            chance,
            mean,
            cdf,
        ]
    }

    pub(super) fn into_bytes(self) -> Result<Vec<u8>, BacktestError> {
        self.lines
            .into_inner()
            .map_err(|e| csv::Error::from(e.into_error()).into())
    }
}

/// What is written of a forecast.
enum Of {
    Week(f64),
    Day(f64, Vec<f64>),
}

/// A distribution up to where it is as good as 1.
fn steps(cdf: &[f64]) -> String {
    let through = cdf
        .iter()
        .position(|f| *f >= ENOUGH)
        .map_or(cdf.len(), |last| last + 1);
    cdf[..through]
        .iter()
        .map(|f| digits(*f))
        .collect::<Vec<_>>()
        .join(";")
}

/// Nine significant digits, at most fifteen decimals, without needless zeros. Rounding so keeps
/// the order of numbers.
fn digits(value: f64) -> String {
    let magnitude = if value > 0.0 {
        value.log10().floor()
    } else {
        0.0
    };
    let decimals = (8.0 - magnitude).clamp(0.0, 15.0) as usize;
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_nine_digits_and_their_order() {
        for (value, text) in [
            (0.0, "0"),
            (1.0, "1"),
            (0.5, "0.5"),
            (1.0 / 3.0, "0.333333333"),
            (2.0 / 300.0, "0.00666666667"),
            (1e-20, "0"),
            (1.23456789012e-10, "0.000000000123457"),
            (1234.567890123, "1234.56789"),
            (9.999999999, "10"),
        ] {
            assert_eq!(digits(value), text);
        }
        let values: Vec<f64> = (0..4000)
            .map(|i| (f64::from(i) / 100.0 - 40.0).exp())
            .collect();
        let written: Vec<f64> = values.iter().map(|v| digits(*v).parse().unwrap()).collect();
        assert!(written.windows(2).all(|w| w[0] <= w[1]));
        assert!(
            values
                .iter()
                .zip(&written)
                .all(|(v, w)| (v - w).abs() <= 5e-9 * v + 5e-16)
        );
    }

    #[test]
    fn distributions_end_where_they_are_as_good_as_one() {
        assert_eq!(
            steps(&[0.9, 0.999_998_9, 0.999_999, 1.0]),
            "0.9;0.9999989;0.999999"
        );
        assert_eq!(steps(&[0.2, 0.999_998_999_8, 0.999_999_9]), "0.2;0.999999");
        assert_eq!(steps(&[0.2, 0.5]), "0.2;0.5");
        assert_eq!(steps(&[1.0, 1.0]), "1");
    }

    #[test]
    fn a_file_left_unfinished_is_no_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("p.csv");
        std::fs::write(&path, "old").unwrap();
        let mut begun = Predictions::begin(&path).unwrap();
        begun.add(b"MP,").unwrap();
        drop(begun);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        Predictions::begin(&path).unwrap().finish().unwrap();
        assert_eq!(
            std::fs::read_to_string(&path).unwrap(),
            format!("{}\n", COLUMNS.join(","))
        );
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        assert!(Predictions::begin(&folder.path().join("no/such.csv")).is_err());
    }
}

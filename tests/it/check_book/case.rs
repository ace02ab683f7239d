//! One entry of the check book, and the tables it draws on.

use super::table::Table;
use harness::places;
use serde_json::Value;
use std::path::PathBuf;

/// Why a check gives no answer.
#[derive(Debug)]
pub enum Trouble {
    /// Its table is under a licence that keeps it out of this repository, and absent here.
    Absent(String),
    /// It can't be computed.
    Failed(String),
}

/// What was found, in the shape of the check's `expected`.
pub type Found = Result<Value, Trouble>;

impl<E: std::fmt::Display> From<E> for Trouble {
    fn from(error: E) -> Self {
        Trouble::Failed(error.to_string())
    }
}

/// Tables under the GPL, or of no clear licence, that stay out of this repository.
const KEPT_OUT: &[&str] = &[
    "diabetes_scaled",
    "epil",
    "fisher_b1_icu_arrivals",
    "insurance",
    "ldeaths",
    "nottem",
    "quine",
    "strike_weeks",
    "usaccdeaths",
    "van_killed",
    "warpbreaks",
];

/// One entry.
pub struct Case<'a> {
    /// Its id.
    pub id: &'a str,
    /// `inputs`
    pub inputs: &'a Value,
    /// `expected`
    pub expected: &'a Value,
    /// All entries of the topic.
    pub topic: &'a [Value],
    /// The folder of the check book.
    pub folder: &'a PathBuf,
}

impl Case<'_> {
    /// A text among the inputs.
    pub fn text(&self, key: &str) -> Result<&str, Trouble> {
        let found = self.inputs[key].as_str();
        found.ok_or_else(|| Trouble::Failed(format!("{key} is no text: {}", self.inputs[key])))
    }

    /// A number among the inputs.
    pub fn number(&self, key: &str) -> Result<f64, Trouble> {
        let found = self.inputs[key].as_f64();
        found.ok_or_else(|| Trouble::Failed(format!("{key} is no number: {}", self.inputs[key])))
    }

    /// Numbers among the inputs.
    pub fn numbers(&self, key: &str) -> Result<Vec<f64>, Trouble> {
        numbers(&self.inputs[key])
    }

    /// The table that the inputs name under `csv`.
    pub fn table(&self) -> Result<Table, Trouble> {
        let name = self.text("csv")?;
        let beside = places::shared("checks").map(|checks| checks.join(name));
        let places = [Some(self.folder.join(name)), beside];
        let path = places.into_iter().flatten().find(|p| p.exists());
        match path {
            Some(path) => Ok(Table::read(&path)?),
            None if KEPT_OUT.contains(&stem(name)) => Err(Trouble::Absent(name.to_owned())),
            None => Err(Trouble::Failed(format!("{name} is absent"))),
        }
    }
}

/// "data/quine.csv" -> "quine"
pub fn stem(csv: &str) -> &str {
    let file = csv.rsplit('/').next().unwrap_or(csv);
    file.strip_suffix(".csv").unwrap_or(file)
}

/// A JSON list of numbers.
pub fn numbers(list: &Value) -> Result<Vec<f64>, Trouble> {
    let one = |v: &Value| v.as_f64();
    let found: Option<Vec<f64>> = list.as_array().and_then(|l| l.iter().map(one).collect());
    found.ok_or_else(|| Trouble::Failed(format!("not a list of numbers: {list}")))
}

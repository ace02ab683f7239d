//! Tables as R writes them: text and factors in quotes, numbers bare.

use std::path::Path;

/// A table by columns.
#[derive(Debug)]
pub struct Table {
    names: Vec<String>,
    columns: Vec<Vec<String>>,
    quoted: Vec<bool>,
}

impl Table {
    /// Reads a table; fields hold no commas.
    pub fn read(path: &Path) -> Result<Self, csv::Error> {
        let mut reader = csv::ReaderBuilder::new().quoting(false).from_path(path)?;
        let bare = |field: &str| field.trim_matches('"').to_owned();
        let names: Vec<String> = reader.headers()?.iter().map(bare).collect();
        let mut columns = vec![Vec::new(); names.len()];
        let mut quoted = vec![false; names.len()];
        for row in reader.records() {
            for (i, field) in row?.iter().enumerate() {
                quoted[i] |= field.starts_with('"');
                columns[i].push(bare(field));
            }
        }
        Ok(Table {
            names,
            columns,
            quoted,
        })
    }

    /// Rows.
    pub fn len(&self) -> usize {
        self.columns.first().map_or(0, Vec::len)
    }

    fn index(&self, name: &str) -> Result<usize, String> {
        let found = self.names.iter().position(|n| n == name);
        found.ok_or_else(|| format!("no column {name} among {:?}", self.names))
    }

    /// Does the table have the column?
    pub fn has(&self, name: &str) -> bool {
        self.names.iter().any(|n| n == name)
    }

    /// A column as text.
    pub fn text(&self, name: &str) -> Result<&[String], String> {
        Ok(&self.columns[self.index(name)?])
    }

    /// A column as numbers.
    pub fn numbers(&self, name: &str) -> Result<Vec<f64>, String> {
        let one = |s: &String| s.parse().map_err(|_| format!("{name} holds {s}"));
        self.text(name)?.iter().map(one).collect()
    }

    /// A column as dates.
    pub fn dates(&self, name: &str) -> Result<Vec<chrono::NaiveDate>, String> {
        let one = |s: &String| s.parse().map_err(|_| format!("{name} holds {s}"));
        self.text(name)?.iter().map(one).collect()
    }

    /// Is the column a factor: written in quotes?
    pub fn is_factor(&self, name: &str) -> Result<bool, String> {
        Ok(self.quoted[self.index(name)?])
    }
}

//! The file's sites, and their places where it has coordinates.

use super::columns::Columns;
use super::sheet::Sheet;
use config::nearest::folded;
use std::collections::BTreeMap;

/// Degrees between coordinates that are still of one site; 0.05 is about 5 km.
const ONE_SITE: f64 = 0.05;

/// A site found in the file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FoundSite {
    pub(super) id: String,
    /// As the file writes it most; None where it has no site column.
    pub(super) written: Option<String>,
    pub(super) rows: usize,
    /// Degrees north and east, where the file tells them and they agree.
    pub(super) place: Option<(f64, f64)>,
}

/// Sites in the order of their rows; one without a name where no column tells.
pub(super) fn find(sheet: &Sheet, columns: &Columns) -> Vec<FoundSite> {
    let Some(column) = columns.site else {
        return vec![FoundSite {
            id: "my-site".to_owned(),
            written: None,
            rows: sheet.rows.len(),
            place: place(sheet, columns, |_| true),
        }];
    };
    // Writings that differ in case and blanks alone are one site.
    let mut sites: Vec<(String, &str, usize)> = Vec::new();
    for (written, rows) in sheet.tally(column) {
        match sites.iter_mut().find(|(name, ..)| *name == folded(written)) {
            Some(site) => site.2 += rows,
            None => sites.push((folded(written), written, rows)),
        }
    }
    let mut ids: BTreeMap<String, usize> = BTreeMap::new();
    sites
        .into_iter()
        .map(|(name, written, rows)| FoundSite {
            id: free_id(slug(written), &mut ids),
            written: Some(written.to_owned()),
            rows,
            place: place(sheet, columns, |row| {
                row.get(column).is_some_and(|cell| folded(cell) == name)
            }),
        })
        .collect()
}

/// Small letters, digits and hyphens.
fn slug(written: &str) -> String {
    let sign = |c: char| {
        if c.is_ascii_alphanumeric() {
            c.to_ascii_lowercase()
        } else {
            '-'
        }
    };
    let text: String = written.chars().map(sign).collect();
    let parts: Vec<&str> = text.split('-').filter(|p| !p.is_empty()).collect();
    match parts.is_empty() {
        true => "site".to_owned(),
        false => parts.join("-"),
    }
}

fn free_id(slug: String, ids: &mut BTreeMap<String, usize>) -> String {
    let number = ids.entry(slug.clone()).or_default();
    *number += 1;
    if *number == 1 {
        slug
    } else {
        format!("{slug}-{number}")
    }
}

/// The middle of a site's coordinates, where they lie close together.
fn place(
    sheet: &Sheet,
    columns: &Columns,
    of_site: impl Fn(&csv::StringRecord) -> bool,
) -> Option<(f64, f64)> {
    let (latitude, longitude) = columns.coordinates?;
    let own = || sheet.rows.iter().filter(|row| of_site(row));
    let middle = |column: usize| {
        let numbers = own().filter_map(|row| row.get(column)?.parse::<f64>().ok());
        let mut numbers: Vec<f64> = numbers.filter(|d| d.is_finite()).collect();
        numbers.sort_by(f64::total_cmp);
        let (first, last) = (numbers.first()?, numbers.last()?);
        (last - first <= ONE_SITE).then(|| numbers[numbers.len() / 2])
    };
    Some((middle(latitude)?, middle(longitude)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids() {
        let mut ids = BTreeMap::new();
        assert_eq!(free_id(slug("Long Bank (N)"), &mut ids), "long-bank-n");
        assert_eq!(free_id(slug("long bank - n"), &mut ids), "long-bank-n-2");
        assert_eq!(slug("\u{6e7f}\u{5730}"), "site");
    }
}

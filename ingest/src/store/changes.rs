//! How the rows of a source changed from one batch to the next.

use super::few_words::Texts;
use super::{BatchRow, Store, columns, written};
use crate::report::Changes;
use crate::source::Batch;
use polars::prelude::*;
use std::cmp::Ordering;
use std::hash::{DefaultHasher, Hash, Hasher};

/// What a row is about; everything else that both batches hold is what it says.
const ABOUT: [&str; 3] = ["date", "site", "species"];

/// Where a row stands in its file, how a name is spelt there and what is kept of who observed, which
/// says nothing of the birds.
const ASIDE: [&str; 3] = ["line", "written", "observer"];

impl Store {
    /// Rows that came, went or say something else. None where the former rows cannot be read:
    /// a damaged batch must not stop the one that replaces it.
    pub(crate) fn changes(&self, former: &BatchRow, batch: &Batch) -> Option<Changes> {
        let old = columns::whole(&self.folder, former).ok()?;
        let new = written::frame(batch).ok()?;
        let (added, changed, removed) = compare(&old, &new).ok()?;
        Some(Changes {
            since: former.id,
            added,
            changed,
            removed,
        })
    }
}

fn compare(old: &DataFrame, new: &DataFrame) -> PolarsResult<(u64, u64, u64)> {
    let shared: Vec<&str> = old
        .get_column_names()
        .into_iter()
        .map(PlSmallStr::as_str)
        .filter(|name| new.column(name).is_ok() && !ASIDE.contains(name))
        .collect();
    let (about, says): (Vec<&str>, Vec<&str>) = shared.into_iter().partition(|n| ABOUT.contains(n));
    let rows = |frame: &DataFrame| -> PolarsResult<Vec<Hashed>> {
        let pairs = hashes(frame, &about)?
            .into_iter()
            .zip(hashes(frame, &says)?);
        let mut rows: Vec<Hashed> = pairs.collect();
        rows.sort_unstable();
        Ok(rows)
    };
    Ok(differences(&rows(old)?, &rows(new)?))
}

/// Hashes of what a row is about and of what it says. Of 64 bits each: among ten million rows,
/// that any two differ and hash alike has a chance of 3 in a million.
type Hashed = (u64, u64);

/// A hash of each row's cells in the columns.
fn hashes(frame: &DataFrame, columns: &[&str]) -> PolarsResult<Vec<u64>> {
    let mut rows = vec![0; frame.height()];
    for name in columns {
        let column = frame.column(name)?;
        match column.dtype() {
            DataType::String | DataType::Enum(..) => mix(&mut rows, Texts::of(column)?.iter()),
            DataType::UInt32 => mix(&mut rows, column.u32()?.iter()),
            DataType::Date => mix(&mut rows, column.date()?.physical().iter()),
            DataType::Float64 => {
                let bits = column.f64()?.iter().map(|x| x.map(f64::to_bits));
                mix(&mut rows, bits);
            }
            _ => {
                let text = column.cast(&DataType::String)?;
                mix(&mut rows, text.str()?.iter());
            }
        }
    }
    Ok(rows)
}

fn mix<T: Hash>(rows: &mut [u64], cells: impl Iterator<Item = T>) {
    for (row, cell) in rows.iter_mut().zip(cells) {
        let mut hasher = DefaultHasher::new();
        (*row, cell).hash(&mut hasher);
        *row = hasher.finish();
    }
}

/// Rows added, changed and removed between two sorted lists. Rows about the same thing are paired:
/// as many as both lists have of it, and that do not say the same, changed.
fn differences(old: &[Hashed], new: &[Hashed]) -> (u64, u64, u64) {
    let (mut added, mut changed, mut removed) = (0, 0, 0);
    let mut olds = old.chunk_by(|a, b| a.0 == b.0).peekable();
    let mut news = new.chunk_by(|a, b| a.0 == b.0).peekable();
    loop {
        let order = match (olds.peek(), news.peek()) {
            (None, None) => return (added, changed, removed),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (Some(old), Some(new)) => old[0].0.cmp(&new[0].0),
        };
        let old = if order.is_le() { olds.next() } else { None };
        let new = if order.is_ge() { news.next() } else { None };
        let (old, new) = (old.unwrap_or_default(), new.unwrap_or_default());
        let alike = alike(old, new);
        let (gone, come) = (old.len() as u64 - alike, new.len() as u64 - alike);
        changed += gone.min(come);
        added += come - gone.min(come);
        removed += gone - gone.min(come);
    }
}

/// Rows that stand in both of two sorted lists.
fn alike(old: &[Hashed], new: &[Hashed]) -> u64 {
    let (mut i, mut j, mut alike) = (0, 0, 0);
    while let (Some(a), Some(b)) = (old.get(i), new.get(j)) {
        alike += u64::from(a == b);
        i += usize::from(a <= b);
        j += usize::from(a >= b);
    }
    alike
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_come_go_and_change() {
        let old = [(1, 1), (1, 2), (2, 5), (3, 1), (3, 1), (5, 0)];
        let new = [(1, 2), (1, 3), (2, 5), (3, 1), (4, 1), (4, 1)];
        // of 1: 1 became 3; of 3: one of two went; 4 came twice; 5 went
        assert_eq!(differences(&old, &new), (2, 1, 2));
        assert_eq!(differences(&new, &old), (2, 1, 2));
        assert_eq!(differences(&old, &old), (0, 0, 0));
        assert_eq!(differences(&[], &new), (6, 0, 0));
    }
}

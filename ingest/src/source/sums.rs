//! Numbers of birds added up as a spreadsheet would, by which a row of totals without a word is
//! known.

use forecast::series::Count;

/// A sum, and how many rows made it what it is.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    birds: u64,
    rows: u64,
}

impl Sum {
    fn add(&mut self, birds: u32) {
        self.birds += u64::from(birds);
        self.rows += u64::from(birds > 0);
    }

    /// The same number as that of one row alone may be another bird's.
    fn is(self, birds: u32, fewest_rows: u64) -> bool {
        birds > 0 && self.birds == u64::from(birds) && self.rows >= fewest_rows
    }
}

/// Sums of the rows read so far. Only numbers count: what a sheet writes as "x" or "c. 20" is text
/// to it.
#[derive(Debug, Default)]
pub(super) struct Sums {
    all: Sum,
    since_the_last: Sum,
    by_name: Vec<Sum>,
}

impl Sums {
    /// A row's number; the name is its place where the row was taken.
    pub(super) fn add(&mut self, name: Option<u32>, count: Count) {
        let Count::Exactly(birds) = count else {
            return;
        };
        self.all.add(birds);
        self.since_the_last.add(birds);
        if let Some(place) = name.map(|name| name as usize) {
            if self.by_name.len() <= place {
                self.by_name.resize(place + 1, Sum::default());
            }
            self.by_name[place].add(birds);
        }
    }

    /// A row of totals ends what it adds up.
    pub(super) fn begin(&mut self) {
        self.since_the_last = Sum::default();
    }

    /// Is it the sum of all rows, or of those since the last row of totals?
    pub(super) fn is_of_all(&self, birds: u32) -> bool {
        self.all.is(birds, 2) || self.since_the_last.is(birds, 2)
    }

    /// Is it the sum of all rows of a name? A wide table's cell without date and place cannot be
    /// another bird, even where one row alone has that name.
    pub(super) fn is_of_name(
        &self,
        birds: u32,
        is_the_name: impl Fn(u32) -> bool,
        is_wide: bool,
    ) -> bool {
        let mut sum = Sum::default();
        for (place, of_name) in (0..).zip(&self.by_name) {
            if of_name.rows > 0 && is_the_name(place) {
                sum.birds += of_name.birds;
                sum.rows += of_name.rows;
            }
        }
        sum.is(birds, if is_wide { 1 } else { 2 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_totals_are_told_by_their_number() {
        let mut sums = Sums::default();
        for (name, count) in [
            (Some(0), Count::Exactly(12)),
            (Some(1), Count::Exactly(0)),
            (Some(2), Count::Exactly(7)),
            (None, Count::Exactly(5)),
            (Some(0), Count::About(20)),
            (Some(1), Count::Exactly(2)),
        ] {
            sums.add(name, count);
        }
        assert!(sums.is_of_all(26) && !sums.is_of_all(24) && !sums.is_of_all(0));
        let is_dunlin = |name: u32| name == 0 || name == 2;
        assert!(sums.is_of_name(19, is_dunlin, false));
        assert!(!sums.is_of_name(12, is_dunlin, false));
        let alone = |name: u32| name == 1;
        assert!(!sums.is_of_name(2, alone, false), "one row, with a number");
        assert!(sums.is_of_name(2, alone, true));
        sums.begin();
        assert!(sums.is_of_all(26));
        sums.add(Some(0), Count::Exactly(3));
        sums.add(Some(0), Count::Exactly(4));
        assert!(sums.is_of_all(7) && sums.is_of_all(33));
    }
}

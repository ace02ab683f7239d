//! Words by which rows and columns are known that add up others: they are no counts of their own.

use config::nearest::folded;
use config::settings::Source;

/// What is said of such a row.
pub(crate) const TOTALS: &str = "a row of totals, not a visit";

/// The words of a source.
pub(crate) struct TotalsWords(Vec<String>);

impl TotalsWords {
    pub(crate) fn of(source: &Source) -> Self {
        TotalsWords::new(&source.meaning.words.totals)
    }

    pub(crate) fn new(words: &[String]) -> Self {
        let words = words.iter().map(|word| folded(word));
        TotalsWords(words.filter(|word| !word.is_empty()).collect())
    }

    /// Is the cell such a word, or does it begin with one: "Total:", "Total 2024", "Sum of May"?
    pub(crate) fn begins(&self, cell: &str) -> bool {
        let cell = folded(cell);
        self.0.iter().any(|word| {
            let rest = cell.strip_prefix(word.as_str());
            rest.is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_that_begin_with_a_word_of_totals() {
        let words = TotalsWords::new(&config::meaning::Words::default().totals);
        for cell in [
            "Total",
            "TOTALS:",
            " total 2024",
            "Sum of May",
            "\u{3a3}",
            "\u{2211} 12",
            "Gesamtsumme",
            "Sub-total",
            "i alt",
        ] {
            assert!(words.begins(cell), "{cell}");
        }
        for cell in ["", "Totally wet", "Summer", "Dunlin total", "2024-05-11"] {
            assert!(!words.begins(cell), "{cell}");
        }
        assert!(!TotalsWords::new(&[String::new()]).begins("Total"));
    }
}

//! `gaps` and `visited` of a `[[site]]`: half-years that are to be taken otherwise than by their
//! records.

use crate::raw::{Key, Section};
use crate::settings::StatedHalfYears;
use std::collections::BTreeSet;

pub(crate) const GAPS: Key = Key(
    "gaps",
    r#"half-years to take as not visited, such as ["2011-H2"] for July to December 2011"#,
);
pub(crate) const VISITED: Key = Key(
    "visited",
    r#"half-years visited though nothing was recorded, such as ["2011-H1"] for January to June 2011"#,
);

/// Both lists of a site. A half-year in both is told, as it can only be one.
pub(crate) fn read(section: &Section<'_>) -> StatedHalfYears {
    let gaps = listed(section, "gaps", &BTreeSet::new());
    let visited = listed(section, "visited", &gaps);
    StatedHalfYears { gaps, visited }
}

fn listed(section: &Section<'_>, key: &str, others: &BTreeSet<(i32, u8)>) -> BTreeSet<(i32, u8)> {
    let mut halves = BTreeSet::new();
    for text in section.texts(key, false).unwrap_or_default() {
        let title = section.title();
        let written = text.get_ref();
        let wrong = match half_year(written) {
            None => format!(
                "{written:?} among {key} of {title} is no half-year; expected one such as \
                 \"2011-H1\" (January to June) or \"2011-H2\" (July to December)"
            ),
            Some(half) if others.contains(&half) => format!(
                "{written:?} stands in both gaps and visited of {title}; a half-year is either \
                 a gap or was visited"
            ),
            Some(half) if halves.insert(half) => continue,
            Some(_) => format!("{written:?} stands twice in {key} of {title}"),
        };
        section.refuse(&text, wrong, None);
    }
    halves
}

/// Year and half of `YYYY-H1` or `YYYY-H2`.
fn half_year(text: &str) -> Option<(i32, u8)> {
    let (year, half) = text.split_once("-H")?;
    let digits = year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit());
    let half = match half {
        "1" => 1,
        "2" => 2,
        _ => return None,
    };
    digits.then_some((year.parse().ok()?, half))
}

#[cfg(test)]
mod tests {
    use super::half_year;

    #[test]
    fn half_years() {
        assert_eq!(half_year("2011-H2"), Some((2011, 2)));
        assert_eq!(half_year("0987-H1"), Some((987, 1)));
        for wrong in [
            "2011", "2011-H3", "2011-h2", "11-H2", "2011-H", "+011-H1", "2011-H12",
        ] {
            assert_eq!(half_year(wrong), None, "{wrong}");
        }
    }
}

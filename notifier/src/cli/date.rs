//! A date as it is typed.

use chrono::NaiveDate;
use std::collections::BTreeSet;

/// An ISO date; of another one says what is expected, and which ISO date is meant where it can
/// be read in one way only.
pub fn read(text: &str) -> Result<NaiveDate, String> {
    let text = text.trim();
    if let Ok(date) = NaiveDate::parse_from_str(text, "%Y-%m-%d")
        && date.to_string() == text
    {
        return Ok(date);
    }
    let meant = readings(text);
    Err(match (meant.first(), meant.len()) {
        (Some(only), 1) => format!("expected a date as YYYY-MM-DD: write {only}"),
        _ => "expected a date as YYYY-MM-DD, such as 2026-09-02".to_owned(),
    })
}

/// The dates that it may mean: the year first or last, in four digits; with dots the day stands
/// before the month (common practice, no source), else either may.
fn readings(text: &str) -> BTreeSet<NaiveDate> {
    let parts: Vec<&str> = text
        .split(['.', '/', '-', ' '])
        .filter(|p| !p.is_empty())
        .collect();
    let [a, b, c] = parts[..] else {
        return BTreeSet::new();
    };
    let mut orders = Vec::new();
    if a.len() == 4 {
        orders.push((a, b, c));
    } else if c.len() == 4 {
        orders.push((c, b, a));
        if !text.contains('.') {
            orders.push((c, a, b));
        }
    }
    let date = |(year, month, day): (&str, &str, &str)| {
        NaiveDate::from_ymd_opt(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
    };
    orders.into_iter().filter_map(date).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_iso_date_is_told_where_only_one_is_meant() {
        assert_eq!(
            read("2026-09-02"),
            Ok(NaiveDate::from_ymd_opt(2026, 9, 2).unwrap())
        );
        for (typed, meant) in [
            ("2.9.2026", "2026-09-02"),
            ("02. 09. 2026", "2026-09-02"),
            ("31/8/2026", "2026-08-31"),
            ("8/31/2026", "2026-08-31"),
            ("5/5/2026", "2026-05-05"),
            ("2026/9/2", "2026-09-02"),
            ("2026-9-2", "2026-09-02"),
        ] {
            let said = read(typed).unwrap_err();
            assert_eq!(
                said,
                format!("expected a date as YYYY-MM-DD: write {meant}")
            );
        }
        for vague in [
            "2/9/2026",
            "9-2-2026",
            "2.9.26",
            "31.2.2026",
            "today",
            "",
            "2026-02-30",
        ] {
            let said = read(vague).unwrap_err();
            assert!(!said.contains("write"), "{vague}: {said}");
        }
    }
}

//! Visit dates as the ledger keeps them: in columns, as JSON of each by itself would be ten times
//! as long.

use super::{Day, Days, Search};
use chrono::{Days as Span, NaiveDate};
use config::meaning::Purpose;
use serde::{Deserialize, Serialize};

/// What one source tells of a site's dates. Columns of which no value says anything are empty.
#[derive(Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub(crate) struct KeptDays {
    /// Days since 1 January 1970.
    dates: Vec<i32>,
    /// Searches of each date, where not each has one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    searches: Vec<usize>,
    /// From here on by search.
    rows: Vec<u32>,
    /// Places in `effort_values`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    efforts: Vec<Vec<usize>>,
    /// In decimal digits that are read as the very same number again.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    effort_values: Vec<String>,
    /// True where targeted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    targeted: Vec<Option<bool>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    parties: Vec<u32>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fully_reported: Vec<Option<bool>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    unread: Vec<bool>,
}

/// Of what a source tells the dates alone, in their order.
#[derive(Debug, Deserialize)]
pub(crate) struct KeptDates {
    dates: Vec<i32>,
}

impl KeptDates {
    /// None where one lies beyond all calendars.
    pub(crate) fn dates(self) -> Option<Vec<NaiveDate>> {
        self.dates.into_iter().map(from_1970).collect()
    }
}

impl KeptDays {
    pub(crate) fn of(days: &Days) -> Self {
        let searches = || days.values().flat_map(|day| &day.searches);
        let (efforts, effort_values) = efforts(searches());
        let targeted = |s: &Search| s.purpose.map(|p| p == Purpose::Targeted);
        KeptDays {
            dates: days.keys().map(|date| since_1970(*date)).collect(),
            searches: unless_all(days.values().map(|day| day.searches.len()), 1),
            rows: searches().map(|s| s.rows).collect(),
            efforts: unless_all(efforts.into_iter(), Vec::new()),
            effort_values,
            targeted: unless_all(searches().map(targeted), None),
            parties: unless_all(searches().map(|s| s.party), 0),
            fully_reported: unless_all(searches().map(|s| s.fully_reported), None),
            unread: unless_all(searches().map(|s| s.unread), false),
        }
    }

    /// None where the columns do not fit one another.
    pub(crate) fn days(self) -> Option<Days> {
        let values = self.effort_values.iter().map(|text| text.parse().ok());
        let values: Vec<f64> = values.collect::<Option<_>>()?;
        let mut efforts = or_all(self.efforts, self.rows.len(), Vec::new())?;
        let mut targeted = or_all(self.targeted, self.rows.len(), None)?;
        let mut parties = or_all(self.parties, self.rows.len(), 0)?;
        let mut fully_reported = or_all(self.fully_reported, self.rows.len(), None)?;
        let mut unread = or_all(self.unread, self.rows.len(), false)?;
        let mut searches = self.rows.into_iter().map(|rows| {
            let efforts = efforts.next()?.into_iter().map(|e| values.get(e).copied());
            Some(Search {
                purpose: targeted.next()?.map(purpose),
                party: parties.next()?,
                rows,
                efforts: efforts.collect::<Option<_>>()?,
                fully_reported: fully_reported.next()?,
                unread: unread.next()?,
            })
        });
        let mut number = or_all(self.searches, self.dates.len(), 1)?;
        let dated = self.dates.into_iter().map(|date| {
            let number = number.next()?;
            // of exactly that length: there are many dates, and most have one
            let mut of_date = Vec::with_capacity(number.min(searches.len()));
            for _ in 0..number {
                of_date.push(searches.next()??);
            }
            Some((from_1970(date)?, Day { searches: of_date }))
        });
        let days = dated.collect::<Option<Days>>()?;
        searches.next().is_none().then_some(days)
    }
}

fn purpose(targeted: bool) -> Purpose {
    match targeted {
        true => Purpose::Targeted,
        false => Purpose::Standard,
    }
}

/// The efforts of each search as places among the different ones.
fn efforts<'s>(searches: impl Iterator<Item = &'s Search>) -> (Vec<Vec<usize>>, Vec<String>) {
    let mut values: Vec<f64> = Vec::new();
    let mut place = |effort: &f64| {
        let known = values.iter().position(|v| v.to_bits() == effort.to_bits());
        known.unwrap_or_else(|| {
            values.push(*effort);
            values.len() - 1
        })
    };
    let efforts = searches.map(|s| s.efforts.iter().map(&mut place).collect());
    (
        efforts.collect(),
        values.iter().map(f64::to_string).collect(),
    )
}

/// The values, or none where all of them are the same that is understood.
fn unless_all<T: PartialEq>(values: impl Iterator<Item = T>, understood: T) -> Vec<T> {
    let values: Vec<T> = values.collect();
    match values.iter().all(|v| *v == understood) {
        true => Vec::new(),
        false => values,
    }
}

/// The values, or so many that are understood; None where there are neither.
fn or_all<T: Clone>(values: Vec<T>, number: usize, understood: T) -> Option<std::vec::IntoIter<T>> {
    match values.len() {
        0 => Some(vec![understood; number].into_iter()),
        there => (there == number).then(|| values.into_iter()),
    }
}

fn since_1970(date: NaiveDate) -> i32 {
    date.signed_duration_since(NaiveDate::default()).num_days() as i32
}

fn from_1970(days: i32) -> Option<NaiveDate> {
    let span = Span::new(u64::from(days.unsigned_abs()));
    match days < 0 {
        true => NaiveDate::default().checked_sub_days(span),
        false => NaiveDate::default().checked_add_days(span),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::visit::OfVisit;

    fn again(days: &Days) -> Option<Days> {
        let text = serde_json::to_string(&KeptDays::of(days)).unwrap();
        serde_json::from_str::<KeptDays>(&text).unwrap().days()
    }

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn plain_days_come_back_from_few_words() {
        let mut days = Days::new();
        for day in ["1969-12-31", "1970-01-01", "2025-05-01", "2025-05-01"] {
            days.entry(date(day))
                .or_default()
                .add_row(OfVisit::default());
        }
        assert_eq!(again(&days), Some(days.clone()));
        let text = serde_json::to_string(&KeptDays::of(&days)).unwrap();
        assert_eq!(text, r#"{"dates":[-1,0,20209],"rows":[1,1,2]}"#);
        assert_eq!(again(&Days::new()), Some(Days::new()));
    }

    /// A third has no end in decimal digits; it comes back to the last bit.
    #[test]
    fn everything_that_a_day_says_comes_back() {
        let mut days = Days::new();
        let visits = [
            (Some(100.0 / 3.0), Some(Purpose::Targeted), None, 0),
            (Some(60.0), None, Some(true), 1),
            (Some(100.0 / 3.0), None, Some(false), 1),
            (None, Some(Purpose::Standard), None, 2),
        ];
        for (place, (effort, purpose, fully_reported, party)) in visits.into_iter().enumerate() {
            let visit = OfVisit {
                effort,
                purpose,
                fully_reported,
                party,
            };
            days.entry(date("2025-05-01")).or_default().add_row(visit);
            let later = date("2025-05-02") + Span::new(place as u64);
            days.entry(later).or_default().add_row(visit);
            days.entry(later).or_default().add_unread(visit);
        }
        assert_eq!(again(&days), Some(days));
    }

    #[test]
    fn columns_that_do_not_fit_are_no_days() {
        for text in [
            r#"{"dates":[1],"rows":[1,2]}"#,
            r#"{"dates":[1,2],"rows":[1]}"#,
            r#"{"dates":[1],"searches":[2],"rows":[1]}"#,
            r#"{"dates":[1],"rows":[1],"efforts":[[0]]}"#,
            r#"{"dates":[1],"rows":[1],"efforts":[[0]],"effort_values":["x"]}"#,
            r#"{"dates":[1],"rows":[1],"unread":[true,false]}"#,
            r#"{"dates":[2147483647],"rows":[1]}"#,
        ] {
            assert_eq!(
                serde_json::from_str::<KeptDays>(text).unwrap().days(),
                None,
                "{text}"
            );
        }
    }
}

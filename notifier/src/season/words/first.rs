//! The first date of a season among those of the years.

use super::ordinal;
use crate::words::{count_of, day_month};
use forecast::season::{FirstDate, Placed};

/// The first date among those of the years; None where nobody looked, or what was not found has no
/// place.
pub fn first(f: &FirstDate) -> Option<String> {
    match f.date {
        Some(date) if f.on_first_visit => Some(format!(
            "First found on {}, on the season's first visit, so it may have come before.",
            day_month(date)
        )),
        Some(date) => Some(format!(
            "First found on {}{}.",
            day_month(date),
            place(&f.placed)
        )),
        None => not_yet(f),
    }
}

fn not_yet(f: &FirstDate) -> Option<String> {
    let Placed::NotYet { others, found } = f.placed else {
        return None;
    };
    Some(format!(
        "Not found up to the last visit, on {}; by that day it had been found in {found} of {others} \
         other years that were watched.",
        day_month(f.until?)
    ))
}

/// Behind a first date: where it stands among the years.
fn place(placed: &Placed) -> String {
    match *placed {
        Placed::Among {
            others,
            earlier,
            same,
        } => {
            let place = match earlier {
                0 => "the earliest".to_owned(),
                n => format!("the {} earliest", ordinal(n + 1)),
            };
            let shared = match same {
                0 => String::new(),
                n => format!(", a day shared with {}", count_of(n, "other", "others")),
            };
            format!(
                ", {place} of the {} years that were watched then{shared}",
                others + 1
            )
        }
        Placed::TooFewYears { others } => format!(
            "; {} watched then, too few to give it a place",
            match others {
                0 => "no other year was".to_owned(),
                1 => "1 other year was".to_owned(),
                n => format!("{n} other years were"),
            }
        ),
        Placed::NotYet { .. } | Placed::NoVisit => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::plain_spaces;
    use chrono::NaiveDate;

    #[test]
    fn a_first_date_has_its_place() {
        let found = |placed| {
            let first = FirstDate {
                date: NaiveDate::from_ymd_opt(2010, 3, 28),
                on_first_visit: false,
                until: NaiveDate::from_ymd_opt(2010, 4, 9),
                placed,
            };
            plain_spaces(&super::first(&first).unwrap())
        };
        let among = |earlier, same| Placed::Among {
            others: 11,
            earlier,
            same,
        };
        assert_eq!(
            found(among(2, 0)),
            "First found on 28 March, the 3rd earliest of the 12 years that were watched then."
        );
        assert!(found(among(0, 1)).contains("the earliest of the 12 years"));
        assert!(found(among(0, 1)).ends_with("a day shared with 1 other."));
        assert!(found(among(10, 0)).contains("11th"));
        assert!(found(Placed::TooFewYears { others: 2 }).contains("too few"));
    }

    #[test]
    fn what_was_not_found_is_told_up_to_the_last_visit_alone() {
        let none = |placed| FirstDate {
            date: None,
            on_first_visit: false,
            until: NaiveDate::from_ymd_opt(2010, 4, 9),
            placed,
        };
        let not_yet = none(Placed::NotYet {
            others: 11,
            found: 9,
        });
        assert_eq!(
            first(&not_yet).map(|said| plain_spaces(&said)).as_deref(),
            Some(
                "Not found up to the last visit, on 9 April; by that day it had been found in 9 of 11 \
                 other years that were watched."
            )
        );
        assert_eq!(first(&none(Placed::NoVisit)), None);
    }
}

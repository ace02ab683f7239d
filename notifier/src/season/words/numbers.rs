//! Days, multiples and parts in words.

use crate::words::{TIE, count_of};
use forecast::season::Estimate;

/// Days in whole numbers; of days late.
fn whole(days: f64) -> i64 {
    days.round() as i64
}

/// "4 days early", "about on time", "1 day late".
pub fn days(late: f64) -> String {
    let n = whole(late);
    let counted = count_of(n.unsigned_abs() as usize, "day", "days");
    match n {
        0 => "about on time".to_owned(),
        n if n < 0 => format!("{counted} early"),
        _ => format!("{counted} late"),
    }
}

/// "2 to 7 early", "2 early to 3 late", "0 to 3 late".
pub(super) fn days_interval(e: &Estimate) -> String {
    let (low, high) = (whole(e.low), whole(e.high));
    if high <= 0 && low < 0 {
        format!("{} to {} early", -high, -low)
    } else if low >= 0 {
        format!("{low} to {high} late")
    } else {
        format!("{} early to {high} late", -low)
    }
}

/// A multiple: "0.04", "0.6", "1.4", "12".
pub fn times(times: f64) -> String {
    match times {
        t if t < 0.095 => format!("{t:.2}"),
        t if t < 9.95 => format!("{t:.1}"),
        t => format!("{t:.0}"),
    }
}

/// A part of a passage: "under 1 %", "55 %", "over 99 %".
pub fn part(share: f64) -> String {
    match share {
        s if s < 0.005 => format!("under{TIE}1{TIE}%"),
        s if s >= 0.995 => format!("over{TIE}99{TIE}%"),
        s => format!("{:.0}{TIE}%", 100.0 * s),
    }
}

pub(super) fn part_interval(e: &Estimate) -> String {
    format!("{} to {}", part(e.low), part(e.high))
}

/// "1st", "2nd", "3rd", "11th".
pub fn ordinal(n: usize) -> String {
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::plain_spaces;

    #[test]
    fn days_say_which_way() {
        let said = |late| plain_spaces(&days(late));
        assert_eq!(said(-4.4), "4 days early");
        assert_eq!(said(0.6), "1 day late");
        assert_eq!(said(-0.4), "about on time");
        let between = |low, high| {
            days_interval(&Estimate {
                middle: 0.5 * (low + high),
                low,
                high,
            })
        };
        assert_eq!(between(-7.1, -2.2), "2 to 7 early");
        assert_eq!(between(-2.0, 3.0), "2 early to 3 late");
        assert_eq!(between(0.3, 3.0), "0 to 3 late");
        assert_eq!(between(-3.0, -0.2), "0 to 3 early");
        assert_eq!(between(-0.3, 0.2), "0 to 0 late");
    }

    #[test]
    fn parts_and_multiples_are_never_nothing() {
        assert_eq!(plain_spaces(&part(0.001)), "under 1 %");
        assert_eq!(plain_spaces(&part(0.999)), "over 99 %");
        assert_eq!(plain_spaces(&part(0.55)), "55 %");
        assert_eq!(
            (times(0.04), times(0.6), times(11.6)),
            ("0.04".into(), "0.6".into(), "12".into())
        );
    }
}

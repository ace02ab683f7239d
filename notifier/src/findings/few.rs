//! Where the few records of a scarce species lie, in words.

use super::temperature::day;
use crate::words::list;
use forecast::calendar::MonthDay;
use forecast::extremes::FewRecords;

/// "recorded here between 12 August and 3 October": the extreme records of each season, years left aside.
pub fn recorded(few: &[FewRecords]) -> Option<String> {
    let one = |s: &FewRecords| {
        let (first, last): (MonthDay, MonthDay) = (s.first.record.into(), s.last.record.into());
        match first == last {
            true => format!("on {}", day(first)),
            false => format!("between {} and {}", day(first), day(last)),
        }
    };
    let seasons: Vec<String> = few.iter().map(one).collect();
    (!seasons.is_empty()).then(|| format!("recorded here {}", list(&seasons)))
}

/// First and last dates with the estimate of where a season may begin and end.
pub fn first_and_last(few: &[FewRecords]) -> Option<String> {
    let one = |s: &FewRecords| match s.days_found {
        1 => format!("one record, {}", s.first.record.format("%-d %B %Y")),
        _ => format!("{}, {}", s.first, s.last),
    };
    let seasons: Vec<String> = few.iter().map(one).collect();
    (!seasons.is_empty()).then(|| seasons.join("; "))
}

//! Links of timing with temperature, in words.

use super::passage;
use crate::words::{count_of, day_month};
use chrono::NaiveDate;
use forecast::calendar::MonthDay;
use forecast::fit::{Passage, SpeciesFit};
use forecast::temperature::{Gate, Link};

/// What temperature says of a site's passages, a paragraph each: the links, or once that there
/// is none. `loaded`: are there temperatures of the site? `name` gives the name shown.
pub fn of_site<'a>(
    fits: impl Iterator<Item = (&'a String, &'a SpeciesFit)>,
    loaded: bool,
    name: impl Fn(&str) -> String,
) -> Vec<String> {
    let passages: Vec<(&String, &Passage)> = fits
        .flat_map(|(species, fit)| fit.passages.iter().map(move |p| (species, p)))
        .collect();
    let gates = || passages.iter().filter_map(|(_, p)| p.temperature.as_ref());
    if !loaded {
        return vec!["Temperature: none is loaded, so no link with it was looked for.".to_owned()];
    }
    if gates().next().is_none() && passages.iter().any(|(_, p)| !p.shifts.is_empty()) {
        return vec!["Temperature: not looked at yet; run: wingtide fit".to_owned()];
    }
    let looked_at = gates().filter(|g| g.looked_at()).count();
    let mut told: Vec<String> = passages
        .iter()
        .filter_map(|(species, p)| {
            let link = p.temperature.as_ref().and_then(Gate::link)?;
            Some(format!(
                "{}, {}: {}",
                name(species),
                passage(p.name),
                words(link)
            ))
        })
        .collect();
    told.insert(0, summary(looked_at, told.len()));
    told
}

fn summary(looked_at: usize, links: usize) -> String {
    let tried = count_of(looked_at, "passage", "passages");
    match (looked_at, links) {
        (0, _) => "Temperature: no passage has seasons enough to look for a link.".to_owned(),
        (_, 0) => format!(
            "Temperature: no link with temperature was found. {tried} looked at; the forecast \
             does not use it."
        ),
        _ => format!("Temperature: {tried} looked at, a link was found in {links}."),
    }
}

/// A link in a sentence: the slope with its interval, the window, and the errors with and
/// without it.
pub fn words(link: &Link) -> String {
    let window = link.window().map_or_else(String::new, |(first, last)| {
        format!(", by the mean of {} to {}", day(first), day(last))
    });
    format!(
        "{} for each deg C warmer (95 % interval {}){window}, over {}. Of seasons left out it \
         tells the shift to {:.1} days; without it, {:.1}.{}",
        days(link.slope.line.slope),
        interval(link.slope.interval),
        count_of(link.seasons, "season", "seasons"),
        link.left_out.error_days,
        link.left_out.baseline_days,
        beside_trend(link),
    )
}

/// A change over the years may be all that a link is.
fn beside_trend(link: &Link) -> &'static str {
    let slope = link.slope.line.slope;
    // less than half of it is left beside a straight change over the years: a choice
    let gone = |beside: f64| beside * slope.signum() < 0.5 * slope.abs();
    if link.slope.beside_trend.is_none_or(gone) {
        " Much of it may be a change over the years that both share."
    } else {
        ""
    }
}

/// "2.4 days earlier".
pub fn days(late: f64) -> String {
    let way = if late < 0.0 { "earlier" } else { "later" };
    format!("{:.1} days {way}", late.abs())
}

/// "1.2 to 3.4 earlier", "1.2 earlier to 0.4 later"; of days late.
pub fn interval((low, high): (f64, f64)) -> String {
    if high <= 0.0 {
        format!("{:.1} to {:.1} earlier", high.abs(), low.abs())
    } else if low >= 0.0 {
        format!("{low:.1} to {high:.1} later")
    } else {
        format!("{:.1} earlier to {high:.1} later", low.abs())
    }
}

/// A day of a common year: "3 May".
pub fn day(day: MonthDay) -> String {
    let date = NaiveDate::from_ymd_opt(2023, u32::from(day.month), u32::from(day.day));
    date.map_or_else(|| day.to_string(), day_month)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_and_intervals_say_which_way() {
        assert_eq!(days(-2.44), "2.4 days earlier");
        assert_eq!(interval((-3.4, -1.2)), "1.2 to 3.4 earlier");
        assert_eq!(interval((-1.2, 0.4)), "1.2 earlier to 0.4 later");
        assert_eq!(interval((0.5, 2.0)), "0.5 to 2.0 later");
    }

    #[test]
    fn that_nothing_was_found_is_said_once_with_how_many_were_tried() {
        let nobody = std::collections::BTreeMap::<String, SpeciesFit>::new();
        let said = |loaded| of_site(nobody.iter(), loaded, str::to_owned);
        assert!(said(false)[0].contains("none is loaded"));
        assert!(said(true)[0].contains("no passage has seasons enough"));
        assert!(summary(38, 0).contains("no link with temperature was found. 38\u{a0}passages"));
    }
}

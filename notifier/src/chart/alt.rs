//! A chart told in words.

use super::{SetChart, SpeciesCurve};
use crate::findings::temperature;
use crate::words;
use forecast::calendar::MonthDay;

/// A species is called present in numbers from this part of its highest mean.
const IN_NUMBERS: f64 = 0.1;

pub(super) fn text(chart: &SetChart) -> String {
    let mut sentences = vec![opening(chart)];
    sentences.extend(chart.species.iter().map(|s| species(chart, s)));
    sentences.push(overlap(chart));
    if !chart.without_curve.is_empty() {
        sentences.push(no_curve(chart));
    }
    words::plain_spaces(&sentences.join(" "))
}

/// Names the members that have no curve.
pub(super) fn no_curve(chart: &SetChart) -> String {
    format!(
        "No curve, too few records: {}.",
        words::list(&chart.without_curve)
    )
}

fn opening(chart: &SetChart) -> String {
    format!(
        "{} at {}: birds on a standard visit from {}, one strip a species, {} marked.",
        chart.title,
        chart.site,
        words::span(chart.first, chart.last),
        words::day_month(chart.date),
    )
}

fn species(chart: &SetChart, curve: &SpeciesCurve) -> String {
    let Some((day, most)) = curve.peak(&chart.watched) else {
        return format!(
            "{}: the site is not watched in any part of the year.",
            curve.name
        );
    };
    let highest = format!(
        "highest {} about {}",
        words::birds(most),
        temperature::day(MonthDay::of_position(f64::from(day.get())))
    );
    if chart.is_watched(chart.date) {
        let now = words::birds(curve.on(chart.date));
        format!("{}: {now} on the date, {highest}.", curve.name)
    } else {
        format!("{}: {highest}.", curve.name)
    }
}

fn overlap(chart: &SetChart) -> String {
    if !chart.is_watched(chart.date) {
        return "The site is not watched at this date of the year.".to_string();
    }
    let in_numbers = |s: &&SpeciesCurve| {
        let most = s.peak(&chart.watched).map_or(0.0, |(_, m)| m);
        most > 0.0 && s.on(chart.date) >= IN_NUMBERS * most
    };
    let about: Vec<&str> = chart
        .species
        .iter()
        .filter(in_numbers)
        .map(|s| s.name.as_str())
        .collect();
    match about.as_slice() {
        [] => "On the date every curve is below a tenth of its highest.".to_string(),
        [one] => format!("On the date only {one} is above a tenth of its highest."),
        many => format!(
            "On the date above a tenth of their highest: {}.",
            words::list(many)
        ),
    }
}

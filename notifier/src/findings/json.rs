//! What the years say, for other programs.

use forecast::calendar::MonthDay;
use forecast::extremes::{Extreme, FewRecords};
use forecast::fit::DateChanges;
use forecast::temperature::{Gate, Link};
use forecast::trend::Change;
use serde_json::{Value, json};

/// A passage's gate to temperature.
pub fn temperature(gate: &Gate) -> Value {
    match gate {
        Gate::Open(l) => link(l),
        Gate::Closed(why) => json!({
            "link": false,
            "looked_at": gate.looked_at(),
            "why": why.to_string(),
        }),
    }
}

/// An open one.
pub fn link(l: &Link) -> Value {
    json!({
        "link": true,
        "looked_at": true,
        "days_per_c": l.slope.line.slope,
        "interval": l.slope.interval,
        "beside_trend": l.slope.beside_trend,
        "window": l.window().map(|(first, last)| [first.to_string(), last.to_string()]),
        "seasons": l.seasons,
        "error_days": l.left_out.error_days,
        "usual_error_days": l.left_out.baseline_days,
        "chance": l.chance,
    })
}

/// How a passage's dates have moved.
pub fn change(c: &DateChanges) -> Value {
    json!({
        "arrival": c.arrival.as_ref().map(moved),
        "median": c.median.as_ref().map(moved),
        "departure": c.departure.as_ref().map(moved),
    })
}

fn moved(c: &Change) -> Value {
    json!({
        "days_per_decade": c.days_per_decade,
        "interval": c.interval,
        "moved": c.moved,
        "seasons": c.seasons,
        "years": c.years,
    })
}

/// First and last dates of few records.
pub fn records(few: &[FewRecords]) -> Vec<Value> {
    let one = |s: &FewRecords| {
        json!({
            "first": end(&s.first),
            "last": end(&s.last),
            "seasons": s.seasons,
            "days_found": s.days_found,
        })
    };
    few.iter().map(one).collect()
}

fn end(e: &Extreme) -> Value {
    let about = e
        .beyond
        .ok()
        .map(|b| MonthDay::of_position(b.day).to_string());
    json!({ "record": e.record.to_string(), "about": about })
}

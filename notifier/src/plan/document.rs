//! The plan as the documented JSON.

use super::{Plan, Planned, Target};
use crate::words;
use chrono::SecondsFormat;
use serde_json::{Value, json};

/// One object.
pub fn document(plan: &Plan) -> Value {
    json!({
        "from": plan.from,
        "to": plan.to,
        "today": plan.today,
        "sites": plan.sites.iter().map(|(id, _)| id).collect::<Vec<_>>(),
        "expected": whole(plan, plan.expected),
        "at_most": plan.at_most,
        "sure": plan.sure,
        "dates_to_choose_from": whole(plan, plan.candidates),
        "unwatched_dates": whole(plan, plan.unwatched),
        "visits": plan.visits.iter().map(|v| visit(plan, v)).collect::<Vec<_>>(),
        "targets": plan.targets.iter().map(|t| target(plan, t)).collect::<Vec<_>>(),
    })
}

/// What was worked out over all visits to come and all dates, as long as they are all there.
fn whole<T>(plan: &Plan, value: T) -> Option<T> {
    (!plan.parted).then_some(value)
}

fn visit(plan: &Plan, visit: &Planned) -> Value {
    let time = |t: chrono::NaiveTime| t.format("%H:%M").to_string();
    let purpose = visit.purpose.iter().map(|p| {
        json!({
            "species": plan.targets[p.target].species,
            "chance": p.chance,
            "lost": whole(plan, p.lost),
        })
    });
    json!({
        "site": plan.sites[visit.site].0,
        "date": visit.date,
        "past": visit.past,
        "start": visit.start.begin.map(|b| b.to_rfc3339_opts(SecondsFormat::Secs, true)),
        "sunrise": visit.start.sun.map(|s| time(s.0)),
        "sunset": visit.start.sun.map(|s| time(s.1)),
        "high_water": visit.start.high_water.map(|t| time(t.time)),
        "for": purpose.collect::<Vec<_>>(),
        "lost_without": whole(plan, visit.lost),
        "rain_date": visit.rain.date().map(|r| r.0),
        "lost_by_rain": visit.rain.date().and_then(|r| whole(plan, r.1)),
        "no_rain_date": visit.rain.why().map(|why| words::plain_spaces(&why.words())),
    })
}

fn target(plan: &Plan, target: &Target) -> Value {
    json!({
        "species": target.species,
        "name": target.name,
        "weight": target.weight,
        "found_on": target.found,
        "chance": whole(plan, target.chance),
        "visits_for_80": target.needed.map(|n| n[0]),
        "visits_for_90": target.needed.map(|n| n[1]),
        "visits_for_95": target.needed.map(|n| n[2]),
        "few_records": whole(plan, target.few_records),
        "out_of_reach": whole(plan, target.out_of_reach),
    })
}

//! Guidance as JSON for other programs: stable, and the same from the command line and in a post.

use super::types::{Basis, MemberGuidance, SetGuidance, WeekGuidance};
use crate::findings::Temperature;
use forecast::watched::Watched;
use forecast::year_curve::YearCurve;
use serde_json::{Value, json};

/// The week's guidance of a site, as the README documents it.
pub fn week(week: &WeekGuidance) -> Value {
    json!({
        "site": week.site,
        "week": week.week.to_string(),
        "watched": week.watched,
        "visits_assumed": week.visits_assumed,
        "sets": week.sets.iter().map(|s| set(week, s)).collect::<Vec<_>>(),
        "others": members(week, &week.others),
        "finds_alone": week.finds_alone,
        "temperature": week.findings.temperature.as_ref().map(Temperature::json),
    })
}

fn set(week: &WeekGuidance, set: &SetGuidance) -> Value {
    json!({
        "set": set.id,
        "chance_together": set.chance_together,
        "effective_birds": set.effective_birds,
        "members": members(week, &set.members),
    })
}

fn members(week: &WeekGuidance, members: &[MemberGuidance]) -> Vec<Value> {
    members.iter().map(|m| member(week, m)).collect()
}

fn member(week: &WeekGuidance, m: &MemberGuidance) -> Value {
    json!({
        "species": m.species,
        "chance_visit": m.chance_visit,
        "chance_week": m.chance_week,
        "basis": match m.basis {
            Basis::Curve => "curve",
            Basis::Frequency => "frequency",
            Basis::FindsAlone => "finds-alone",
        },
        "recorded": m.recorded,
        "share": m.share,
        "stands": m.stands,
        "records": week.findings.few_json(&m.species),
    })
}

/// A year curve, as the README documents it.
pub fn curve(curve: &YearCurve, watched: &Watched) -> Value {
    json!({
        "theta": curve.dispersion.theta(),
        "edf": curve.edf,
        "lambda": curve.lambda,
        "year_effect_sd": curve.year_effect_sd,
        "log_mean": curve.log_mean,
        "watched": watched.days().to_vec(),
    })
}

//! A season for other programs, as the README documents it.

use super::named::typed;
use super::{PassageSeason, SeasonReport, Stage};
use crate::findings::json;
use forecast::season::{Against, Estimate, Placed, Untold};
use serde_json::{Value, json};

/// The whole report.
pub fn season(report: &SeasonReport) -> Value {
    json!({
        "site": report.site,
        "date": report.date.to_string(),
        "season": report.season.map(typed),
        "lead": report.lead.as_ref().map(|lead| json!({ "nobody_looked": lead.nobody_looked })),
        "past": report.past.iter().copied().map(typed).collect::<Vec<_>>(),
        "against": match report.against {
            Against::Earlier => "earlier",
            Against::Others => "others",
        },
        "passages": report.passages.iter().map(passage).collect::<Vec<_>>(),
        "too_few": report.too_few,
        "failed": report.failed,
    })
}

fn passage(p: &PassageSeason) -> Value {
    let told = p.standing();
    let (first, last, seasons) = p.years;
    json!({
        "species": p.species,
        "passage": p.passage,
        "year": p.year,
        "stage": match p.stage {
            Stage::ToCome => "to-come",
            Stage::UnderWay => "under-way",
            Stage::Over => "over",
        },
        "counts_until": p.looked.until.map(|d| d.to_string()),
        "unknown_days": p.looked.unknown_days,
        "usual_pause": p.looked.usual_pause,
        "gaps": p.looked.gaps.iter().map(|g| [g.first.to_string(), g.last.to_string()])
            .collect::<Vec<_>>(),
        "visits": p.course.visits,
        "birds": p.course.birds,
        "usual_birds": p.course.usual_birds,
        "usual_share": p.course.usual_share,
        "days_late": told.map(|s| estimate(&s.shift)),
        "times_usual": told.map(|s| estimate(&s.times)),
        "share": told.map(|s| estimate(&s.share)),
        "odd": told.map(|s| json!({
            "chance": s.oddness.chance,
            "timing": s.oddness.timing_chance,
            "numbers": s.oddness.numbers_chance,
        })),
        "untold": p.course.standing.as_ref().err().map(|why| match why {
            Untold::NoVisit => "no-visit",
            Untold::NoBird => "no-bird",
            Untold::Vague => "vague",
            Untold::NotLooked => "not-looked",
        }),
        "first": first_date(p),
        "years": [first, last],
        "seasons": seasons,
        "change": p.change.as_ref().map(json::change),
        "temperature": p.warmth.as_ref().map(|w| {
            let mut link = json::link(&w.link);
            if let Value::Object(keys) = &mut link {
                keys.insert("expected_days".into(), json!(w.expected.map(|e| e.days)));
            }
            link
        }),
    })
}

fn estimate(e: &Estimate) -> Value {
    json!({ "middle": e.middle, "interval": [e.low, e.high] })
}

fn first_date(p: &PassageSeason) -> Value {
    let (others, earlier, same, found) = match p.first.placed {
        Placed::Among {
            others,
            earlier,
            same,
        } => (others, Some(earlier), Some(same), None),
        Placed::NotYet { others, found } => (others, None, None, Some(found)),
        Placed::TooFewYears { others } => (others, None, None, None),
        Placed::NoVisit => (0, None, None, None),
    };
    json!({
        "date": p.first.date.map(|d| d.to_string()),
        "until": p.first.until.map(|d| d.to_string()),
        "on_first_visit": p.first.on_first_visit,
        "others": others,
        "earlier": earlier,
        "same": same,
        "found": found,
    })
}

//! The plan as a table: a row for each visit.

use super::Plan;
use crate::words;
use chrono::SecondsFormat;

const HEADER: [&str; 9] = [
    "date",
    "site",
    "past",
    "start",
    "start_local",
    "high_water",
    "for",
    "lost_without",
    "rain_date",
];

/// CSV with a header.
///
/// # Errors
/// What the writer says.
pub fn csv(plan: &Plan) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for visit in &plan.visits {
        let start = &visit.start;
        let time = |t: Option<chrono::NaiveTime>| t.map(|t| t.format("%H:%M").to_string());
        let begin = start
            .begin
            .map(|b| b.to_rfc3339_opts(SecondsFormat::Secs, true));
        let purpose = visit
            .purpose
            .iter()
            .map(|p| plan.targets[p.target].name.as_str());
        writer.write_record([
            visit.date.to_string(),
            plan.sites[visit.site].0.clone(),
            visit.past.to_string(),
            begin.unwrap_or_default(),
            time(start.begin_local).unwrap_or_default(),
            time(start.high_water.map(|t| t.time)).unwrap_or_default(),
            words::plain_spaces(&purpose.collect::<Vec<_>>().join("; ")),
            format!("{:.3}", visit.lost),
            visit
                .rain
                .date()
                .map(|r| r.0.to_string())
                .unwrap_or_default(),
        ])?;
    }
    writer
        .into_inner()
        .map_err(|e| csv::Error::from(e.into_error()))
}

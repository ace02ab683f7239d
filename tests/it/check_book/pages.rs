//! Topic 11: what is asked of answers, feeds and calendars.

use super::case::{Case, Found, Trouble};
use super::{calendars, mails};
use crate::web::scene::{Answer, Pages};
use axum::http::header::{HeaderMap, HeaderName, HeaderValue};
use chrono::{DateTime, Utc};
use harness::program::Workspace;
use harness::reserve;
use notifier::web::calendar::folded;
use notifier::web::is_known;
use serde_json::{Value, json};

/// Of requests and answers.
pub fn http(case: &Case) -> Found {
    match case.id {
        "http/conditional_get" => conditional_get(case),
        _ => mails::retry_after(case),
    }
}

/// Each question with the status that we give it.
fn conditional_get(case: &Case) -> Found {
    let tag = case.text("etag")?;
    let since = DateTime::parse_from_rfc2822(case.text("last_modified")?)?.to_utc();
    let rows = case.expected.as_array().cloned().unwrap_or_default();
    let answer = |row: Value| -> Found {
        let mut answered = row.clone();
        match row["req"].as_str() {
            Some(request) => {
                let known = is_known(&fields(request)?, tag, since);
                answered["status"] = json!(if known { 304 } else { 200 });
            }
            None => answered["resp_304"] = not_modified(&row["resp_304"]),
        }
        Ok(answered)
    };
    rows.into_iter()
        .map(answer)
        .collect::<Result<Vec<_>, _>>()
        .map(Value::Array)
}

/// "Name: value + Name: value", where "future" is a date to come.
fn fields(request: &str) -> Result<HeaderMap, Trouble> {
    let mut map = HeaderMap::new();
    for field in request.split(" + ") {
        let (name, value) = field
            .split_once(": ")
            .ok_or(Trouble::Failed(field.into()))?;
        let value = value.replace("future", "Mon, 06 Apr 2099 02:30:00 GMT");
        let name = HeaderName::from_bytes(name.as_bytes())?;
        map.insert(name, HeaderValue::from_str(&value)?);
    }
    Ok(map)
}

/// The rule's own words where a page of ours keeps it, from a server so that it has a date.
fn not_modified(rule: &Value) -> Value {
    let workspace = Workspace::empty().with("wingtide.toml", reserve::settings(&[("a", "A")]));
    let pages = Pages::of(&workspace);
    let whole = pages.get("/");
    let known = pages.ask("/", &[("if-none-match", whole.field("etag"))]);
    let same = [
        "etag",
        "cache-control",
        "vary",
        "content-location",
        "expires",
        "last-modified",
    ];
    let kept = |name: &&str| whole.headers.get(*name) == known.headers.get(*name);
    // the server beneath gives every answer its date
    let fits = known.code == 304 && known.body.is_empty() && same.iter().all(kept);
    match fits {
        true => rule.clone(),
        false => json!(format!("{} {:?}", known.code, known.headers)),
    }
}

/// Each rule's own words where our feed keeps it.
pub fn atom(case: &Case) -> Found {
    let sites = [("west-hide", "West Hide")];
    let workspace = Workspace::empty().with("wingtide.toml", reserve::settings(&sites));
    let feed = Pages::of(&workspace).get("/west-hide/atom.xml");
    let (head, entries) = parts(&feed);
    let expected = case.expected;
    let listed = |key: &str, parts: &[&str]| -> Value {
        let all = expected[key].as_array().cloned().unwrap_or_default();
        let kept = |rule: &Value| {
            let name = rule.as_str().and_then(|r| r.split(' ').next());
            let name = name.unwrap_or_default();
            parts.iter().all(|part| has(part, name))
        };
        all.into_iter().filter(kept).collect()
    };
    let rule = |key: &str, kept: bool| match kept {
        true => expected[key].clone(),
        false => json!(format!("not kept in {}", feed.text())),
    };
    let kind = feed
        .field("content-type")
        .split(';')
        .next()
        .unwrap_or_default();
    Ok(json!({
        "feed": listed("feed", &[head]),
        "entry": listed("entry", &entries),
        "author": rule("author", head.contains("<author><name>A. Warden</name></author>")),
        "self_link": rule("self_link", head.contains("rel=\"self\"")),
        "entry_alternate": rule(
            "entry_alternate",
            entries.iter().all(|e| e.contains("<content") && !e.contains(" src=")),
        ),
        "media_type": kind,
    }))
}

/// What stands before the first entry, and the entries.
fn parts(feed: &Answer) -> (&str, Vec<&str>) {
    let mut parts = feed.text().split("<entry>");
    let head = parts.next().unwrap_or_default();
    (head, parts.collect())
}

/// Is the element there, once, with a content that fits its name?
fn has(part: &str, name: &str) -> bool {
    let (open, close) = (format!("<{name}>"), format!("</{name}>"));
    let mut found = part.split(open.as_str()).skip(1);
    let content = found
        .next()
        .and_then(|rest| rest.split(close.as_str()).next());
    let fits = |text: &str| match name {
        "id" => text.starts_with("tag:"),
        "updated" => {
            let date = DateTime::parse_from_rfc3339(text).map(|d| d.with_timezone(&Utc));
            date.is_ok() && text.contains('T') && !text.contains(['t', 'z'])
        }
        _ => !text.is_empty(),
    };
    found.next().is_none() && content.is_some_and(fits)
}

/// How long lines are cut, and what those who read our calendars find in broken ones.
pub fn icalendar(case: &Case) -> Found {
    match case.id {
        "icalendar/samples" => calendars::samples(case),
        _ => folding(case),
    }
}

fn folding(case: &Case) -> Found {
    let rows = case.expected.as_array().cloned().unwrap_or_default();
    let cut = |row: Value| {
        let octets = row["octets"].as_u64().unwrap_or_default() as usize;
        let folded = folded(&("x".repeat(octets) + "\r\n"));
        let lines = folded.trim_end().split("\r\n");
        // the book counts what stands behind the space of a line that goes on
        let lines: Vec<usize> = lines.map(|l| l.trim_start().len()).collect();
        json!({ "octets": octets, "physical_lines": lines })
    };
    Ok(rows.into_iter().map(cut).collect())
}

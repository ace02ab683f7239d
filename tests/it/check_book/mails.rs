//! Topic 11: the form of a mail, and the waits that a receiver of posts may ask for.

use super::case::{Case, Found, Trouble};
use chrono::{DateTime, TimeDelta, Utc};
use ingest::fetch::retry_after as read;
use mail_parser::MessageParser;
use notifier::channel::letter::{Letter, Reader, Writing};
use notifier::deliveries::{Chart, MailContents};
use notifier::digest::ReaderHtml;
use serde_json::{Value, json};

/// What would add a field of its own, were it to be believed.
const INJECTED: &str = "Week 15 at Łódź\r\nBcc: all@skerrow.example\r\n\r\nbody";

/// A mail of ours, with long lines, letters beyond ASCII and line ends where none may be.
fn mail() -> Result<Vec<u8>, Trouble> {
    let long = "Grünschenkel und Zwergstrandläufer, ".repeat(20) + "\n";
    let contents = MailContents {
        from: "Wingtide am Fluß <counts@skerrow.example>".into(),
        title: INJECTED.into(),
        list: "skerrow-ness".into(),
        subject: INJECTED.into(),
        text: long.clone(),
        html: ReaderHtml {
            head: "<p>\n".into(),
            body: long,
            tail: "</p>\n".into(),
        },
        mark: "0123456789abcdef0123456789abcdef".into(),
        charts: vec![Chart {
            id: "chart-1-1.0123@skerrow.example".into(),
            name: "chart-1-1.png".into(),
            png: "iVBORw0KGgo=".into(),
        }],
    };
    let leave_at = "https://skerrow.example".parse()?;
    let bounces = "bounces@skerrow.example".parse()?;
    let writing = Writing::new(bounces, Some(leave_at), None)?;
    let reader = Reader {
        address: "reader@skerrow.example",
        name: Some(INJECTED),
        choices: None,
        token: "AAAAB4y5Q0p1bW9ja2VkLXRva2U",
        mark: "fedcba9876543210fedcba9876543210",
    };
    let date = DateTime::parse_from_rfc3339("2026-04-06T01:30:00Z")?.to_utc();
    Ok(Letter::of(&contents, date)?.to(reader, &writing)?.bytes)
}

/// Each rule's own words where our mail keeps it; what it does instead where not.
pub fn format(case: &Case) -> Found {
    let sample = std::fs::read(case.folder.join(case.text("sample")?))?;
    let sample = MessageParser::default().parse(&sample);
    if sample.is_none_or(|s| s.message_id() != Some("2026w15.site1.42@example.org")) {
        return Err(Trouble::Failed("the sample is not read".into()));
    }
    let text = String::from_utf8(mail()?)?;
    let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
    let longest = |part: &str| part.split("\r\n").map(str::len).max().unwrap_or(0);
    let within = |limit: usize, found: usize| json!(if found <= limit { limit } else { found });
    let names: Vec<&str> = head
        .split("\r\n")
        .filter(|l| !l.starts_with([' ', '\t']))
        .filter_map(|l| Some(l.split_once(':')?.0))
        .collect();
    let times = |name: &str| {
        names
            .iter()
            .filter(|n| n.eq_ignore_ascii_case(name))
            .count()
    };
    let listed = |key: &str, kept: &dyn Fn(&str) -> bool| -> Value {
        let all = case.expected[key].as_array().cloned().unwrap_or_default();
        let kept = all.into_iter().filter(|n| n.as_str().is_some_and(kept));
        kept.collect()
    };
    let rule = |key: &str, kept: bool| match kept {
        true => case.expected[key].clone(),
        false => json!(format!("not kept in {head}")),
    };
    let mime = [
        ("MIME-Version: 1.0", head.contains("MIME-Version: 1.0")),
        ("Content-Type with charset", body.contains("charset=utf-8")),
        (
            "Content-Transfer-Encoding",
            body.contains("Content-Transfer-Encoding: quoted-printable"),
        ),
    ];
    let mime = mime.iter().filter(|(_, kept)| *kept).map(|(name, _)| *name);
    let plain = body.find("text/plain").unwrap_or(usize::MAX);
    Ok(json!({
        "max_line_octets": within(998, longest(&text)),
        "should_line": within(78, longest(&text)),
        "mandatory": listed("mandatory", &|n| times(n) == 1),
        "should": listed("should", &|n| times(n) == 1),
        "once_only": listed("once_only", &|n| times(n) <= 1),
        "mime": mime.collect::<Vec<_>>(),
        "encoded_word": rule("encoded_word", words_are_encoded(head)),
        "quoted_printable_line": within(76, quoted_lines(body)),
        "alternative_order": rule(
            "alternative_order",
            body.find("text/html").is_some_and(|html| plain < html),
        ),
        "header_injection": rule("header_injection", times("Bcc") == 0 && text.is_ascii()),
    }))
}

/// RFC 2047, 2: no encoded word of more than 75 characters, and some that are there.
fn words_are_encoded(head: &str) -> bool {
    let words = head.split_whitespace().filter(|w| w.contains("=?"));
    let words: Vec<&str> = words
        .map(|w| w.trim_matches(['<', '>', '"', ',']))
        .collect();
    let fit =
        |w: &&str| w.len() <= 75 && w.to_lowercase().starts_with("=?utf-8?") && w.ends_with("?=");
    !words.is_empty() && words.iter().all(fit) && head.is_ascii()
}

/// The longest line of the texts.
fn quoted_lines(body: &str) -> usize {
    let parts = body
        .split("Content-Transfer-Encoding: quoted-printable\r\n\r\n")
        .skip(1);
    let texts = parts.filter_map(|p| p.split("\r\n--=_").next());
    let lines = texts.flat_map(|t| t.split("\r\n"));
    lines.map(str::len).max().unwrap_or(usize::MAX)
}

/// The forms of the field by what they mean, each where it is read so.
pub fn retry_after(case: &Case) -> Found {
    let at: DateTime<Utc> = "2026-10-21T07:28:00Z".parse()?;
    let before = at - TimeDelta::hours(1);
    let seconds = |value: &str| read(value, before).map(|wait| wait.as_secs());
    let invalid = ["-5", "1.5", ""];
    let forms = case.expected.as_object().cloned().unwrap_or_default();
    let answer = |(form, meaning): (String, Value)| {
        let kept = match form.as_str() {
            "120" => seconds(&form) == Some(120),
            "-5 / 1.5 / empty" => invalid.iter().all(|value| seconds(value).is_none()),
            date => seconds(date) == Some(3600),
        };
        let found = match kept {
            true => meaning,
            false => json!(format!("{:?}", seconds(&form))),
        };
        (form, found)
    };
    Ok(Value::Object(forms.into_iter().map(answer).collect()))
}

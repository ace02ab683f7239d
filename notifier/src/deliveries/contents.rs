//! What goes out, rendered once for all who get the same and kept with the queue.

use super::DeliveryError;
use crate::digest::{
    Digest, DigestError, Figure, Notice, ReaderHtml, chart_name, content_id, fingerprint,
};
use crate::guidance::document;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use config::service::Webhook;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// A digest as a mail, but for what is each reader's own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MailContents {
    /// Who it is from, name and address.
    pub from: String,
    /// The list's title.
    pub title: String,
    /// The list's name within the sender's domain.
    pub list: String,
    /// One line.
    pub subject: String,
    /// The text, below the greeting and above how to leave.
    pub text: String,
    /// The page, around these two.
    pub html: ReaderHtml,
    /// What tells its boundaries from those of another digest's mails.
    pub mark: String,
    /// Its charts.
    pub charts: Vec<Chart>,
}

/// A picture within a mail.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Chart {
    /// Content-ID, without angle brackets.
    pub id: String,
    /// Name of the file.
    pub name: String,
    /// PNG in base64.
    pub png: String,
}

impl MailContents {
    /// Renders the digest of that key for those who want these sites.
    pub(super) fn of(
        digest: &Digest,
        key: &str,
        from: &str,
        sites: &str,
    ) -> Result<Self, DeliveryError> {
        let mark = fingerprint(key, sites);
        let domain = from.rsplit('@').next().unwrap_or_default();
        let end = format!("{mark}@{}", domain.trim_end_matches('>'));
        let chart = |(place, figure): ((usize, usize), &Figure)| Chart {
            id: content_id(place, &end),
            name: chart_name(place),
            png: STANDARD.encode(&figure.picture.png),
        };
        let charts = digest.shown_figures().into_iter().map(chart);
        Ok(MailContents {
            from: from.to_owned(),
            title: digest.title.clone(),
            list: list_name(&digest.workspace),
            subject: digest.subject()?,
            text: digest.text()?,
            html: digest.reader_html(&end)?,
            mark,
            charts: charts.collect(),
        })
    }
}

/// A name in letters, digits and hyphens, as a domain has them (RFC 2919, 3).
fn list_name(workspace: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { ' ' };
    let words: String = workspace.to_lowercase().chars().map(plain).collect();
    match words.split_whitespace().collect::<Vec<_>>().join("-") {
        none if none.is_empty() => "digest".to_owned(),
        name => name,
    }
}

/// The body of a post.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WebhookContents {
    /// Its media type.
    pub content_type: String,
    /// As it is sent and signed.
    pub body: String,
}

impl WebhookContents {
    /// The digest as our JSON, or as the webhook's own template makes of it. A template that does
    /// not fit gives a sentence.
    pub(super) fn of(
        digest: &Digest,
        key: &str,
        webhook: &Webhook,
        now: DateTime<Utc>,
    ) -> Result<Result<Self, String>, DeliveryError> {
        let document = whole(digest, key, now)?;
        let Some(path) = &webhook.template else {
            return Ok(Ok(WebhookContents {
                content_type: JSON.to_owned(),
                body: document.to_string(),
            }));
        };
        let made = std::fs::read_to_string(path)
            .map_err(|e| e.to_string())
            .and_then(|template| own(&path.to_string_lossy(), &template, &document));
        Ok(made.map_err(|why| format!("the template {}: {why}", path.display())))
    }
}

const JSON: &str = "application/json";

/// The documented JSON.
fn whole(digest: &Digest, key: &str, now: DateTime<Utc>) -> Result<Value, DigestError> {
    let sites = digest.sites.iter().map(|s| {
        let mut site = document::week(&s.guidance);
        site["name"] = json!(s.guidance.site_name);
        site["notices"] = s.notices().iter().map(|n| json!(n.for_readers())).collect();
        site
    });
    Ok(json!({
        "type": "digest",
        "timestamp": now.to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
        "data": {
            "digest": key,
            "workspace": digest.workspace,
            "title": digest.title,
            "date": digest.date,
            "week": digest.week.to_string(),
            "subject": digest.subject()?,
            "text": digest.text()?,
            "notices": digest.notices.iter().map(Notice::for_readers).collect::<Vec<_>>(),
            "sites": sites.collect::<Vec<_>>(),
        },
    }))
}

/// A body after the user's own template. One whose name ends in .json has to give JSON, and values
/// are written as JSON in it.
fn own(name: &str, template: &str, document: &Value) -> Result<WebhookContents, String> {
    let mut env = Environment::new();
    env.set_undefined_behavior(UndefinedBehavior::Strict);
    let is_json = name.ends_with(".json");
    let body = env
        .render_named_str(name, template, Serde(document))
        .map_err(|e| format!("{e:#}"))?;
    if is_json && let Err(e) = serde_json::from_str::<Value>(&body) {
        return Err(format!("what it gives is no JSON: {e}"));
    }
    let content_type = if is_json {
        JSON
    } else {
        "text/plain; charset=utf-8"
    };
    Ok(WebhookContents {
        content_type: content_type.to_owned(),
        body,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_has_a_name_fit_for_a_domain() {
        assert_eq!(
            list_name("Skerrow Ness, Loch Arne"),
            "skerrow-ness-loch-arne"
        );
        assert_eq!(list_name("Бухта"), "digest");
    }

    #[test]
    fn values_in_a_json_template_are_written_as_json() {
        let document = json!({ "data": { "subject": "He said \"week 36\"\n" } });
        let made = own("chat.json", r#"{"text": {{ data.subject }}}"#, &document);
        let body = made.expect("rendered").body;
        let value: Value = serde_json::from_str(&body).expect("JSON");
        assert_eq!(value["text"], "He said \"week 36\"\n");
    }

    #[test]
    fn a_template_that_does_not_fit_says_why() {
        let document = json!({ "data": {} });
        let said = own("chat.json", "{{ data.subjct.x }}", &document).expect_err("refused");
        assert!(said.contains("chat.json"), "{said}");
        let said = own("chat.json", "{", &document).expect_err("refused");
        assert!(said.contains("is no JSON"), "{said}");
        let made = own("chat.txt", "{", &document).expect("text may be anything");
        assert_eq!(made.content_type, "text/plain; charset=utf-8");
    }
}

//! Which posts come from a form of ours: each form carries a code bound to what it acts on, and the
//! browser tells from which page it was sent.

use crate::deliveries::key::{CODE, StoreKey};
use axum::http::{HeaderMap, header};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::{DateTime, Utc};
use subtle::ConstantTimeEq;
use url::Url;

/// The field of the code.
pub const FIELD: &str = "form";
/// A page may lie open for a day.
const LASTS_S: i64 = 24 * 3600;
/// Clocks that are set back a little.
const EARLY_S: i64 = 300;

/// The code of a form that acts on something, such as a link or a session.
pub fn code(key: &StoreKey, about: &str, now: DateTime<Utc>) -> String {
    let minted = now.timestamp();
    let code = URL_SAFE_NO_PAD.encode(made(key, about, minted));
    format!("{minted}.{code}")
}

fn made(key: &StoreKey, about: &str, minted: i64) -> [u8; CODE] {
    key.code("form", &[about, &minted.to_string()])
}

/// Whether the fields of a post carry the code of a form of ours about that, made within a day.
pub fn is_ours(
    key: &StoreKey,
    about: &str,
    fields: &[(String, String)],
    now: DateTime<Utc>,
) -> bool {
    let field = fields.iter().find(|(name, _)| name == FIELD);
    let Some((minted, code)) = field.and_then(|(_, value)| value.split_once('.')) else {
        return false;
    };
    let (Ok(minted), Ok(code)) = (minted.parse::<i64>(), URL_SAFE_NO_PAD.decode(code)) else {
        return false;
    };
    let age = now.timestamp().saturating_sub(minted);
    let own = bool::from(code.ct_eq(&made(key, about, minted)));
    own && (-EARLY_S..=LASTS_S).contains(&age)
}

/// Whether a post was sent from a page of this service. Browsers tell with each post; who tells nothing
/// is no browser, whom nobody can make post unawares.
pub fn is_from_here(headers: &HeaderMap, public: Option<&Url>) -> bool {
    let field = |name| headers.get(name).and_then(|v| v.to_str().ok());
    if let Some(site) = field(header::HeaderName::from_static("sec-fetch-site"))
        && site != "same-origin"
        && site != "none"
    {
        return false;
    }
    if !headers.contains_key(header::ORIGIN) {
        return true;
    }
    let Some(origin) = field(header::ORIGIN).and_then(|o| Url::parse(o).ok()) else {
        // "null", as sandboxed pages send it, among others
        return false;
    };
    // under the public name the way has to be the public one too
    if let Some(public) = public.filter(|p| p.host() == origin.host()) {
        return public.origin() == origin.origin();
    }
    let host =
        field(header::HOST).and_then(|h| Url::parse(&format!("{}://{h}", origin.scheme())).ok());
    host.is_some_and(|h| h.origin() == origin.origin())
}

/// The fields of a post; None where it is none of a form. Beyond UTF-8 signs stand in.
pub fn fields(headers: &HeaderMap, body: &[u8]) -> Option<Vec<(String, String)>> {
    let kind = headers.get(header::CONTENT_TYPE)?.to_str().ok()?;
    let kind = kind.split(';').next()?.trim();
    if !kind.eq_ignore_ascii_case("application/x-www-form-urlencoded") {
        return None;
    }
    Some(url::form_urlencoded::parse(body).into_owned().collect())
}

/// A field's value.
pub fn field<'a>(fields: &'a [(String, String)], name: &str) -> Option<&'a str> {
    let found = fields.iter().find(|(known, _)| known == name);
    found.map(|(_, value)| value.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;
    use chrono::TimeDelta;

    #[test]
    fn a_code_is_good_for_its_form_and_a_day() {
        let root = tempfile::tempdir().expect("a folder");
        let key = StoreKey::open(root.path()).expect("a key");
        let now: DateTime<Utc> = "2026-09-07T05:30:00Z".parse().expect("an instant");
        let sent = |value: &str| vec![(FIELD.to_owned(), value.to_owned())];
        let own = sent(&code(&key, "choices of 7", now));
        let at = |about: &str, hours| is_ours(&key, about, &own, now + TimeDelta::hours(hours));
        assert!(at("choices of 7", 0) && at("choices of 7", 24));
        assert!(!at("choices of 7", 25) && !at("choices of 7", -1));
        assert!(!at("choices of 8", 0));
        for bad in [
            "",
            ".",
            "1.AAAA",
            "9223372036854775807.AAAA",
            "-9223372036854775808.AAAA",
        ] {
            assert!(!is_ours(&key, "choices of 7", &sent(bad), now), "{bad}");
        }
        assert!(!is_ours(&key, "choices of 7", &[], now));
    }

    fn from_here(fields: &[(&'static str, &str)]) -> bool {
        let mut headers = HeaderMap::new();
        for (name, value) in fields {
            headers.insert(*name, HeaderValue::from_str(value).expect("a value"));
        }
        let public = Url::parse("https://birds.skerrow.example/ness").expect("an address");
        is_from_here(&headers, Some(&public))
    }

    #[test]
    fn posts_from_elsewhere_are_told_by_their_origin() {
        let host = ("host", "127.0.0.1:7878");
        assert!(from_here(&[host]));
        assert!(from_here(&[host, ("origin", "http://127.0.0.1:7878")]));
        assert!(from_here(&[
            host,
            ("origin", "https://birds.skerrow.example")
        ]));
        let others = [
            "null",
            "https://other.example",
            "http://127.0.0.1:7879",
            "https://birds.skerrow.example.other.example",
            "http://birds.skerrow.example",
            "",
        ];
        for origin in others {
            assert!(!from_here(&[host, ("origin", origin)]), "{origin}");
        }
        let same = ("host", "birds.skerrow.example");
        assert!(!from_here(&[
            same,
            ("origin", "http://birds.skerrow.example")
        ]));
        assert!(!from_here(&[host, ("sec-fetch-site", "cross-site")]));
        assert!(from_here(&[host, ("sec-fetch-site", "same-origin")]));
    }
}

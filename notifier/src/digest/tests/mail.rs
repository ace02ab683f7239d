//! The mail, read back by another library.

use super::digests::{autumn, stamp};
use crate::digest::message_id;
use mail_parser::{MessageParser, MimeHeaders};

fn eml() -> Vec<u8> {
    autumn().eml(&stamp()).unwrap()
}

/// RFC 5322, 2.1.1: lines of 998 at most, ended by CR LF, nothing but ASCII in the header.
#[test]
fn lines_are_within_the_limits() {
    let bytes = eml();
    let text = String::from_utf8(bytes).expect("every part is encoded, so all is ASCII");
    assert!(text.is_ascii());
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
    assert!(
        text.split("\r\n").all(|l| l.len() <= 78),
        "78 is what the RFC asks for"
    );
}

#[test]
fn the_parts_are_nested_as_mail_readers_expect() {
    let bytes = eml();
    let mail = MessageParser::default().parse(&bytes).unwrap();
    let kind = |i: usize| {
        let t = mail.parts[i].content_type().unwrap();
        format!("{}/{}", t.ctype(), t.subtype().unwrap())
    };
    let kinds: Vec<String> = (0..mail.parts.len()).map(kind).collect();
    assert_eq!(
        kinds,
        [
            "multipart/alternative",
            "text/plain",
            "multipart/related",
            "text/html",
            "image/png"
        ]
    );
    let related = mail.parts[2].content_type().unwrap();
    assert_eq!(related.attribute("type"), Some("text/html"));
    for text in [1, 3] {
        let charset = mail.parts[text]
            .content_type()
            .unwrap()
            .attribute("charset");
        assert!(
            charset.is_some_and(|c| c.eq_ignore_ascii_case("utf-8")),
            "{charset:?}"
        );
    }
}

#[test]
fn headers_say_who_when_and_what() {
    let bytes = eml();
    let mail = MessageParser::default().parse(&bytes).unwrap();
    let from = mail.from().unwrap().first().unwrap();
    assert_eq!(from.address(), Some("counts@skerrow.example"));
    let to = mail.to().unwrap().first().unwrap();
    assert_eq!(to.name(), Some("Abonnés du Ness"));
    assert_eq!(mail.subject(), Some(autumn().subject().unwrap().as_str()));
    assert_eq!(mail.date().unwrap().to_rfc3339(), "2026-08-24T06:00:00Z");
    assert!(mail.bcc().is_none() && mail.header("MIME-Version").is_some());
    let id = message_id(
        "long-bank/2026-W35",
        "digest@skerrow.example",
        "skerrow.example",
    );
    assert_eq!(format!("<{}>", mail.message_id().unwrap()), id);
}

#[test]
fn every_chart_in_the_page_is_a_part_of_the_mail() {
    let bytes = eml();
    let mail = MessageParser::default().parse(&bytes).unwrap();
    let html = mail.body_html(0).unwrap();
    let wanted: Vec<&str> = html
        .split("cid:")
        .skip(1)
        .filter_map(|s| s.split('"').next())
        .collect();
    let carried: Vec<&str> = mail.parts.iter().filter_map(|p| p.content_id()).collect();
    assert_eq!(wanted.len(), 1);
    assert_eq!(wanted, carried);
    let chart = &mail.parts[4];
    assert!(chart.content_disposition().unwrap().is_inline());
    assert_eq!(chart.contents(), autumn().sites[0].figures[0].picture.png);
}

#[test]
fn texts_come_back_as_they_went() {
    let bytes = eml();
    let mail = MessageParser::default().parse(&bytes).unwrap();
    let text = mail.body_text(0).unwrap().replace("\r\n", "\n");
    assert_eq!(text.trim_end(), autumn().text().unwrap().trim_end());
    assert!(mail.body_html(0).unwrap().contains("under\u{a0}2\u{a0}%"));
}

#[test]
fn the_same_digest_gives_the_same_mail_and_another_reader_another_id() {
    assert_eq!(eml(), eml());
    let id = |key, to| message_id(key, to, "skerrow.example");
    assert_ne!(id("a", "b@x.example"), id("a", "c@x.example"));
    assert_ne!(id("ab", "c"), id("a", "bc"));
    // SHA-256 of "k", a zero byte, "r", as coreutils' sha256sum gives it.
    assert_eq!(
        id("k", "r"),
        "<af3bffec7f666dc9c9e14d1a80c83e16@skerrow.example>"
    );
}

/// A title with line ends cannot add a header.
#[test]
fn a_title_stays_within_the_subject() {
    let mut digest = autumn();
    digest.title = "Week\r\nBcc: all@skerrow.example\r\n\r\nbody".into();
    let bytes = digest.eml(&stamp()).unwrap();
    let mail = MessageParser::default().parse(&bytes).unwrap();
    assert!(mail.bcc().is_none());
    assert!(
        mail.subject()
            .unwrap()
            .starts_with("Week Bcc: all@skerrow.example body, 24 to 30")
    );
}

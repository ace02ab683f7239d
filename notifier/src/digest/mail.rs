//! The digest as a mail: RFC 5322 and MIME, through a library that knows both.

use super::{Digest, DigestError, Figure, Pictures, content_id};
use chrono::{DateTime, Utc};
use lettre::message::header::{ContentTransferEncoding, ContentType};
use lettre::message::{Attachment, Body, Mailbox, Message, MultiPart, SinglePart};
use sha2::{Digest as _, Sha256};
use std::time::SystemTime;

/// What a mail needs beside the digest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MailStamp {
    /// From address, e.g. `Wingtide <counts@example.org>`.
    pub from: String,
    /// To address.
    pub to: String,
    /// When it is made; the Date header.
    pub sent: DateTime<Utc>,
    /// What tells this digest from every other, e.g. `long-bank/2026-W35`: the same key and
    /// recipient give the same Message-ID, so that a receiver can drop a second copy.
    pub key: String,
}

/// The Message-ID, with its angle brackets, of the digest of that key for that recipient, in
/// the sender's domain.
pub fn message_id(key: &str, recipient: &str, domain: &str) -> String {
    format!("<{}@{domain}>", fingerprint(key, recipient))
}

/// 128 bits of SHA-256, in hexadecimal; the zero byte keeps ("ab", "c") from ("a", "bc").
pub(crate) fn fingerprint(key: &str, recipient: &str) -> String {
    let mut hash = Sha256::new();
    hash.update(key.as_bytes());
    hash.update([0]);
    hash.update(recipient.as_bytes());
    hash.finalize()[..16]
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}

pub(super) fn eml(digest: &Digest, stamp: &MailStamp) -> Result<Vec<u8>, DigestError> {
    let from = address("from", &stamp.from)?;
    let to = address("to", &stamp.to)?;
    let recipient = to.email.to_string();
    let domain = from.email.domain().to_string();
    let mark = fingerprint(&stamp.key, &recipient);
    let pictures = format!("{mark}@{domain}");
    let html = digest.html_with(Pictures::Parts(&pictures))?;
    let mut related = multipart("related; type=\"text/html\"", &mark, 2)?
        .singlepart(text_part(ContentType::TEXT_HTML, html)?);
    for (place, figure) in digest.shown_figures() {
        related = related.singlepart(picture_part(place, figure, &pictures)?);
    }
    let body = multipart("alternative", &mark, 1)?
        .singlepart(text_part(ContentType::TEXT_PLAIN, digest.text()?)?)
        .multipart(related);
    let message = Message::builder()
        .from(from)
        .to(to)
        .subject(digest.subject()?)
        .date(SystemTime::from(stamp.sent))
        .message_id(Some(message_id(&stamp.key, &recipient, &domain)))
        .multipart(body)
        .map_err(refused)?;
    Ok(message.formatted())
}

fn refused(error: impl std::fmt::Display) -> DigestError {
    DigestError::Mail(error.to_string())
}

fn address(field: &'static str, value: &str) -> Result<Mailbox, DigestError> {
    value
        .parse()
        .map_err(|e: lettre::address::AddressError| DigestError::Address {
            field,
            value: value.to_string(),
            reason: e.to_string(),
        })
}

/// A multipart with a boundary that is the same each time: "=_" stands in no quoted-printable
/// or base64 line (RFC 2045, 6.7). The type parameter of "related" is required (RFC 2387, 3.1),
/// and the library leaves it out.
pub(crate) fn multipart(kind: &str, mark: &str, level: u8) -> Result<MultiPart, DigestError> {
    let content = format!("multipart/{kind}; boundary=\"=_{level}.{mark}\"");
    let content = ContentType::parse(&content).map_err(refused)?;
    Ok(MultiPart::builder().header(content).build())
}

/// UTF-8 in quoted-printable, so that no line of the mail is longer than 76.
fn text_part(kind: ContentType, text: String) -> Result<SinglePart, DigestError> {
    let body = Body::new_with_encoding(text, ContentTransferEncoding::QuotedPrintable)
        .map_err(|_| refused("the text cannot be written in quoted-printable"))?;
    Ok(SinglePart::builder().header(kind).body(body))
}

fn picture_part(
    place: (usize, usize),
    figure: &Figure,
    end: &str,
) -> Result<SinglePart, DigestError> {
    let kind = ContentType::parse("image/png").map_err(refused)?;
    let part = Attachment::new_inline_with_name(content_id(place, end), chart_name(place));
    Ok(part.body(figure.picture.png.clone(), kind))
}

/// File name of the chart at that place among sites and sets.
pub(crate) fn chart_name((site, set): (usize, usize)) -> String {
    format!("chart-{}-{}.png", site + 1, set + 1)
}

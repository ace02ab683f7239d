//! Mail that comes to the bounces' address: reports that a mail could not be delivered (RFC 3464),
//! and wishes to leave.

use super::DeliveryError;
use super::key::StoreKey;
use super::leave::{self, Leaving};
use super::readers::{self, Standing};
use crate::channel::letter::LEAVE;
use chrono::{DateTime, Utc};
use mail_parser::{HeaderName, Message, MessageParser, MessagePart, MimeHeaders, PartType};
use rusqlite::{Connection, OptionalExtension};

/// What a mail to the bounces' address came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Returned {
    /// Mail to that reader comes back for good, so they are paused.
    Paused {
        /// Their address.
        mail: String,
        /// The report's status and words.
        why: String,
    },
    /// The report speaks of a delay or another failure that may pass: nothing to do.
    Passing {
        /// The reader's address.
        mail: String,
        /// The report's status and words.
        why: String,
    },
    /// That reader wants no more.
    Left {
        /// Their address.
        mail: String,
    },
    /// The report is of no mail of ours.
    NotOurs,
    /// It is neither: an answer of an absent reader, or a letter.
    NoReport,
}

/// Takes in a mail as the mail server hands it over; None where it is no mail.
///
/// A report counts only where it returns the Message-ID of a delivery of ours, which nobody but us
/// can make: so nobody can pause a reader by making up a report.
///
/// # Errors
/// [`DeliveryError`] where the tables cannot be used.
pub fn take_in(
    conn: &Connection,
    key: &StoreKey,
    bytes: &[u8],
    now: DateTime<Utc>,
) -> Result<Option<Returned>, DeliveryError> {
    let Some(mail) = MessageParser::default().parse(bytes) else {
        return Ok(None);
    };
    if let Some(report) = status_part(&mail) {
        return report_of(conn, &mail, report, now).map(Some);
    }
    if let Some(token) = token(&mail) {
        return Ok(Some(match leave::leave(conn, key, token, now)? {
            Leaving::Left { mail } => Returned::Left { mail },
            Leaving::Unknown => Returned::NoReport,
        }));
    }
    Ok(Some(Returned::NoReport))
}

/// "leave TOKEN", as a reader's mail program fills it in, perhaps behind a "Re:".
fn token<'a>(mail: &'a Message<'_>) -> Option<&'a str> {
    let mut words = mail.subject()?.split_whitespace().rev();
    let token = words.next()?;
    let word = words.next()?;
    word.eq_ignore_ascii_case(LEAVE).then_some(token)
}

fn is_kind(part: &MessagePart<'_>, kind: &str, subtypes: &[&str]) -> bool {
    part.content_type().is_some_and(|t| {
        let subtype = t.subtype().unwrap_or_default();
        t.ctype().eq_ignore_ascii_case(kind)
            && subtypes.iter().any(|s| s.eq_ignore_ascii_case(subtype))
    })
}

fn status_part<'a>(mail: &'a Message<'_>) -> Option<&'a [u8]> {
    // RFC 6533 has a form for addresses beyond ASCII
    let kinds = ["delivery-status", "global-delivery-status"];
    let part = mail.parts.iter().find(|p| is_kind(p, "message", &kinds));
    part.map(MessagePart::contents)
}

fn report_of(
    conn: &Connection,
    mail: &Message<'_>,
    report: &[u8],
    now: DateTime<Utc>,
) -> Result<Returned, DeliveryError> {
    let marks = returned_ids(mail);
    let marks = marks.iter().filter_map(|id| id.split('@').next());
    for mark in marks {
        let Some((reader, address)) = delivery(conn, mark)? else {
            continue;
        };
        let groups = groups(report);
        let own = groups.iter().find(|g| g.is_about(&address));
        // a forwarder reports the address that it forwards to
        let Some(group) = own.or(match &groups[..] {
            [only] => Some(only),
            _ => None,
        }) else {
            return Ok(Returned::NotOurs);
        };
        let why = group.words();
        if !group.is_permanent() {
            return Ok(Returned::Passing { mail: address, why });
        }
        let told = format!("mail came back: {why}");
        readers::put_away(conn, reader, Standing::Paused, &told, now.timestamp())?;
        return Ok(Returned::Paused { mail: address, why });
    }
    Ok(Returned::NotOurs)
}

/// Message-IDs of the mails that the report returns, whole or by their fields alone.
fn returned_ids(mail: &Message<'_>) -> Vec<String> {
    let id = |part: &MessagePart<'_>| match &part.body {
        PartType::Message(inner) => inner.message_id().map(str::to_owned),
        _ if is_kind(part, "text", &["rfc822-headers"])
            || is_kind(part, "message", &["rfc822", "global", "global-headers"]) =>
        {
            let inner = MessageParser::default().parse_headers(part.contents())?;
            inner.message_id().map(str::to_owned)
        }
        _ => None,
    };
    mail.parts.iter().filter_map(id).collect()
}

fn delivery(conn: &Connection, mark: &str) -> Result<Option<(i64, String)>, DeliveryError> {
    // of a subscriber the address stands with the reader alone
    let sql = "SELECT d.reader, r.mail FROM deliveries d JOIN readers r ON r.id = d.reader
         WHERE d.mark = ?1 AND d.channel = 'mail'";
    let found = conn.query_row(sql, [mark], |row| Ok((row.get(0)?, row.get(1)?)));
    Ok(found.optional()?)
}

/// What a report says of one recipient (RFC 3464, 2.3).
#[derive(Debug, Default)]
struct Group {
    original: Option<String>,
    last: Option<String>,
    action: String,
    status: String,
    diagnostic: Option<String>,
}

impl Group {
    fn of(block: &[u8]) -> Option<Self> {
        let fields = MessageParser::default().parse_headers(block)?;
        let field = |name: &'static str| {
            let raw = fields.header_raw(HeaderName::Other(name.into()))?;
            Some(raw.split_whitespace().collect::<Vec<_>>().join(" "))
        };
        Some(Group {
            original: field("Original-Recipient"),
            last: field("Final-Recipient"),
            action: field("Action")?,
            status: field("Status")?,
            diagnostic: field("Diagnostic-Code"),
        })
    }

    /// The field's value is "rfc822; address"; Original-Recipient may be in xtext (RFC 3461, 4).
    fn is_about(&self, address: &str) -> bool {
        let both = [&self.original, &self.last];
        both.into_iter().flatten().any(|field| {
            let (_, written) = field.split_once(';').unwrap_or(("", field));
            let written = written.trim().replace("+2B", "+").replace("+3D", "=");
            written.to_lowercase() == address
        })
    }

    fn is_permanent(&self) -> bool {
        self.action.eq_ignore_ascii_case("failed") && self.status.starts_with("5.")
    }

    fn words(&self) -> String {
        let status = self.status.split(' ').next().unwrap_or_default();
        let words = match &self.diagnostic {
            Some(diagnostic) => format!("{status}, {diagnostic}"),
            None => format!("{status}, {}", self.action),
        };
        let plain = words.chars().filter(|c| !c.is_control());
        plain.take(200).collect()
    }
}

/// The report's blocks but the first, which is about the message; empty lines part them.
fn groups(report: &[u8]) -> Vec<Group> {
    let text = String::from_utf8_lossy(report).replace("\r\n", "\n");
    let blocks = text.split("\n\n").map(|b| b.trim_start_matches('\n'));
    let blocks = blocks.map(|b| format!("{b}\n\n"));
    blocks.filter_map(|b| Group::of(b.as_bytes())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The report of RFC 3464, appendix E.1, its recipients' part.
    const EXAMPLE: &[u8] = b"Reporting-MTA: dns; cs.utk.edu\n\n\
Original-Recipient: rfc822;louisl@larry.slip.umd.edu\n\
Final-Recipient: rfc822;louisl@larry.slip.umd.edu\n\
Action: failed\nStatus: 4.0.0\n\
Diagnostic-Code: smtp; 426 connection timed out\n\
Last-Attempt-Date: Thu, 7 Jul 1994 17:15:49 -0400\n";

    #[test]
    fn a_report_is_read_block_by_block() {
        let groups = groups(EXAMPLE);
        assert_eq!(groups.len(), 1);
        assert!(groups[0].is_about("louisl@larry.slip.umd.edu"));
        assert!(!groups[0].is_about("louis@larry.slip.umd.edu"));
        assert!(!groups[0].is_permanent(), "4.0.0 may pass");
        assert_eq!(groups[0].words(), "4.0.0, smtp; 426 connection timed out");
    }

    #[test]
    fn only_what_failed_for_good_is_permanent() {
        let of = |action: &str, status: &str| {
            let block = format!(
                "Final-Recipient: rfc822; a@b.example\nAction: {action}\nStatus: {status}\n\n"
            );
            Group::of(block.as_bytes()).expect("a group").is_permanent()
        };
        assert!(of("failed", "5.1.1"));
        assert!(of("Failed", "5.0.0 (unknown)"));
        assert!(!of("delayed", "4.4.1"));
        assert!(!of("delivered", "2.0.0"));
        assert!(!of("failed", "4.4.7"));
    }
}

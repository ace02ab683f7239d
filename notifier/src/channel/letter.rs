//! A digest's mail to one reader: what all share is encoded once, what is theirs goes around it.

use crate::deliveries::MailContents;
use crate::digest::{DigestError, Personal, ReaderView, multipart};
use crate::subscribers::letters;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, Utc};
use lettre::Address;
use lettre::address::Envelope;
use lettre::message::dkim::DkimConfig;
use lettre::message::header::{
    ContentTransferEncoding, ContentType, HeaderName, HeaderValue, MIME_VERSION_1_0,
};
use lettre::message::{Attachment, Body, Mailbox, Message, MultiPart, SinglePart};
use std::time::SystemTime;
use url::Url;

/// What holds for every mail of a run.
pub struct Writing {
    /// Where returned mail goes: the sender of the envelope.
    pub bounces: Address,
    /// The page on which readers leave, before the token, where there is one.
    pub leave_at: Option<Url>,
    /// How mail is signed.
    pub signer: Option<DkimConfig>,
    personal: Personal,
}

/// Whom a mail goes to.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'a> {
    /// The bare address.
    pub address: &'a str,
    /// How they are greeted.
    pub name: Option<&'a str>,
    /// What lets them leave.
    pub token: &'a str,
    /// What lets them change what they get, where that is theirs to say.
    pub choices: Option<&'a str>,
    /// Local part of the Message-ID.
    pub mark: &'a str,
}

/// A digest's mail before it is anyone's.
pub struct Letter {
    from: Mailbox,
    subject: String,
    date: SystemTime,
    list_id: String,
    mark: String,
    /// In quoted-printable, as all texts here.
    text: Vec<u8>,
    html: [Vec<u8>; 3],
    charts: Vec<SinglePart>,
}

impl Writing {
    /// With the templates of what is each reader's own.
    ///
    /// # Errors
    /// [`DigestError`] where a template does not hold.
    pub fn new(
        bounces: Address,
        leave_at: Option<Url>,
        signer: Option<DkimConfig>,
    ) -> Result<Self, DigestError> {
        Ok(Writing {
            bounces,
            leave_at,
            signer,
            personal: Personal::new()?,
        })
    }
}

impl Letter {
    /// Encodes what all readers share; `date` is the digest's, so that a later try sends the same.
    ///
    /// # Errors
    /// [`DigestError`] where the contents are not such as the queue writes.
    pub fn of(contents: &MailContents, date: DateTime<Utc>) -> Result<Self, DigestError> {
        let from: Mailbox = contents
            .from
            .parse()
            .map_err(|e: lettre::address::AddressError| DigestError::Address {
                field: "from",
                value: contents.from.clone(),
                reason: e.to_string(),
            })?;
        let list_id = list_id(&contents.title, &contents.list, from.email.domain());
        let html = &contents.html;
        let chart = |chart: &crate::deliveries::Chart| -> Result<SinglePart, DigestError> {
            let png = STANDARD.decode(&chart.png).map_err(refused)?;
            let kind = ContentType::parse("image/png").map_err(refused)?;
            Ok(
                Attachment::new_inline_with_name(chart.id.clone(), chart.name.clone())
                    .body(png, kind),
            )
        };
        Ok(Letter {
            list_id,
            from,
            subject: one_line(&contents.subject),
            date: SystemTime::from(date),
            mark: contents.mark.clone(),
            text: quoted(&contents.text)?,
            html: [
                quoted(&html.head)?,
                quoted(&html.body)?,
                quoted(&html.tail)?,
            ],
            charts: contents
                .charts
                .iter()
                .map(chart)
                .collect::<Result<_, _>>()?,
        })
    }

    /// The mail for one reader, signed, with its envelope.
    ///
    /// # Errors
    /// [`DigestError`] where the address is none.
    pub fn to(&self, reader: Reader<'_>, writing: &Writing) -> Result<Written, DigestError> {
        let address: Address = reader.address.parse().map_err(refused)?;
        let name = reader.name.map(one_line).filter(|name| !name.is_empty());
        let leaving = Leaving::of(reader.token, writing);
        let choices = reader.choices.zip(writing.leave_at.as_ref());
        let choices = choices.map(|(token, base)| letters::page(base, &["choices", token]));
        let words = writing.personal.words(&ReaderView {
            name: name.as_deref(),
            mail: reader.address,
            link: leaving.link.as_ref().map(Url::as_str),
            choices: choices.as_ref().map(Url::as_str),
            write_to: writing.bounces.as_ref(),
            subject: &leaving.subject,
            subject_encoded: &leaving.subject.replace(' ', "%20"),
        })?;
        let [head, body, tail] = &self.html;
        let text = joined(&[
            &quoted(&words.greeting_text)?,
            &self.text,
            &quoted(&words.leaving_text)?,
        ]);
        let html = joined(&[
            head,
            &quoted(&words.greeting_html)?,
            body,
            &quoted(&words.leaving_html)?,
            tail,
        ]);
        let id = format!("<{}@{}>", reader.mark, self.from.email.domain());
        let message = Message::builder()
            .from(self.from.clone())
            .to(Mailbox::new(name, address.clone()))
            .subject(self.subject.clone())
            .date(self.date)
            .message_id(Some(id))
            .raw_header(raw("List-Id", self.list_id.clone()))
            .raw_header(leaving.ways(&writing.bounces))
            // RFC 3834, 5: so that nobody's absence is answered with a mail
            .raw_header(raw("Auto-Submitted", "auto-generated".to_owned()));
        let message = match leaving.link {
            // RFC 8058, 3.1
            Some(_) => message.raw_header(raw(
                "List-Unsubscribe-Post",
                "List-Unsubscribe=One-Click".to_owned(),
            )),
            None => message,
        };
        let (kind, body) = flat(&self.parts(text, html)?)?;
        let from = writing.bounces.clone();
        let envelope = Envelope::new(Some(from), vec![address]).map_err(refused)?;
        let mut message = message
            .envelope(envelope)
            .header(MIME_VERSION_1_0)
            .header(kind)
            .body(body)
            .map_err(refused)?;
        if let Some(signer) = &writing.signer {
            message.sign(signer);
        }
        Ok(Written {
            bytes: message.formatted(),
            envelope: message.envelope().clone(),
        })
    }

    fn parts(&self, text: Vec<u8>, html: Vec<u8>) -> Result<MultiPart, DigestError> {
        let related = multipart("related; type=\"text/html\"", &self.mark, 2)?
            .singlepart(part(ContentType::TEXT_HTML, html));
        let related = self
            .charts
            .iter()
            .cloned()
            .fold(related, MultiPart::singlepart);
        Ok(multipart("alternative", &self.mark, 1)?
            .singlepart(part(ContentType::TEXT_PLAIN, text))
            .multipart(related))
    }
}

/// A mail ready to be handed over.
pub struct Written {
    /// RFC 5322, lines ended by CR LF.
    pub bytes: Vec<u8>,
    /// Who it is from and to, as the server is told.
    pub envelope: Envelope,
}

/// How a reader gets no more digests.
struct Leaving {
    link: Option<Url>,
    subject: String,
}

impl Leaving {
    fn of(token: &str, writing: &Writing) -> Self {
        let base = writing.leave_at.as_ref();
        let link = base.map(|base| letters::page(base, &["leave", token]));
        Leaving {
            link,
            subject: format!("{LEAVE} {token}"),
        }
    }

    /// List-Unsubscribe (RFC 2369, 3.2; RFC 8058, 3.1): the page first, then mail.
    fn ways(&self, write_to: &Address) -> HeaderValue {
        let subject = self.subject.replace(' ', "%20");
        let mail = format!("<mailto:{write_to}?subject={subject}>");
        let ways = match &self.link {
            Some(link) => format!("<{link}>, {mail}"),
            None => mail,
        };
        raw("List-Unsubscribe", ways)
    }
}

/// The word before the token in the subject of a mail by which a reader leaves: short, since the
/// address with it in it cannot be folded.
pub(crate) const LEAVE: &str = "leave";

/// RFC 2919, 2: a title, where it can be written plainly, and the list's name.
fn list_id(title: &str, list: &str, domain: &str) -> String {
    let plain = |c: char| (c.is_ascii_graphic() || c == ' ') && !"\"\\".contains(c);
    match title.chars().all(plain) && !title.is_empty() {
        true => format!("\"{title}\" <{list}.{domain}>"),
        false => format!("<{list}.{domain}>"),
    }
}

/// A plain mail to one person, such as a note to the keeper.
///
/// # Errors
/// [`DigestError`] where an address is none.
pub fn note(
    (from, to): (&str, &str),
    subject: &str,
    text: &str,
    date: DateTime<Utc>,
    writing: &Writing,
) -> Result<Written, DigestError> {
    let mailbox = |field, value: &str| {
        value.parse::<Mailbox>().map_err(|e| DigestError::Address {
            field,
            value: value.to_owned(),
            reason: e.to_string(),
        })
    };
    let (from, to) = (mailbox("from", from)?, mailbox("to", to)?);
    let sender = Some(writing.bounces.clone());
    let envelope = Envelope::new(sender, vec![to.email.clone()]).map_err(refused)?;
    let mut message = Message::builder()
        .from(from)
        .to(to)
        .subject(one_line(subject))
        .date(SystemTime::from(date))
        .message_id(None)
        .raw_header(raw("Auto-Submitted", "auto-generated".to_owned()))
        .envelope(envelope)
        .header(MIME_VERSION_1_0)
        .header(ContentType::TEXT_PLAIN)
        .body(Body::dangerous_pre_encoded(
            quoted(&(text.trim_end().to_owned() + "\n"))?,
            ContentTransferEncoding::QuotedPrintable,
        ))
        .map_err(refused)?;
    if let Some(signer) = &writing.signer {
        message.sign(signer);
    }
    Ok(Written {
        bytes: message.formatted(),
        envelope: message.envelope().clone(),
    })
}

/// Fields are lines: line ends and other control characters as spaces.
fn one_line(text: &str) -> String {
    let plain = text.replace(char::is_control, " ");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn raw(name: &'static str, value: String) -> HeaderValue {
    HeaderValue::new(HeaderName::new_from_ascii_str(name), value)
}

fn refused(error: impl std::fmt::Display) -> DigestError {
    DigestError::Mail(error.to_string())
}

/// Quoted-printable works line by line, so pieces that end with a line end can be put together
/// after it.
fn quoted(text: &str) -> Result<Vec<u8>, DigestError> {
    debug_assert!(text.is_empty() || text.ends_with('\n'), "{text:?}");
    let text = text.to_owned();
    let body = Body::new_with_encoding(text, ContentTransferEncoding::QuotedPrintable)
        .map_err(|_| refused("a text cannot be written in quoted-printable"))?;
    Ok(body.into_vec())
}

fn joined(pieces: &[&[u8]]) -> Vec<u8> {
    pieces.concat()
}

/// The parts as the body of a mail whose own fields say what they are: the library signs the fields
/// of the mail alone, and what they are has to be signed with them (RFC 6376, 5.4.1).
fn flat(parts: &MultiPart) -> Result<(ContentType, Body), DigestError> {
    let none = || refused("the parts of a mail say nothing of themselves");
    let kind = parts.headers().get::<ContentType>().ok_or_else(none)?;
    let mut bytes = parts.formatted();
    let end = bytes.windows(4).position(|w| w == b"\r\n\r\n");
    bytes.drain(..end.ok_or_else(none)? + 4);
    // every part is encoded
    let encoding = ContentTransferEncoding::SevenBit;
    Ok((kind, Body::dangerous_pre_encoded(bytes, encoding)))
}

fn part(kind: ContentType, quoted: Vec<u8>) -> SinglePart {
    let encoding = ContentTransferEncoding::QuotedPrintable;
    SinglePart::builder()
        .header(kind)
        .body(Body::dangerous_pre_encoded(quoted, encoding))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_are_encoded_as_the_whole_is() {
        let long = "Zwergstrandläufer, ".repeat(12) + "= \n";
        let pieces = ["Dear reader,\n\n", &long, "trailing \n", "\n"];
        let apart: Vec<u8> = pieces.iter().flat_map(|p| quoted(p).unwrap()).collect();
        assert_eq!(apart, quoted(&pieces.concat()).unwrap());
    }

    /// RFC 2919, 3: the phrase may be left out, the list's name may not.
    #[test]
    fn a_list_is_named() {
        let id = |title| list_id(title, "skerrow-ness", "skerrow.example");
        assert_eq!(
            id("Birds, weekly"),
            "\"Birds, weekly\" <skerrow-ness.skerrow.example>"
        );
        for odd in ["", "Über", "a\"b", "a\r\nBcc: c"] {
            assert_eq!(id(odd), "<skerrow-ness.skerrow.example>");
        }
    }
}

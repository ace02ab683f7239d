//! What of a mailed digest is each reader's own: the greeting, and how to get no more of them.

use super::DigestError;
use super::templates::environment;
use minijinja::Environment;
use minijinja::value::Serde;
use serde::{Deserialize, Serialize};

/// Places in the page; what comes from data is escaped, so they stand there once.
const GREETING: &str = "<!--greeting-->\n";
const LEAVING: &str = "<!--leaving-->\n";

/// The page of a mail around what is each reader's own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReaderHtml {
    /// To the greeting.
    pub head: String,
    /// From there to how to leave.
    pub body: String,
    /// The rest.
    pub tail: String,
}

impl ReaderHtml {
    /// Takes a page apart at its two places.
    pub(super) fn split(page: &str) -> Result<Self, DigestError> {
        let parts = page
            .split_once(GREETING)
            .and_then(|(head, rest)| Some((head, rest.split_once(LEAVING)?)));
        let Some((head, (body, tail))) = parts else {
            let why = "the page has no place for what is the reader's own";
            return Err(DigestError::Mail(why.to_owned()));
        };
        Ok(ReaderHtml {
            head: head.to_owned(),
            body: body.to_owned(),
            tail: tail.to_owned(),
        })
    }
}

/// What the templates are told of a reader.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct ReaderView<'a> {
    /// Who is greeted.
    pub name: Option<&'a str>,
    /// Their address.
    pub mail: &'a str,
    /// The page on which to leave, where there is one.
    pub link: Option<&'a str>,
    /// The page on which to change what they get, where that is theirs to say.
    pub choices: Option<&'a str>,
    /// Whom to write to.
    pub write_to: &'a str,
    /// With which subject.
    pub subject: &'a str,
    /// The same within an address.
    pub subject_encoded: &'a str,
}

/// The reader's own words in a mail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Words {
    /// Before the text; empty for those without a name.
    pub greeting_text: String,
    /// Behind it.
    pub leaving_text: String,
    /// In the page's first place.
    pub greeting_html: String,
    /// In its second.
    pub leaving_html: String,
}

/// The templates of what is each reader's own, read once for many.
pub(crate) struct Personal(Environment<'static>);

impl Personal {
    /// Reads the templates.
    pub fn new() -> Result<Self, DigestError> {
        Ok(Personal(environment()?))
    }

    /// The words for one reader.
    pub fn words(&self, reader: &ReaderView<'_>) -> Result<Words, DigestError> {
        let render = |name: &str| self.0.get_template(name)?.render(Serde(reader));
        Ok(Words {
            greeting_text: line_ended(render("greeting.txt")?),
            leaving_text: line_ended(render("leaving.txt")?),
            greeting_html: line_ended(render("greeting.html")?),
            leaving_html: line_ended(render("leaving.html")?),
        })
    }
}

/// The engine takes the last line end off; what is empty stays so.
fn line_ended(mut text: String) -> String {
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    text
}

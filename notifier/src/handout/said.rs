//! What stands on a handout, as pieces of text of a few kinds.

use serde::Serialize;

/// What a piece of text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Kind {
    /// Of a part of the handout.
    Heading,
    /// Of a mark.
    Mark,
    /// What a mark looks like on some members.
    Shows,
    /// A paragraph.
    Text,
    /// A remark.
    Small,
}

/// A piece of text that begins with some bold words, or none.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Block {
    pub(crate) kind: Kind,
    pub(crate) lead: String,
    pub(crate) text: String,
}

impl Block {
    fn new(kind: Kind, lead: &str, text: &str) -> Self {
        Block {
            kind,
            lead: lead.to_owned(),
            text: text.to_owned(),
        }
    }

    pub(crate) fn heading(text: &str) -> Self {
        Block::new(Kind::Heading, text, "")
    }

    pub(crate) fn mark(lead: &str, text: &str) -> Self {
        Block::new(Kind::Mark, lead, text)
    }

    pub(crate) fn shows(lead: &str, text: &str) -> Self {
        Block::new(Kind::Shows, lead, text)
    }

    pub(crate) fn text(lead: &str, text: &str) -> Self {
        Block::new(Kind::Text, lead, text)
    }

    pub(crate) fn small(lead: &str, text: &str) -> Self {
        Block::new(Kind::Small, lead, text)
    }

    /// Must something stand below it in the same column?
    pub(crate) fn leads_on(&self) -> bool {
        matches!(self.kind, Kind::Heading | Kind::Mark)
    }
}

impl Kind {
    /// Size of its letters against the side's.
    pub(crate) fn size(self) -> f64 {
        match self {
            Kind::Heading => 1.2,
            Kind::Mark | Kind::Shows | Kind::Text => 1.0,
            Kind::Small => 0.9,
        }
    }

    /// Room above it, in its own letters' size.
    pub(crate) fn above(self) -> f64 {
        match self {
            Kind::Heading => 0.8,
            Kind::Mark => 0.5,
            Kind::Shows => 0.05,
            Kind::Text => 0.3,
            Kind::Small => 0.2,
        }
    }

    /// Room below it, in its own letters' size.
    pub(crate) fn below(self) -> f64 {
        match self {
            Kind::Heading => 0.25,
            _ => 0.0,
        }
    }

    /// How far it is set in, in its own letters' size.
    pub(crate) fn inset(self) -> f64 {
        match self {
            Kind::Shows => 0.9,
            _ => 0.0,
        }
    }
}

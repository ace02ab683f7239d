//! The weekly digest: one typed message as subject, text, HTML and mail.

pub(crate) mod choose;
mod error;
mod mail;
mod notice;
mod personal;
mod shared;
mod templates;
#[cfg(test)]
pub(crate) mod tests;
pub(crate) mod view;
mod write;

pub use error::DigestError;
pub use mail::{MailStamp, message_id};
pub(crate) use mail::{chart_name, fingerprint, multipart};
pub use notice::Notice;
pub use personal::ReaderHtml;
pub(crate) use personal::{Personal, ReaderView};
pub use write::{Written, write};

use crate::chart::{ChartError, MAIL_WIDTH, Picture, SetChart};
use crate::guidance::types::{SetGuidance, WeekGuidance};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::NaiveDate;
use forecast::calendar::IsoWeek;
use templates::Template;

/// From this chance that two members of a set are both found in the week, the digest explains
/// the set in full; below it the set has a line.
pub const WORTH_READING: f64 = 0.10;

/// One week's guidance for one or more sites, ready to be told.
#[derive(Debug, Clone, PartialEq)]
pub struct Digest {
    /// Title before the week, e.g. "This week at Skerrow Ness".
    pub title: String,
    /// Name of the workspace.
    pub workspace: String,
    /// What is to be known of the whole.
    pub about: Option<String>,
    /// Who keeps the counts, as the contact.
    pub keeper: Option<String>,
    /// The date it is about.
    pub date: NaiveDate,
    /// The ISO week it covers.
    pub week: IsoWeek,
    /// What a reader must know before all sites.
    pub notices: Vec<Notice>,
    /// Sites in the order to be shown.
    pub sites: Vec<SiteDigest>,
    /// The address of a set's page, with `{site}` and `{set}` for their ids; None where readers have
    /// none to go to.
    pub more: Option<String>,
}

/// One site's part of the digest.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteDigest {
    /// What is said.
    pub guidance: WeekGuidance,
    /// Charts of its sets.
    pub figures: Vec<Figure>,
    /// What a reader must know of the data; those that follow from the guidance (a quiet week,
    /// a site not watched, sets without marks) are added by [`SiteDigest::notices`].
    pub notices: Vec<Notice>,
    /// The counts it rests on.
    pub data: DataBehind,
    /// The season so far against the other years, a paragraph each; empty where no passage is
    /// told of.
    pub season: Vec<String>,
    /// How well earlier forecasts came true, in a sentence.
    pub record: Option<String>,
}

/// The counts that a site's chances rest on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DataBehind {
    /// Standard visits.
    pub visits: usize,
    /// Years with a visit.
    pub seasons: usize,
    /// First and last of these years.
    pub years: Option<(i32, i32)>,
    /// The last visit, up to the date of the digest.
    pub last_visit: Option<NaiveDate>,
}

/// A set's chart with its words.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Id of the set.
    pub set: String,
    /// The picture.
    pub picture: Picture,
    /// What it shows, for those who do not see it.
    pub alt: String,
}

impl Figure {
    /// The chart at the width for mail.
    ///
    /// # Errors
    /// Whatever [`SetChart::png`] refuses.
    pub fn of(set: impl Into<String>, chart: &SetChart) -> Result<Self, ChartError> {
        Ok(Figure {
            set: set.into(),
            picture: chart.png(MAIL_WIDTH)?,
            alt: chart.alt_text(),
        })
    }
}

/// Where the HTML finds its pictures.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Pictures<'a> {
    /// In the page itself.
    Embedded,
    /// In other parts of the mail, whose Content-IDs end with this.
    Parts(&'a str),
}

impl Pictures<'_> {
    fn address(self, place: (usize, usize), figure: &Figure) -> String {
        match self {
            Pictures::Embedded => {
                let bytes = STANDARD.encode(&figure.picture.png);
                format!("data:image/png;base64,{bytes}")
            }
            Pictures::Parts(end) => format!("cid:{}", content_id(place, end)),
        }
    }
}

/// Content-ID of the chart at that place among sites and sets, without angle brackets.
pub(crate) fn content_id((site, set): (usize, usize), end: &str) -> String {
    format!("chart-{}-{}.{end}", site + 1, set + 1)
}

impl Digest {
    /// The mail's subject, one line.
    ///
    /// # Errors
    /// [`DigestError::Template`], as the other renderings.
    pub fn subject(&self) -> Result<String, DigestError> {
        templates::render(Template::Subject, &view::of(self, Pictures::Embedded))
    }

    /// Plain text of at most [`templates::TEXT_WIDTH`] columns.
    ///
    /// # Errors
    /// [`DigestError::Template`].
    pub fn text(&self) -> Result<String, DigestError> {
        templates::render(Template::Text, &view::of(self, Pictures::Embedded))
    }

    /// A page that needs no other file.
    ///
    /// # Errors
    /// [`DigestError::Template`].
    pub fn html(&self) -> Result<String, DigestError> {
        self.html_with(Pictures::Embedded)
    }

    pub(crate) fn html_with(&self, pictures: Pictures<'_>) -> Result<String, DigestError> {
        templates::render(Template::Html, &view::of(self, pictures))
    }

    /// The page of a mail around what is each reader's own; Content-IDs of its charts end with
    /// `pictures`.
    pub(crate) fn reader_html(&self, pictures: &str) -> Result<ReaderHtml, DigestError> {
        let view = view::of(self, Pictures::Parts(pictures)).personal();
        ReaderHtml::split(&templates::render(Template::Html, &view)?)
    }

    /// The same over fewer sites.
    pub(crate) fn of_sites(&self, wanted: impl Fn(&str) -> bool) -> Digest {
        let mut fewer = self.clone();
        fewer.sites.retain(|s| wanted(&s.guidance.site));
        fewer
    }

    /// A mail with text, HTML and the charts within: multipart/alternative of text/plain and
    /// multipart/related, lines ended by CR LF.
    ///
    /// # Errors
    /// An address that is none, or whatever the other renderings refuse.
    pub fn eml(&self, stamp: &MailStamp) -> Result<Vec<u8>, DigestError> {
        mail::eml(self, stamp)
    }

    /// The charts that the HTML shows, with their places, in its order.
    pub(crate) fn shown_figures(&self) -> Vec<((usize, usize), &Figure)> {
        let sites = self.sites.iter().enumerate();
        sites
            .flat_map(|(i, site)| {
                let sets = site.full_sets();
                let figures = sets.into_iter().filter_map(|set| site.figure(&set.id));
                figures.map(move |(k, figure)| ((i, k), figure))
            })
            .collect()
    }
}

impl SiteDigest {
    /// All notices: those that were given, then those that follow from the guidance; at the end what
    /// is told after the chances.
    pub fn notices(&self) -> Vec<Notice> {
        let (mut all, last) = self.notices_by_place();
        all.extend(last);
        all
    }

    /// What is told before the chances, and what after them.
    pub(crate) fn notices_by_place(&self) -> (Vec<Notice>, Vec<Notice>) {
        let derived = notice::from_guidance(&self.guidance);
        let derived = derived.into_iter().filter(|n| !self.notices.contains(n));
        let all = self.notices.iter().cloned().chain(derived);
        all.partition(|notice| !notice.comes_last())
    }

    /// Sets explained in full, the likeliest pair first.
    pub(crate) fn full_sets(&self) -> Vec<&SetGuidance> {
        let sets = self.guidance.sets.iter();
        let mut full: Vec<_> = sets
            .filter(|s| s.chance_together >= WORTH_READING)
            .collect();
        full.sort_by(|a, b| b.chance_together.total_cmp(&a.chance_together));
        full
    }

    /// Sets with a line only, in the order of the guidance.
    pub(crate) fn brief_sets(&self) -> Vec<&SetGuidance> {
        let in_full = self.full_sets();
        let sets = self.guidance.sets.iter();
        sets.filter(|s| !in_full.iter().any(|f| f.id == s.id))
            .collect()
    }

    fn figure(&self, set: &str) -> Option<(usize, &Figure)> {
        self.figures.iter().enumerate().find(|(_, f)| f.set == set)
    }
}

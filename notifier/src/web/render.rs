//! From what is asked for to what is sent.

use super::address::{Addresses, Place};
use super::ask::{Ask, Weight};
use super::snapshot::{ShownSite, Snapshot};
use super::{
    api, calendar, feed, handout, page, plan, practice, set, sites, species, this_season, week,
    year,
};
use crate::chart;
use chrono::{DateTime, SubsecRound, Utc};
use flate2::Compression;
use flate2::write::GzEncoder;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::Write as _;

/// Something made, ready to be sent again and again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// Its media type.
    pub kind: &'static str,
    /// Its bytes.
    pub body: Vec<u8>,
    /// The same compressed.
    pub(super) gzip: Vec<u8>,
    /// What tells these bytes from all others, in hexadecimal digits.
    pub(super) tag: String,
    /// When it was made, to the second: it has not changed since.
    pub(super) since: DateTime<Utc>,
}

/// Why something is not sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// Nothing is there, or nothing that anybody may know of.
    Absent,
    /// It would make sense, but nothing is told of it: why, a sentence without a full stop.
    Beyond(String),
    /// The question makes no sense, a sentence without a full stop.
    Wrong(String),
    /// It is our fault; the log says why.
    Broken,
}

impl Refusal {
    /// Logs why, and keeps it from the reader.
    pub(super) fn broken(why: impl std::fmt::Display) -> Self {
        tracing::error!("a page could not be made: {why}");
        Refusal::Broken
    }
}

impl From<minijinja::Error> for Refusal {
    fn from(error: minijinja::Error) -> Self {
        Refusal::broken(format!("{error:#}"))
    }
}

/// What a page is made from.
pub(super) struct Making<'a> {
    pub(super) snapshot: &'a Snapshot,
    pub(super) addresses: &'a Addresses,
    pub(super) now: DateTime<Utc>,
}

impl<'a> Making<'a> {
    /// The site, if everybody may know of it.
    pub(super) fn site(&self, id: &str) -> Result<&'a ShownSite, Refusal> {
        self.snapshot.site(id).ok_or(Refusal::Absent)
    }

    /// The address of a place for those who read it elsewhere: whole, where the service is known
    /// by a public one.
    pub(super) fn absolute(&self, place: &Place) -> String {
        let to = self.addresses.to(place);
        let public = self.snapshot.workspace.service.public_url.as_ref();
        match public.filter(|_| !self.addresses.is_folder()) {
            Some(public) => public.join(&to).map_or(to, String::from),
            None => to,
        }
    }
}

pub(super) const HTML: &str = "text/html; charset=utf-8";
const CSS: &str = "text/css; charset=utf-8";
const TTF: &str = "font/ttf";

fn letters(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Regular => chart::REGULAR,
        Weight::Bold => chart::BOLD,
    }
}

/// Renders what is asked for.
///
/// # Errors
/// [`Refusal`] where there is no such thing.
pub fn render(
    snapshot: &Snapshot,
    ask: &Ask,
    addresses: &Addresses,
    now: DateTime<Utc>,
) -> Result<Made, Refusal> {
    let making = &Making {
        snapshot,
        addresses,
        now,
    };
    let (kind, text) = match ask {
        Ask::Letters(weight) => return Made::new(TTF, letters(*weight).to_vec(), now),
        Ask::YearFile(site, file) => {
            let (kind, body) = year::file(making, making.site(site)?, *file)?;
            return Made::new(kind, body, now);
        }
        Ask::Year(site) => (HTML, year::page(making, making.site(site)?)?),
        Ask::Home => (HTML, sites::page(making)?),
        Ask::Style => (CSS, page::STYLE.to_owned()),
        Ask::Practice(step) => (HTML, practice::page(making, step)?),
        Ask::HandoutStyle => (CSS, crate::handout::STYLE.to_owned()),
        Ask::SheetStyle => (CSS, crate::plan::sheet::STYLE.to_owned()),
        Ask::Plan(site) => (HTML, plan::page(making, site.as_deref())?),
        Ask::PlanCalendar(site) => (
            calendar::CALENDAR,
            plan::calendar::feed(making, site.as_deref())?,
        ),
        Ask::Sheets(site) => (HTML, plan::sheets::page(making, making.site(site)?)?),
        Ask::Handout(site, id) => (HTML, handout::page(making, making.site(site)?, id)?),
        Ask::Season(site, called) => {
            let site = making.site(site)?;
            (HTML, this_season::page(making, site, *called)?)
        }
        Ask::Set(site, id) => (HTML, set::page(making, making.site(site)?, id)?),
        Ask::Species(site, slug) => (HTML, species::page(making, making.site(site)?, slug)?),
        Ask::Feed(site) => (feed::ATOM, feed::feed(making, making.site(site)?)?),
        Ask::Calendar(site) => (
            calendar::CALENDAR,
            calendar::calendar(making, making.site(site)?)?,
        ),
        Ask::Api(ask) => (api::JSON, api::answer(making, ask)?),
        Ask::Week(site, monday) => (HTML, week::page(making, making.site(site)?, *monday)?),
    };
    Made::new(kind, text.into_bytes(), now)
}

impl Made {
    pub(super) fn new(
        kind: &'static str,
        body: Vec<u8>,
        now: DateTime<Utc>,
    ) -> Result<Self, Refusal> {
        let mut tag = String::with_capacity(32);
        for byte in Sha256::digest(&body).iter().take(16) {
            // a String takes all that is written to it
            let _ = write!(tag, "{byte:02x}");
        }
        let mut encoder = GzEncoder::new(Vec::new(), Compression::default());
        let packed = encoder.write_all(&body).and_then(|()| encoder.finish());
        Ok(Made {
            kind,
            gzip: packed.map_err(Refusal::broken)?,
            body,
            tag,
            since: now.trunc_subsecs(0),
        })
    }
}

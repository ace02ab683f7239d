//! The frame that every page stands in, and the templates.

use super::address::{Addresses, Place};
use super::snapshot::{ShownSite, Snapshot};
use crate::{templates, words};
use minijinja::Environment;
use minijinja::value::Serde;
use serde::Serialize;
use std::sync::OnceLock;

/// The one style sheet, which no page needs to be read.
pub const STYLE: &str = include_str!("../../templates/web/style.css");

/// What stands about a page's own content.
#[derive(Debug, Clone, Serialize)]
pub struct Frame {
    /// The page's heading, and its title before the workspace's name.
    pub title: String,
    /// Name of the workspace.
    pub workspace: String,
    /// BCP 47 tag of the words.
    pub language: &'static str,
    /// Address of the style sheet.
    pub style: String,
    /// The way to the page, from all sites on.
    pub trail: Vec<Link>,
    /// Pages beside it, the present one without an address.
    pub nav: Vec<Link>,
    /// A site's feed.
    pub feed: Option<Link>,
    /// What is to be known of the whole.
    pub about: Option<String>,
    /// Who keeps the counts, without a mail address.
    pub keeper: Option<String>,
}

/// A link, or where one is without going anywhere.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Link {
    /// Its words.
    pub words: String,
    /// Its address; None for the page itself.
    pub to: Option<String>,
}

impl Link {
    /// A link.
    pub fn new(words: impl Into<String>, to: impl Into<String>) -> Self {
        Link {
            words: words.into(),
            to: Some(to.into()),
        }
    }

    /// Words without an address.
    pub fn here(words: impl Into<String>) -> Self {
        Link {
            words: words.into(),
            to: None,
        }
    }
}

impl Frame {
    /// A page of the workspace as a whole.
    pub fn new(title: impl Into<String>, snapshot: &Snapshot, addresses: &Addresses) -> Self {
        let home = addresses.to(&Place::Home);
        Frame {
            title: title.into(),
            trail: vec![Link::new("All sites", home)],
            about: snapshot.workspace.about.clone(),
            keeper: snapshot.workspace.keeper.as_deref().and_then(name_of),
            ..Frame::bare(&snapshot.workspace.name, addresses)
        }
    }

    /// A page of a site.
    pub fn of_site(
        title: impl Into<String>,
        snapshot: &Snapshot,
        site: &ShownSite,
        addresses: &Addresses,
    ) -> Self {
        let (id, name) = (site.site.id.as_str(), &site.site.name);
        let mut frame = Frame::new(title, snapshot, addresses);
        frame
            .trail
            .push(Link::new(name, addresses.to(&Place::Site(id))));
        let feed = addresses.to(&Place::Feed(id));
        let plan = snapshot.has_plan(Some(id));
        frame.nav = vec![
            Link::new("This week", addresses.to(&Place::Site(id))),
            Link::new("This season", addresses.to(&Place::Season(id, None))),
            Link::new("The year", addresses.to(&Place::Year(id))),
            Link::new(
                "Windows for your calendar",
                addresses.to(&Place::Calendar(id)),
            ),
            Link::new("Feed", feed.clone()),
        ];
        let planned = || Link::new(PLANNED, addresses.to(&Place::Plan(Some(id))));
        frame.nav.extend(plan.then(planned));
        frame.nav.extend(subscribe(snapshot, addresses));
        frame.feed = Some(Link::new(format!("Each week at {name}"), feed));
        frame
    }

    /// With the page itself named among those beside it, where it leads nowhere.
    pub fn at(mut self, own: &str) -> Self {
        let beside = self.nav.iter_mut();
        for link in beside.filter(|link| link.to.as_deref() == Some(own)) {
            link.to = None;
        }
        self
    }

    /// Without a way to anywhere.
    pub fn bare(workspace: &str, addresses: &Addresses) -> Self {
        Frame {
            title: workspace.to_owned(),
            workspace: workspace.to_owned(),
            language: words::LANGUAGE,
            style: addresses.to(&Place::Style),
            trail: Vec::new(),
            nav: Vec::new(),
            feed: None,
            about: None,
            keeper: None,
        }
    }
}

/// How the page of planned visits is linked.
pub(super) const PLANNED: &str = "Planned visits";

/// The way to the digest by mail, where readers may put themselves on the list: a service takes them
/// alone, not files in a folder.
pub(super) fn subscribe(snapshot: &Snapshot, addresses: &Addresses) -> Option<Link> {
    let workspace = &snapshot.workspace;
    let is_open = workspace.service.subscribe && workspace.mail.is_some();
    let to = addresses.to(&Place::Subscribe);
    (is_open && !addresses.is_folder()).then(|| Link::new("The digest by mail", to))
}

/// A keeper's name without the address: pages are read by machines that collect those.
pub(crate) fn name_of(keeper: &str) -> Option<String> {
    let name = keeper.split('<').next().unwrap_or_default().trim();
    (!name.is_empty() && !name.contains('@')).then(|| name.to_owned())
}

#[derive(Serialize)]
struct Framed<'a, V> {
    frame: &'a Frame,
    view: &'a V,
}

/// A page: a template that extends `base.html`, within its frame.
///
/// # Errors
/// A template that does not fit its view, which is a fault of the program.
pub fn render(
    template: &str,
    frame: &Frame,
    view: &impl Serialize,
) -> Result<String, minijinja::Error> {
    let template = environment()?.get_template(template)?;
    Ok(template.render(Serde(Framed { frame, view }))? + "\n")
}

/// The templates by name.
const TEMPLATES: &[(&str, &str)] = &[
    ("base.html", include_str!("../../templates/web/base.html")),
    (
        "choices.html",
        include_str!("../../templates/web/choices.html"),
    ),
    (
        "confirm.html",
        include_str!("../../templates/web/confirm.html"),
    ),
    ("enter.html", include_str!("../../templates/web/enter.html")),
    (
        "fields.html",
        include_str!("../../templates/web/fields.html"),
    ),
    (
        "keeper.html",
        include_str!("../../templates/web/keeper.html"),
    ),
    (
        "second_looks.html",
        include_str!("../../templates/web/second_looks.html"),
    ),
    ("said.html", include_str!("../../templates/web/said.html")),
    (
        "subscribe.html",
        include_str!("../../templates/web/subscribe.html"),
    ),
    ("error.html", include_str!("../../templates/web/error.html")),
    (
        "practice.html",
        include_str!("../../templates/web/practice.html"),
    ),
    ("plan.html", include_str!("../../templates/web/plan.html")),
    ("plan.svg", include_str!("../../templates/web/plan.svg")),
    ("season.svg", include_str!("../../templates/web/season.svg")),
    ("set.html", include_str!("../../templates/web/set.html")),
    ("shares.svg", include_str!("../../templates/web/shares.svg")),
    ("sites.html", include_str!("../../templates/web/sites.html")),
    (
        "species.html",
        include_str!("../../templates/web/species.html"),
    ),
    (
        "this_season.html",
        include_str!("../../templates/web/this_season.html"),
    ),
    ("week.html", include_str!("../../templates/web/week.html")),
    ("year.html", include_str!("../../templates/web/year.html")),
];

fn environment() -> Result<&'static Environment<'static>, minijinja::Error> {
    static MADE: OnceLock<Environment<'static>> = OnceLock::new();
    if let Some(made) = MADE.get() {
        return Ok(made);
    }
    let env = templates::environment(TEMPLATES)?;
    Ok(MADE.get_or_init(|| env))
}

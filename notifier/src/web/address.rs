//! Where things are: under the service, or in a folder of files.

use super::ask::{Weight, YearFile};
use crate::season::named::typed;
use forecast::calendar::IsoWeek;
use forecast::fit::PassageName;

/// Something that can be linked to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place<'a> {
    /// All sites.
    Home,
    /// The style sheet.
    Style,
    /// The letters of charts.
    Letters(Weight),
    /// This week at a site.
    Site(&'a str),
    /// A week at a site.
    Week(&'a str, IsoWeek),
    /// A season at a site; the one under way where None.
    Season(&'a str, Option<(i32, PassageName)>),
    /// The year of a site.
    Year(&'a str),
    /// The same to print.
    YearFile(&'a str, YearFile),
    /// A set at a site.
    Set(&'a str, &'a str),
    /// A set at a site on two sides, to hand out.
    Handout(&'a str, &'a str),
    /// The style sheet of handouts.
    HandoutStyle,
    /// Birds drawn by lot to practise on.
    Practice,
    /// A species at a site, by its slug.
    Species(&'a str, &'a str),
    /// A site's Atom feed.
    Feed(&'a str),
    /// A site's windows as a calendar.
    Calendar(&'a str),
    /// Planned visits: of a site, or of all.
    Plan(Option<&'a str>),
    /// The same as a calendar.
    PlanCalendar(Option<&'a str>),
    /// Field sheets of a site's planned visits.
    Sheets(&'a str),
    /// The style sheet of field sheets.
    SheetStyle,
    /// What programs may ask.
    Api,
    /// Where readers put themselves on the list.
    Subscribe,
}

/// How addresses are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Addresses {
    /// As paths of a service, below this path of its public address ("" or "/birds").
    Service(String),
    /// As relative paths of files, from one so many folders down.
    Folder(usize),
}

impl Addresses {
    /// The address of a place, as a link has it.
    pub fn to(&self, place: &Place) -> String {
        match self {
            Addresses::Service(below) => format!("{below}{}", served(place)),
            Addresses::Folder(down) => format!("{}{}", "../".repeat(*down), filed(place)),
        }
    }

    /// Are only some weeks there?
    pub fn is_folder(&self) -> bool {
        matches!(self, Addresses::Folder(_))
    }
}

fn served(place: &Place) -> String {
    match place {
        Place::Home => "/".to_owned(),
        Place::Style => "/style.css".to_owned(),
        Place::Letters(_) => format!("/{}", filed(place)),
        Place::Site(site) => format!("/{site}"),
        Place::Week(site, week) => format!("/{site}?week={week}"),
        Place::Season(site, None) => format!("/{site}/season"),
        Place::Season(site, Some(season)) => format!("/{site}/season/{}", typed(*season)),
        Place::Year(site) => format!("/{site}/year"),
        Place::YearFile(..) => format!("/{}", filed(place)),
        Place::Set(site, set) => format!("/{site}/set/{set}"),
        Place::Handout(site, set) => format!("/{site}/set/{set}/handout"),
        Place::Practice => "/practice".to_owned(),
        Place::HandoutStyle => "/handout.css".to_owned(),
        Place::Species(site, slug) => format!("/{site}/species/{slug}"),
        Place::Feed(site) => format!("/{site}/atom.xml"),
        Place::Calendar(site) => format!("/{site}/windows.ics"),
        Place::Plan(None) => "/plan".to_owned(),
        Place::Plan(Some(site)) => format!("/{site}/plan"),
        Place::PlanCalendar(_) | Place::SheetStyle => format!("/{}", filed(place)),
        Place::Sheets(site) => format!("/{site}/plan/sheets"),
        Place::Api => "/api/v1/openapi.json".to_owned(),
        Place::Subscribe => "/subscribe".to_owned(),
    }
}

/// The file of a place in a folder of pages.
pub(super) fn filed(place: &Place) -> String {
    match place {
        Place::Home => "index.html".to_owned(),
        Place::Style => "style.css".to_owned(),
        Place::Letters(Weight::Regular) => "letters.ttf".to_owned(),
        Place::Letters(Weight::Bold) => "letters-bold.ttf".to_owned(),
        Place::Site(site) => format!("{site}/index.html"),
        Place::Week(site, week) => format!("{site}/{week}.html"),
        Place::Season(site, None) => format!("{site}/season.html"),
        Place::Season(site, Some(season)) => format!("{site}/season/{}.html", typed(*season)),
        Place::Year(site) => format!("{site}/year.html"),
        Place::YearFile(site, YearFile::Pdf) => format!("{site}/year.pdf"),
        Place::YearFile(site, YearFile::Png(sheet)) => format!("{site}/year-{sheet}.png"),
        Place::Set(site, set) => format!("{site}/set/{set}.html"),
        Place::Handout(site, set) => format!("{site}/handout/{set}.html"),
        // it answers, so that no file can hold it
        Place::Practice => "index.html".to_owned(),
        Place::HandoutStyle => "handout.css".to_owned(),
        Place::Species(site, slug) => format!("{site}/species/{slug}.html"),
        Place::Feed(site) => format!("{site}/atom.xml"),
        Place::Calendar(site) => format!("{site}/windows.ics"),
        Place::Plan(None) => "plan.html".to_owned(),
        Place::Plan(Some(site)) => format!("{site}/plan.html"),
        Place::PlanCalendar(None) => "plan.ics".to_owned(),
        Place::PlanCalendar(Some(site)) => format!("{site}/plan.ics"),
        Place::Sheets(site) => format!("{site}/sheets.html"),
        Place::SheetStyle => "sheets.css".to_owned(),
        Place::Api => "api/v1/openapi.json".to_owned(),
        // a form that no folder of files has
        Place::Subscribe => "subscribe".to_owned(),
    }
}

/// A species in an address: its scientific name in lower case, joined by hyphens.
pub fn slug(scientific: &str) -> String {
    let words = scientific.split_whitespace().map(str::to_lowercase);
    words.collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_needs_no_server() {
        let folder = Addresses::Folder(2);
        let set = Place::Set("long-bank", "small-sandpipers");
        assert_eq!(folder.to(&set), "../../long-bank/set/small-sandpipers.html");
        let service = Addresses::Service(String::new());
        assert_eq!(service.to(&set), "/long-bank/set/small-sandpipers");
        assert_eq!(slug("Calidris minuta"), "calidris-minuta");
    }
}

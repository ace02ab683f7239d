//! A set at a site on two sides, to print and hand out.

use super::address::Place;
use super::render::{Making, Refusal};
use super::set;
use super::snapshot::ShownSite;
use crate::handout::{About, Dress, Handout};

/// The page.
pub(super) fn page(making: &Making, site: &ShownSite, id: &str) -> Result<String, Refusal> {
    let workspace = &making.snapshot.workspace;
    let view = site.view(workspace).ok_or(Refusal::Absent)?;
    let set = set::shown(making, &view, id)?;
    let about = About {
        licence: workspace.licence.clone(),
        whole: whole(making, site, id),
        date: site.today(making.now),
    };
    let to = |place: &Place| making.addresses.to(place);
    let site_id = site.site.id.as_str();
    let dress = Dress::Served {
        style: to(&Place::HandoutStyle),
        trail: vec![
            ("All sites".to_owned(), to(&Place::Home)),
            (site.site.name.clone(), to(&Place::Site(site_id))),
            (set.title.clone(), to(&Place::Set(site_id, id))),
        ],
    };
    let handout = Handout::of(&view, set, &about).map_err(Refusal::broken)?;
    handout.html(&dress).map_err(Refusal::broken)
}

/// Where all of the set is told, as somebody with paper in hand can find it.
fn whole(making: &Making, site: &ShownSite, id: &str) -> String {
    let public = making.snapshot.workspace.service.public_url.as_ref();
    match public.filter(|_| !making.addresses.is_folder()) {
        Some(_) => making.absolute(&Place::Set(&site.site.id, id)),
        None => "the page of the set".to_owned(),
    }
}

//! What programs may ask for: the documents of the commands' `--json`, as far as everybody may see
//! them, and a description of it all (OpenAPI 3.1).

mod described;
mod schema;

pub(super) use described::document;

use super::address::slug;
use super::ask::ApiAsk;
use super::render::{Making, Refusal};
use super::set::is_shown;
use super::snapshot::ShownSite;
use super::{species, week};
use crate::guidance::{self, SiteView, document as documents};
use crate::plan;
use crate::windows;
use config::look_alikes::LookAlikeSet;
use forecast::fit::SpeciesFit;
use forecast::year_curve::YearCurve;
use serde_json::{Value, json};

pub(super) const JSON: &str = "application/json";

/// The document asked for.
pub(super) fn answer(making: &Making, ask: &ApiAsk) -> Result<String, Refusal> {
    let value = match ask {
        ApiAsk::Described => document(making.addresses),
        ApiAsk::Sites => sites(making),
        ApiAsk::Week(site, monday) => {
            let site = making.site(site)?;
            let date = week::date_of(site.today(making.now), *monday)?;
            documents::week(&guidance::week(&view(making, site)?, date))
        }
        ApiAsk::Windows(site) => {
            let site = making.site(site)?;
            let view = view(making, site)?;
            let rows: Vec<_> = windows::rows(&site.site.id, view.fits).collect();
            serde_json::to_value(rows).map_err(Refusal::broken)?
        }
        ApiAsk::Curve(site, wanted) => {
            let site = making.site(site)?;
            let view = view(making, site)?;
            let species = species::find(&view, wanted).ok_or(Refusal::Absent)?;
            let fit = view.fits.get(species).and_then(with_curve);
            documents::curve(fit.ok_or(Refusal::Absent)?, view.watched)
        }
        ApiAsk::Plans(site) => {
            let id = making.site(site)?.site.id.as_str();
            let plans = making.snapshot.plans.as_ref();
            let plans = plans.ok_or_else(|| Refusal::broken("the kept plan cannot be read"))?;
            plans.of_site(id).map(plan::document::document).collect()
        }
        ApiAsk::Sets(site) => {
            let site = making.site(site)?;
            sets(&view(making, site)?)
        }
    };
    Ok(format!("{value:#}\n"))
}

fn view<'a>(making: &Making<'a>, site: &'a ShownSite) -> Result<SiteView<'a>, Refusal> {
    site.view(&making.snapshot.workspace).ok_or(Refusal::Absent)
}

fn sites(making: &Making) -> Value {
    let site = |s: &ShownSite| {
        json!({
            "site": s.site.id,
            "name": s.site.name,
            "time_zone": s.site.time_zone.name(),
            "region": s.site.region.0,
            "today": s.today(making.now),
            "ready": s.data.is_some(),
        })
    };
    making.snapshot.sites.iter().map(site).collect()
}

fn sets(view: &SiteView) -> Value {
    let member = |species: &str| {
        json!({
            "species": species,
            "name": view.shown_name(species),
            "recorded": view.found_here(species),
            "curve": view.fits.get(species).and_then(with_curve).map(|_| slug(species)),
        })
    };
    let set = |set: &LookAlikeSet| {
        let members = set.members.iter().map(|m| member(&m.species));
        json!({
            "set": set.id,
            "title": set.title,
            "members": members.collect::<Vec<_>>(),
            "review": set.review,
            "source": set.source,
        })
    };
    let shown = view
        .workspace
        .look_alikes
        .iter()
        .filter(|s| is_shown(view, s));
    shown.map(set).collect()
}

fn with_curve(fit: &SpeciesFit) -> Option<&YearCurve> {
    fit.curve.as_ref()
}

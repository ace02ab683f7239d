//! Where and when a set is asked for.

use crate::cli::Failure;
use crate::cli::args::Set;
use crate::cli::session::{today, today_utc};
use crate::lesson::Lesson;
use chrono::{Datelike, NaiveDate};
use config::look_alikes::regions::REGIONS;
use config::look_alikes::{LookAlikeSet, Region};
use config::nearest::nearest;
use config::settings::{Site, Workspace};
use std::collections::BTreeMap;

/// Region and date that were asked for, with the names to show.
pub struct Place<'w> {
    /// The site of the workspace; None where there is no workspace, or no one site was meant.
    pub site: Option<&'w Site>,
    /// Where; None for all regions.
    pub region: Option<Region>,
    /// When; None for the whole year.
    pub date: Option<NaiveDate>,
    names: BTreeMap<String, String>,
}

impl<'w> Place<'w> {
    /// The region asked for, else the site's, else the only one of the set. A date needs one.
    ///
    /// # Errors
    /// A site or region that there is not, or a date without a region.
    pub fn new(
        workspace: Option<&'w Workspace>,
        set: &LookAlikeSet,
        args: &Set,
    ) -> Result<Self, Failure> {
        let site = site(workspace, args.site.as_deref())?;
        let known: Vec<&Region> = set.regions().into_iter().collect();
        let region = match (&args.region, site, known.as_slice()) {
            (Some(name), ..) => Some(region(name)?),
            (None, Some(site), _) => Some(site.region.clone()),
            (None, None, [only]) => Some((*only).clone()),
            (None, None, _) => None,
        };
        let asked = args.key.then(|| site.map_or_else(today_utc, today));
        let date = args.date.or(asked);
        if date.is_some() && region.is_none() {
            let names: Vec<&str> = known.iter().map(|r| r.0.as_str()).collect();
            return Err(Failure::new(format!(
                "which region? name one with --region: {}",
                names.join(", ")
            )));
        }
        let place = Place {
            site,
            region,
            date,
            names: workspace.map(names).unwrap_or_default(),
        };
        match place.lesson(set).about().is_empty() {
            true => Err(nobody(set, &known)),
            false => Ok(place),
        }
    }

    /// The set as it holds there and then.
    pub fn lesson<'a>(&self, set: &'a LookAlikeSet) -> Lesson<'a> {
        Lesson {
            set,
            region: self.region.clone(),
            month: self.date.map(|d| d.month() as u8),
            names: self.names.clone(),
        }
    }
}

fn nobody(set: &LookAlikeSet, known: &[&Region]) -> Failure {
    let names: Vec<&str> = known.iter().map(|r| r.0.as_str()).collect();
    let failure = Failure::new(format!(
        "no plumage of the set \"{}\" is stated for that region and month",
        set.id
    ));
    match names.is_empty() {
        true => failure.hint("it is a set of members alone, without marks"),
        false => failure.hint(format!("it is written for {}", names.join(", "))),
    }
}

fn site<'w>(
    workspace: Option<&'w Workspace>,
    id: Option<&str>,
) -> Result<Option<&'w Site>, Failure> {
    let sites = workspace.map_or(&[][..], |w| &w.sites[..]);
    let Some(id) = id else {
        return Ok(match sites {
            [only] => Some(only),
            _ => None,
        });
    };
    let found = sites.iter().find(|s| s.id == id);
    found.map(Some).ok_or_else(|| {
        let failure = Failure::new(format!("there is no site \"{id}\""));
        match nearest(id, sites.iter().map(|s| s.id.as_str())) {
            Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
            None => failure,
        }
    })
}

fn region(name: &str) -> Result<Region, Failure> {
    let names = || REGIONS.iter().map(|(name, _)| *name);
    if names().any(|known| known == name) {
        return Ok(Region(name.to_owned()));
    }
    let all: Vec<&str> = names().collect();
    let failure = Failure::new(format!(
        "there is no region \"{name}\"; they are {}",
        all.join(", ")
    ));
    Err(match nearest(name, names()) {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => failure,
    })
}

/// Names in the workspace's language.
fn names(workspace: &Workspace) -> BTreeMap<String, String> {
    let language = &workspace.language;
    let in_sets = workspace.look_alikes.iter().flat_map(|s| &s.members);
    let in_sets = in_sets.map(|m| (&m.species, &m.names));
    let own = workspace.species.iter().map(|s| (&s.scientific, &s.names));
    // the workspace's own come last and win
    in_sets
        .chain(own)
        .filter_map(|(species, names)| Some((species.clone(), names.get(language)?.clone())))
        .collect()
}

//! What everybody may see, decided here alone: pages, feeds and programs get what this leaves.
//!
//! The rules are those of `export` (`ingest/src/export/sensitive.rs`), on what is forecast:
//!
//! * A site withheld is not there at all.
//! * A site coarsened has another id and name ([`Aliases`]), and no words of its own that would tell
//!   where it is.
//! * A species withheld or coarsened is left out of counts, fits and sets before anything is worked
//!   out: a chance or a share at a site would tell the site. Visits that told of such species alone
//!   go too, and so do half-years of which nothing else is left.
//! * A set whose id names such a species goes by another id, and so does each set of the
//!   workspace's own that has one for a member: its id may be a code for the name.
//! * Of kept plans what [`plan`] leaves.

pub mod plan;

use super::aliases::Aliases;
use super::kept_names::{KeptNames, LeftNames};
use crate::loaded::SiteData;
use crate::record::LookBack;
use chrono::{Datelike, NaiveDate};
use config::look_alikes::{LookAlikeSet, Member, is_shipped};
use config::sensitive::Sensitive;
use config::settings::{Site, Species, Workspace};
use forecast::series::{Count, CountSeries, Visit};
use forecast::watched::Watched;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Sites as shown, each after the id that the store knows it by.
pub fn sites<'w>(workspace: &'w Workspace, aliases: &Aliases) -> Vec<(&'w str, Site)> {
    let shown = |site: &'w Site| {
        let shown = match site.sensitive {
            None => site.clone(),
            Some(Sensitive::Withhold) => return None,
            // one without an alias is not there: better too little is shown than its name
            Some(Sensitive::Coarsen { .. }) => coarse(site, aliases.site(&site.id)?),
        };
        Some((site.id.as_str(), shown))
    };
    workspace.sites.iter().filter_map(shown).collect()
}

/// Under another name, without what its keeper says of the place.
fn coarse(site: &Site, alias: &str) -> Site {
    Site {
        id: format!("area-{alias}"),
        name: format!("Area {}", alias.to_uppercase()),
        cautions: None,
        ..site.clone()
    }
}

/// Settings as shown: species and sets without those kept back. Sources, recipients and all that
/// pages do not tell stay as they are, as no page is given them.
pub fn workspace(workspace: &Workspace, aliases: &Aliases) -> Workspace {
    let hidden = Hidden::of(workspace);
    let mut shown = workspace.clone();
    let sites = sites(workspace, aliases).into_iter();
    shown.sites = sites.map(|(_, site)| site).collect();
    shown.species.retain(|s| s.sensitive.is_none());
    for sets in [&mut shown.look_alikes, &mut shown.library] {
        for set in sets.iter_mut() {
            without(set, &hidden, workspace, aliases);
        }
        sets.retain(|set| set.members.len() >= 2);
    }
    shown
}

/// The species kept back, and all names of the others that are known.
struct Hidden<'a> {
    species: Vec<&'a Species>,
    others: Vec<String>,
}

impl<'a> Hidden<'a> {
    fn of(workspace: &'a Workspace) -> Self {
        let species = kept_back(workspace);
        if species.is_empty() {
            return Hidden {
                species,
                others: Vec::new(),
            };
        }
        let is_open = |name: &str| !species.iter().any(|k| k.scientific == name);
        let sets = workspace.look_alikes.iter().chain(&workspace.library);
        let members = sets.flat_map(|set| &set.members);
        let members = members.filter(|m| is_open(&m.species));
        let mut others: Vec<String> = members.flat_map(|m| called(m, workspace)).collect();
        let listed = workspace.species.iter().filter(|s| s.sensitive.is_none());
        others.extend(listed.flat_map(|s| s.names.values().chain([&s.scientific]).cloned()));
        others.sort();
        others.dedup();
        Hidden { species, others }
    }
}

fn kept_back(workspace: &Workspace) -> Vec<&Species> {
    let all = workspace.species.iter();
    all.filter(|s| s.sensitive.is_some()).collect()
}

/// The id under which a set is shown.
pub fn set_id(set: &LookAlikeSet, workspace: &Workspace, aliases: &Aliases) -> String {
    let mut shown = set.clone();
    without(&mut shown, &Hidden::of(workspace), workspace, aliases);
    shown.id
}

/// What a set says where its own words name a species that is kept back.
const ELSEWHERE: &str = "see the set's own file";

/// A set without these species, and without what names them.
fn without(set: &mut LookAlikeSet, hidden: &Hidden, workspace: &Workspace, aliases: &Aliases) {
    let kept = hidden.species.as_slice();
    if kept.is_empty() {
        return;
    }
    let is_kept = |species: &str| kept.iter().any(|k| k.scientific == species);
    let left = set.members.iter().filter(|m| !is_kept(&m.species));
    let left: Vec<String> = left.flat_map(|m| called(m, workspace)).collect();
    let left = LeftNames {
        members: &left,
        known: &hidden.others,
    };
    let names = KeptNames::of(set, kept, &left);
    let tells = |text: &str| names.told_by(text);
    let has_kept = set.members.iter().any(|m| is_kept(&m.species));
    let by_code = has_kept && !is_shipped(&set.id);
    set.members.retain(|m| !is_kept(&m.species));
    if by_code || names.told_by_title(&set.id) {
        set.id = format!("set-{}", aliases.set(&set.id).unwrap_or("unnamed"));
    }
    if names.told_by_title(&set.title) {
        let left = set.members.iter();
        let left: Vec<&str> = left.map(|m| workspace.shown_name(&m.species)).collect();
        set.title = title(&left);
    }
    without_words(set, is_kept, tells);
}

/// A set without what its words say of species that are kept back.
fn without_words(
    set: &mut LookAlikeSet,
    is_kept: impl Fn(&str) -> bool,
    tells: impl Fn(&str) -> bool,
) {
    for said in [&mut set.review, &mut set.source] {
        if tells(said) {
            *said = ELSEWHERE.to_owned();
        }
    }
    for member in &mut set.members {
        member.describe.take_if(|text| tells(text));
        for worn in &mut member.plumages {
            worn.moult.take_if(|text| tells(text));
        }
    }
    for mark in &mut set.marks {
        for shows in &mut mark.shows {
            shows.members.retain(|m| !is_kept(m));
        }
        mark.shows
            .retain(|s| !s.members.is_empty() && !tells(&s.text));
        mark.not_between.retain(|(a, b)| !is_kept(a) && !is_kept(b));
        mark.traps.retain(|trap| !tells(&trap.text));
    }
    set.marks.retain(|m| !m.shows.is_empty() && !tells(&m.part));
    set.cannot_tell
        .retain(|c| !tells(&c.text) && !c.members.iter().any(|m| is_kept(m)));
}

/// All names of a member.
fn called(member: &Member, workspace: &Workspace) -> Vec<String> {
    let listed = workspace
        .species
        .iter()
        .filter(|s| s.scientific == member.species);
    let listed = listed.flat_map(|s| s.names.values());
    let names = member.names.values().chain(listed).chain([&member.species]);
    names.cloned().collect()
}

/// The title of a set whose own names a species that is kept back.
fn title(members: &[&str]) -> String {
    match members {
        [one, other] => format!("{one} and {other}"),
        [one, other, ..] => format!("{one}, {other} and others"),
        // of less than two members no set is shown
        _ => String::new(),
    }
}

/// A site's data without the species kept back. What was worked out over all species together is
/// worked out anew, so that nothing can be told from the difference.
pub fn data(mut data: SiteData, workspace: &Workspace) -> SiteData {
    data.history.targeted.clear();
    data.history.undecided.clear();
    let before = recorded_halves(&data.history.species);
    let mut taken = false;
    for species in kept_back(workspace) {
        taken |= data.history.species.remove(&species.scientific).is_some();
        data.fits.remove(&species.scientific);
        data.issued.retain(|i| i.species != species.scientific);
    }
    if !taken {
        return data;
    }
    let gone: BTreeSet<(i32, bool)> = before
        .difference(&recorded_halves(&data.history.species))
        .copied()
        .collect();
    thin_out(&mut data, &gone);
    data.look_back = LookBack::of(
        &data.history.visits,
        &data.history.species,
        data.temperature.as_ref(),
    );
    data
}

/// Year, and whether it is the second half.
fn half(date: NaiveDate) -> (i32, bool) {
    (date.year(), date.month() > 6)
}

fn recorded_halves(species: &BTreeMap<String, CountSeries>) -> BTreeSet<(i32, bool)> {
    let found = species.values().flat_map(CountSeries::iter);
    let found = found.filter(|(_, count)| count.found() == Some(true));
    found.map(|(visit, _)| half(visit.date)).collect()
}

/// Leaves the visits that still tell something.
fn thin_out(data: &mut SiteData, gone: &BTreeSet<(i32, bool)>) {
    let history = &mut data.history;
    let told = |place: usize| {
        let full = history.unrecorded.count(place) == Count::Exactly(0);
        full || history
            .species
            .values()
            .any(|s| s.count(place) != Count::Unknown)
    };
    let all = Arc::clone(&history.visits);
    let kept: Vec<usize> = (0..all.len())
        .filter(|place| told(*place) && !gone.contains(&half(all[*place].date)))
        .collect();
    let visits: Arc<[Visit]> = kept.iter().map(|place| all[*place]).collect();
    let fewer = |series: &CountSeries| {
        let counts = kept.iter().map(|place| series.count(*place)).collect();
        // as many counts as visits, in the order they had
        CountSeries::new(Arc::clone(&visits), counts).ok()
    };
    let species = history.species.iter();
    let species = species.filter_map(|(name, series)| Some((name.clone(), fewer(series)?)));
    history.species = species.collect();
    if let Some(unrecorded) = fewer(&history.unrecorded) {
        history.unrecorded = unrecorded;
    }
    history.first_visit = visits.first().map(|v| v.date);
    history.last_visit = visits.last().map(|v| v.date);
    data.watched = Watched::from_visits(&visits);
    history.visits = visits;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_is_made_of_the_members_that_are_left() {
        assert_eq!(title(&["Dunlin", "Knot"]), "Dunlin and Knot");
        let three = title(&["Dunlin", "Knot", "Little Stint"]);
        assert_eq!(three, "Dunlin, Knot and others");
    }
}

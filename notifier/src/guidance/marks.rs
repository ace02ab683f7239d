//! Which marks of a set hold on the date, best first.

use super::SiteView;
use super::types::{MarkGuidance, MemberGuidance};
use config::look_alikes::{CannotTell, LookAlikeSet, Mark, Plumage, Shows, Trust};
use forecast::stands::OUTSIDE_BELOW;

/// What a set says on a date.
pub struct Chosen {
    /// Marks to trust, most trusted first.
    pub trusted: Vec<MarkGuidance>,
    /// Marks that change with light.
    pub not_to_rely_on: Vec<MarkGuidance>,
    /// What cannot be told apart.
    pub cannot_tell: Vec<String>,
    /// What a description must contain, by shown name.
    pub describe: Vec<(String, String)>,
}

/// A member that can be expected, with its plumages of the month.
struct Expected<'a> {
    species: &'a str,
    name: &'a str,
    chance: f64,
    plumages: Vec<Plumage>,
}

impl Expected<'_> {
    /// Its plumages of the month that a statement covers; an empty list covers all.
    fn covered(&self, plumages: &[Plumage]) -> Vec<Plumage> {
        self.plumages
            .iter()
            .copied()
            .filter(|p| Plumage::any_covers(plumages, *p))
            .collect()
    }
}

/// Picks what holds for the members and plumages that can be expected.
pub fn choose(
    view: &SiteView,
    set: &LookAlikeSet,
    members: &[MemberGuidance],
    month: u8,
) -> Chosen {
    let region = &view.site.region;
    let expected = expected(view, set, members, month);
    let mut ranked: Vec<(f64, MarkGuidance)> = set
        .marks
        .iter()
        .filter(|mark| mark.holds(region, month))
        .filter_map(|mark| holds(mark, &expected))
        .collect();
    ranked.sort_by(|(a, x), (b, y)| x.trust.cmp(&y.trust).then(b.total_cmp(a)));
    let marks = ranked.into_iter().map(|(_, m)| m);
    let (not_to_rely_on, trusted) = marks.partition(|m| m.trust == Trust::Light);
    Chosen {
        trusted,
        not_to_rely_on,
        cannot_tell: set
            .cannot_tell
            .iter()
            .filter(|c| c.in_month(month))
            .filter_map(|c| untold(c, &expected))
            .collect(),
        describe: expected
            .iter()
            .filter_map(|e| Some((e.name.to_owned(), set.member(e.species)?.describe.clone()?)))
            .collect(),
    }
}

/// Members that can be expected, with their plumages.
fn expected<'m>(
    view: &SiteView,
    set: &LookAlikeSet,
    members: &'m [MemberGuidance],
    month: u8,
) -> Vec<Expected<'m>> {
    let here = members.iter().filter(|m| view.found_here(&m.species));
    let about = here.filter(|m| !m.has_chance() || m.chance_week >= OUTSIDE_BELOW);
    let expected = about.filter_map(|m| {
        let member = set.member(&m.species)?;
        Some(Expected {
            species: &m.species,
            name: &m.name,
            // of which no chance is told it may be there or not
            chance: if m.has_chance() { m.chance_week } else { 0.5 },
            plumages: member.plumages_in(&view.site.region, month),
        })
    });
    expected.collect()
}

/// The mark as it holds for the members expected, with the weight of the pairs it separates:
/// the sum over pairs of the product of their chances. None where it separates none of them.
fn holds(mark: &Mark, expected: &[Expected]) -> Option<(f64, MarkGuidance)> {
    let mut plumages = Vec::new();
    let mut shows: Vec<(Vec<String>, String)> = Vec::new();
    let mut weights: Vec<f64> = Vec::new();
    for group in &mark.shows {
        let stated = stated_plumages(mark, group);
        let seen: Vec<(&Expected, Vec<Plumage>)> = expected
            .iter()
            .filter(|e| group.members.iter().any(|m| m == e.species))
            .map(|e| (e, e.covered(stated)))
            .filter(|(_, covered)| !covered.is_empty())
            .collect();
        if seen.is_empty() {
            continue;
        }
        plumages.extend(seen.iter().flat_map(|(_, covered)| covered.iter().copied()));
        shows.push((
            seen.iter().map(|(e, _)| e.name.to_owned()).collect(),
            group.text.clone(),
        ));
        weights.push(seen.iter().map(|(e, _)| e.chance).sum());
    }
    if shows.len() < 2 {
        return None;
    }
    plumages.sort_unstable();
    plumages.dedup();
    let total: f64 = weights.iter().sum();
    let separated = 0.5 * (total * total - weights.iter().map(|w| w * w).sum::<f64>());
    let every: Vec<Plumage> = expected
        .iter()
        .flat_map(|e| e.plumages.iter().copied())
        .collect();
    if every.iter().all(|p| plumages.contains(p)) {
        plumages.clear();
    }
    let guidance = MarkGuidance {
        part: mark.part.clone(),
        trust: mark.trust,
        shows,
        plumages,
        trap: mark.trap(),
    };
    Some((separated, guidance))
}

fn stated_plumages<'a>(mark: &'a Mark, group: &'a Shows) -> &'a [Plumage] {
    if group.plumages.is_empty() {
        &mark.plumages
    } else {
        &group.plumages
    }
}

/// Said only where two of its members can be expected in a plumage that it covers.
fn untold(entry: &CannotTell, expected: &[Expected]) -> Option<String> {
    let concerned = expected.iter().filter(|e| {
        entry.members.iter().any(|m| m == e.species) && !e.covered(&entry.plumages).is_empty()
    });
    (concerned.count() >= 2).then(|| entry.text.clone())
}

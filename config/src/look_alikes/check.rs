//! What must hold between the parts of a set. Each fault is a sentence without its place.

use super::{CannotTell, Mark, Member, Plumage, PlumageMonths, Region, Shows};
use crate::nearest::one_of;
use std::collections::BTreeSet;

/// A mark against the members of its set.
pub(super) fn mark(mark: &Mark, members: &[Member]) -> Vec<String> {
    let mut faults = separation(mark, members);
    faults.extend(exceptions(mark));
    let undescribed = regions(mark, members);
    // Where a region is wrong, no plumage could be right in it.
    if undescribed.is_empty() {
        faults.extend(plumages(mark, members));
    }
    faults.extend(undescribed);
    let name = format!("the mark {:?}", mark.part);
    faults
        .into_iter()
        .map(|fault| format!("{name} {fault}"))
        .collect()
}

fn plumages(mark: &Mark, members: &[Member]) -> Vec<String> {
    let all: Vec<&String> = mark.shows.iter().flat_map(|s| &s.members).collect();
    let mut faults: Vec<String> = never_worn(&mark.plumages, mark, &all, members)
        .into_iter()
        .collect();
    for shows in &mark.shows {
        let names: Vec<&String> = shows.members.iter().collect();
        let outside = subset(mark, shows);
        faults.extend(outside.or_else(|| never_worn(&shows.plumages, mark, &names, members)));
    }
    faults
}

/// Members in two groups, and none in two groups at once.
fn separation(mark: &Mark, members: &[Member]) -> Vec<String> {
    let named: BTreeSet<&String> = mark.shows.iter().flat_map(|s| &s.members).collect();
    if mark.shows.len() < 2 || named.len() < 2 {
        return vec![
            "separates nothing; expected two groups of shows or more, of different members"
                .to_owned(),
        ];
    }
    let mut faults = Vec::new();
    for (i, first) in mark.shows.iter().enumerate() {
        for second in &mark.shows[i + 1..] {
            let twice = |name: &&String| {
                let (a, b) = (mark.plumages_of(first), mark.plumages_of(second));
                second.members.contains(name) && meet(members, name, a, b)
            };
            if let Some(member) = first.members.iter().find(twice) {
                faults.push(format!("shows {member} in two groups for the same plumage; expected each member once, or different plumages"));
            }
        }
    }
    faults
}

/// An exception is of two members that the mark would separate.
fn exceptions(mark: &Mark) -> Option<String> {
    let apart = |a: &String, b: &String| {
        let of = |name: &String| {
            mark.shows
                .iter()
                .filter(|s| s.members.contains(name))
                .count()
        };
        let same = mark
            .shows
            .iter()
            .any(|s| s.members.contains(a) && s.members.contains(b));
        a != b && of(a) > 0 && of(b) > 0 && !(same && of(a) == 1 && of(b) == 1)
    };
    let (a, b) = mark.not_between.iter().find(|(a, b)| !apart(a, b))?;
    Some(format!(
        "is not_between {a} and {b}, which it would not separate anyhow; expected two members of different groups"
    ))
}

/// Does a member wear a plumage that two lists speak of? An empty list means every plumage.
fn meet(members: &[Member], name: &str, a: &[Plumage], b: &[Plumage]) -> bool {
    let worn = members.iter().filter(|m| m.species == name);
    worn.flat_map(|m| &m.plumages)
        .map(|p| p.plumage)
        .any(|p| Plumage::any_covers(a, p) && Plumage::any_covers(b, p))
}

/// Nothing is said where a member is not described.
fn regions(mark: &Mark, members: &[Member]) -> Vec<String> {
    let undescribed = |region: &Region, name: &String| {
        members
            .iter()
            .any(|m| m.species == *name && m.plumages.iter().all(|p| p.region != *region))
    };
    let mut faults = Vec::new();
    for region in &mark.regions {
        let named = mark.shows.iter().flat_map(|s| &s.members);
        if let Some(name) = named.clone().find(|name| undescribed(region, name)) {
            faults.push(format!("is said of {name} in {}, where {name} has no plumages; expected a region that all its members are described for", region.0));
        }
    }
    faults
}

/// A group's plumages lie within the mark's.
fn subset(mark: &Mark, shows: &Shows) -> Option<String> {
    let outside = shows
        .plumages
        .iter()
        .find(|p| !Plumage::any_covers(&mark.plumages, **p))?
        .name();
    Some(format!(
        "shows something for {outside:?}, which is not among its plumages; expected one of those, or no plumages for the whole mark"
    ))
}

/// Every plumage spoken of is worn by some member spoken of, where the mark holds.
fn never_worn(
    plumages: &[Plumage],
    mark: &Mark,
    names: &[&String],
    members: &[Member],
) -> Option<String> {
    let group = || members.iter().filter(|m| names.contains(&&m.species));
    let worn = |p: &Plumage| group().any(|m| wears(m, *p, |region| mark.holds_in(region)));
    let never = plumages.iter().find(|p| !worn(p))?.name();
    let names: Vec<&str> = names.iter().map(|name| name.as_str()).collect();
    Some(format!(
        "is said of {never:?}, which is not among the plumages of {}; expected a plumage with months there",
        one_of(names)
    ))
}

fn wears(member: &Member, plumage: Plumage, holds: impl Fn(&Region) -> bool) -> bool {
    member
        .plumages
        .iter()
        .any(|p| plumage.covers(p.plumage) && holds(&p.region))
}

/// What cannot be told apart is said of two members or more, in plumages that they have.
pub(super) fn cannot_tell(entry: &CannotTell, members: &[Member]) -> Vec<String> {
    let mut faults = Vec::new();
    if entry.members.len() < 2 {
        faults
            .push("cannot_tell is said of fewer than two members; expected two or more".to_owned());
    }
    let group = || {
        members
            .iter()
            .filter(|m| entry.members.contains(&m.species))
    };
    let never = |p: &&Plumage| !group().any(|m| wears(m, **p, |_| true));
    if let Some(never) = entry.plumages.iter().find(never) {
        faults.push(format!(
            "cannot_tell is said of {:?}, a plumage that is not stated for {}",
            never.name(),
            entry.members.join(" or ")
        ));
    }
    faults
}

/// A plumage is stated once a region, and no bird is in two classes: not "all alike" while ages
/// are told apart, nor a female and a first-winter female at once.
pub(super) fn member(member: &Member) -> Vec<String> {
    let mut faults = Vec::new();
    for (i, a) in member.plumages.iter().enumerate() {
        let others = &member.plumages[i + 1..];
        let here = others.iter().filter(|b| b.region == a.region);
        faults.extend(
            here.filter_map(|b| contradiction(a, b))
                .map(|fault| format!("{} {fault}", member.species)),
        );
    }
    faults
}

/// What is wrong between two plumages of a member in one region.
fn contradiction(a: &PlumageMonths, b: &PlumageMonths) -> Option<String> {
    let (one, other) = (a.plumage.name(), b.plumage.name());
    if one == other {
        return Some(format!(
            "has {one:?} twice in {}; expected one entry with all its months",
            a.region.0
        ));
    }
    let alike = [a.plumage, b.plumage].contains(&Plumage::AllAlike);
    if !alike && !a.plumage.covers(b.plumage) && !b.plumage.covers(a.plumage) {
        return None;
    }
    let month = a.months.iter().find(|m| b.months.contains(m))?;
    Some(format!(
        "is both {one:?} and {other:?} in month {month}; expected one or the other"
    ))
}

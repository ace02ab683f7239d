//! The few marks worth a reader's time: for the members that are about, the most trusted first.

use crate::guidance::types::{MarkGuidance, MemberGuidance, SetGuidance};
use crate::words;

/// Marks a set at most.
const MOST: usize = 5;

/// Letters of marks a set at most, about a phone's screen; the first two marks stand however
/// long they are.
const LETTERS: usize = 900;

/// A mark cut down to the members that are about.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Chosen<'a> {
    pub mark: &'a MarkGuidance,
    /// Names and what they show, only groups with a member that is about.
    pub shows: Vec<(Vec<&'a str>, &'a str)>,
    /// Pairs of members that are about and that it separates.
    pairs: Vec<(usize, usize)>,
}

/// Members with a chance for the week worth naming.
pub(crate) fn about(set: &SetGuidance) -> Vec<&MemberGuidance> {
    set.members.iter().filter(|m| words::about_now(m)).collect()
}

/// Ranked by trust, then by the pairs that a mark separates among the members about. A mark
/// that separates a pair which none above it does goes before one that adds nothing, so that
/// no pair is left without a mark while there is room.
pub(crate) fn marks(set: &SetGuidance) -> Vec<Chosen<'_>> {
    let names: Vec<&str> = about(set).iter().map(|m| m.name.as_str()).collect();
    let mut ranked: Vec<Chosen> = set.marks.iter().filter_map(|m| cut(m, &names)).collect();
    ranked.sort_by_key(|c| (c.mark.trust, usize::MAX - c.pairs.len()));
    let mut taken = take(&ranked);
    taken.sort_unstable();
    taken.into_iter().map(|i| ranked[i].clone()).collect()
}

/// Parts of the bird not to rely on for the members that are about.
pub(crate) fn not_to_rely_on(set: &SetGuidance) -> Vec<&str> {
    let names: Vec<&str> = about(set).iter().map(|m| m.name.as_str()).collect();
    let concerned = |m: &&MarkGuidance| {
        m.shows
            .iter()
            .flat_map(|(who, _)| who)
            .any(|n| names.contains(&n.as_str()))
    };
    set.not_to_rely_on
        .iter()
        .filter(concerned)
        .map(|m| m.part.as_str())
        .collect()
}

/// None where the mark separates no two members that are about.
fn cut<'a>(mark: &'a MarkGuidance, names: &[&str]) -> Option<Chosen<'a>> {
    let mut shows = Vec::new();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (who, what) in &mark.shows {
        let here: Vec<&str> = who
            .iter()
            .map(String::as_str)
            .filter(|n| names.contains(n))
            .collect();
        let places = |n: &&str| names.iter().position(|m| m == n);
        groups.push(here.iter().filter_map(places).collect());
        if !here.is_empty() {
            shows.push((here, what.as_str()));
        }
    }
    let pairs = separated(&groups);
    (!pairs.is_empty()).then_some(Chosen { mark, shows, pairs })
}

/// Pairs whose members stand in different groups only.
fn separated(groups: &[Vec<usize>]) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for (i, group) in groups.iter().enumerate() {
        for (&a, &b) in group
            .iter()
            .flat_map(|a| groups[i + 1..].iter().flatten().map(move |b| (a, b)))
        {
            let together = groups.iter().any(|g| g.contains(&a) && g.contains(&b));
            let pair = (a.min(b), a.max(b));
            if !together && a != b && !pairs.contains(&pair) {
                pairs.push(pair);
            }
        }
    }
    pairs
}

/// Places of the marks taken: first those that separate a new pair, then by rank.
fn take(ranked: &[Chosen]) -> Vec<usize> {
    let mut seen: Vec<(usize, usize)> = Vec::new();
    let (mut fresh, mut rest) = (Vec::new(), Vec::new());
    for (i, chosen) in ranked.iter().enumerate() {
        if chosen.pairs.iter().any(|p| !seen.contains(p)) {
            seen.extend(&chosen.pairs);
            fresh.push(i);
        } else {
            rest.push(i);
        }
    }
    let mut letters = 0;
    let mut taken = Vec::new();
    for i in fresh.into_iter().chain(rest) {
        let more = letters + ranked[i].letters();
        if taken.len() < MOST && (taken.len() < 2 || more <= LETTERS) {
            letters = more;
            taken.push(i);
        }
    }
    taken
}

impl Chosen<'_> {
    /// The mark as shown in short: without its trap, only with members that are about.
    pub(crate) fn brief(&self) -> MarkGuidance {
        let shows = self.shows.iter().map(|(who, what)| {
            (
                who.iter().map(|n| (*n).to_owned()).collect(),
                (*what).to_owned(),
            )
        });
        MarkGuidance {
            shows: shows.collect(),
            trap: None,
            ..self.mark.clone()
        }
    }

    fn letters(&self) -> usize {
        let names = |who: &[&str]| who.iter().map(|n| n.chars().count() + 2).sum::<usize>();
        let shows = self
            .shows
            .iter()
            .map(|(who, what)| names(who) + what.chars().count());
        self.mark.part.chars().count() + shows.sum::<usize>()
    }
}

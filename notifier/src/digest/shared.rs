//! What a digest of several sites says once: common cautions, reminders and method, and marks
//! that an earlier site has told already.

use super::{Digest, SiteDigest, choose};
use crate::guidance::types::{MarkGuidance, SetGuidance};
use crate::words;
use config::look_alikes::Plumage;
use serde::Serialize;

/// The end of the digest, for all its sites.
#[derive(Debug, Serialize)]
pub(super) struct Closing {
    when_none_fits: Vec<String>,
    reminders: Vec<String>,
    cautions: Vec<String>,
    method: Vec<String>,
}

impl Closing {
    pub fn of(digest: &Digest) -> Self {
        let guidance = || digest.sites.iter().map(|s| &s.guidance);
        let mut method = distinct(digest.sites.iter().map(chances));
        if digest.sites.iter().any(|s| !s.full_sets().is_empty()) {
            method.push(words::SHARE.to_string());
        }
        Closing {
            when_none_fits: distinct(guidance().map(|g| words::stop(&g.when_none_fits))),
            reminders: distinct(guidance().map(|g| words::stop(&g.reminder))),
            cautions: common_cautions(digest),
            method,
        }
    }
}

/// Cautions that hold for this site and not for all.
pub(super) fn own_cautions(digest: &Digest, site: &SiteDigest) -> Vec<String> {
    let common = common_cautions(digest);
    let cautions = site.guidance.cautions.iter().map(|c| words::stop(c));
    cautions.filter(|c| !common.contains(c)).collect()
}

/// Cautions of every site; all of them where there is one site.
fn common_cautions(digest: &Digest) -> Vec<String> {
    let Some((first, others)) = digest.sites.split_first() else {
        return Vec::new();
    };
    let everywhere = |c: &&String| others.iter().all(|s| s.guidance.cautions.contains(c));
    let cautions = first.guidance.cautions.iter().filter(everywhere);
    cautions.map(|c| words::stop(c)).collect()
}

/// The name of an earlier site under which the same marks of the set stand already.
pub(super) fn told_at<'a>(digest: &'a Digest, place: usize, set: &SetGuidance) -> Option<&'a str> {
    let same = |earlier: &SetGuidance| teaching(earlier) == teaching(set);
    let earlier = digest.sites[..place].iter();
    let site = earlier
        .into_iter()
        .find(|s| s.full_sets().iter().any(|e| same(e)));
    site.map(|s| s.guidance.site_name.as_str())
}

/// Everything that decides which marks are told, in an order of its own, since sites list
/// members and what they show by chance.
fn teaching(set: &SetGuidance) -> impl PartialEq + use<'_> {
    let mut about: Vec<&str> = choose::about(set).iter().map(|m| m.name.as_str()).collect();
    about.sort_unstable();
    let marks = set.marks.iter().chain(&set.not_to_rely_on);
    let mut marks: Vec<_> = marks
        .map(|m| (m.trust, &m.part, sorted(&m.plumages), shown(m)))
        .collect();
    marks.sort_unstable_by_key(|m| (m.0, m.1));
    (&set.id, about, marks, &set.cannot_tell)
}

fn sorted(plumages: &[Plumage]) -> Vec<&'static str> {
    let mut names: Vec<&str> = plumages.iter().map(|p| words::plumage(*p)).collect();
    names.sort_unstable();
    names
}

fn shown(mark: &MarkGuidance) -> Vec<&str> {
    let mut texts: Vec<&str> = mark.shows.iter().map(|(_, what)| what.as_str()).collect();
    texts.sort_unstable();
    texts
}

/// Without repeats and empty ones, in the order of their first.
fn distinct(texts: impl Iterator<Item = String>) -> Vec<String> {
    let mut kept: Vec<String> = Vec::new();
    for text in texts {
        if !text.is_empty() && !kept.contains(&text) {
            kept.push(text);
        }
    }
    kept
}

fn chances(site: &SiteDigest) -> String {
    let visits = site.guidance.visits_assumed as usize;
    format!(
        "Chances: of finding one or more in {} in the week, by the long-term seasonal curve of \
         each species, rounded. They know nothing of this week's weather, assume the usual \
         effort, and are no list of what is there: no record may rest on them.",
        words::count_of(visits, "standard visit", "standard visits")
    )
}

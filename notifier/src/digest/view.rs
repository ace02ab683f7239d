//! The digest as the templates see it: every number already in words.

use super::choose::{self, Chosen};
use super::notice::Weight;
use super::shared::{self, Closing};
use super::templates::TEXT_WIDTH;
use super::{DataBehind, Digest, Notice, Pictures, SiteDigest};
use crate::findings::Temperature;
use crate::guidance::types::{MemberGuidance, SetGuidance};
use crate::{columns, words};
use serde::Serialize;

/// Species of no set named at most.
const OTHERS: usize = 8;

#[derive(Debug, Serialize)]
pub(super) struct View {
    language: &'static str,
    title: String,
    week: String,
    days: String,
    workspace: String,
    about: Option<String>,
    keeper: Option<String>,
    notices: Vec<NoticeView>,
    sites: Vec<SiteView>,
    /// Titles of the sets explained, over all sites, without repeats.
    headlines: Vec<String>,
    all_unwatched: bool,
    closing: Closing,
    /// Whether to leave places for what is each reader's own.
    personal: bool,
}

impl View {
    /// With places for a greeting and for how to leave.
    pub fn personal(self) -> Self {
        View {
            personal: true,
            ..self
        }
    }
}

#[derive(Debug, Serialize)]
struct SiteView {
    name: String,
    notices: Vec<NoticeView>,
    sets: Vec<SetView>,
    brief: Vec<String>,
    others: Option<String>,
    /// What is to be known after the chances.
    last: Vec<String>,
    season: Vec<String>,
    cautions: Vec<String>,
    footer: Vec<String>,
}

#[derive(Debug, Serialize)]
struct NoticeView {
    warning: bool,
    words: String,
}

#[derive(Debug, Serialize)]
struct SetView {
    title: String,
    together: String,
    doubt: Option<String>,
    members: Vec<MemberView>,
    table: Vec<String>,
    starred: Option<&'static str>,
    figure: Option<FigureView>,
    /// The earlier site under which the marks stand; then they are not said again.
    told_at: Option<String>,
    teaching: Option<TeachingView>,
    more: Option<String>,
}

/// What is said of how to tell the members apart.
#[derive(Debug, Serialize)]
struct TeachingView {
    marks: Vec<MarkView>,
    not_to_rely_on: Option<String>,
    cannot_tell: Vec<String>,
    review: String,
    unreviewed: bool,
}

#[derive(Debug, Serialize)]
struct MemberView {
    name: String,
    /// Where the name shown is not it already.
    scientific: Option<String>,
    visit: String,
    week: String,
    share: String,
    stands: &'static str,
    plumages: Option<String>,
    star: &'static str,
    about: bool,
}

#[derive(Debug, Serialize)]
struct FigureView {
    address: String,
    alt: String,
    width: u32,
    height: u32,
}

#[derive(Debug, Serialize)]
struct MarkView {
    part: String,
    kind: &'static str,
    plumages: Option<String>,
    shows: Vec<ShowsView>,
}

#[derive(Debug, Serialize)]
struct ShowsView {
    who: String,
    what: String,
}

pub(super) fn of(digest: &Digest, pictures: Pictures) -> View {
    let days = digest.week.days();
    let mut headlines: Vec<String> = Vec::new();
    for set in digest.sites.iter().flat_map(SiteDigest::full_sets) {
        if !headlines.contains(&set.title) {
            headlines.push(set.title.clone());
        }
    }
    let sites = digest.sites.iter().enumerate();
    View {
        language: words::LANGUAGE,
        title: digest.title.clone(),
        week: words::week(digest.week),
        days: words::span(days[0], days[6]),
        workspace: digest.workspace.clone(),
        about: digest.about.clone(),
        keeper: digest.keeper.clone(),
        notices: digest.notices.iter().map(notice).collect(),
        sites: sites.map(|(i, s)| site(digest, i, s, pictures)).collect(),
        headlines,
        all_unwatched: digest.sites.iter().all(|s| !s.guidance.watched),
        closing: Closing::of(digest),
        personal: false,
    }
}

fn site(digest: &Digest, place: usize, site: &SiteDigest, pictures: Pictures) -> SiteView {
    let week = &site.guidance;
    let (first, last) = site.notices_by_place();
    let full = site.full_sets();
    let view = |s: &&SetGuidance| set(digest, (place, site), s, pictures);
    SiteView {
        name: week.site_name.clone(),
        notices: first.iter().map(notice).collect(),
        last: last.iter().map(Notice::for_readers).collect(),
        sets: full.iter().map(view).collect(),
        brief: site.brief_sets().iter().map(|s| brief(s)).collect(),
        others: others(&week.others),
        season: site.season.clone(),
        cautions: shared::own_cautions(digest, site),
        footer: footer(site),
    }
}

fn notice(notice: &Notice) -> NoticeView {
    NoticeView {
        warning: notice.weight() == Weight::Warning,
        words: notice.for_readers(),
    }
}

fn set(
    digest: &Digest,
    (place, site): (usize, &SiteDigest),
    set: &SetGuidance,
    pictures: Pictures,
) -> SetView {
    let figure = site.figure(&set.id).map(|(k, figure)| FigureView {
        address: pictures.address((place, k), figure),
        alt: figure.alt.clone(),
        // Twice as many pixels as the page gives it, for fine screens and print.
        width: figure.picture.width / 2,
        height: figure.picture.height / 2,
    });
    let told_at = shared::told_at(digest, place, set);
    let birds = set.effective_birds;
    let (table, starred) = columns::member_table((&set.members, birds), "", TEXT_WIDTH);
    SetView {
        title: set.title.clone(),
        together: words::together(set),
        doubt: words::doubt(set),
        members: set.members.iter().map(|m| member(m, birds)).collect(),
        table,
        starred: starred.then_some(words::STARRED),
        figure,
        told_at: told_at.map(str::to_string),
        teaching: told_at.is_none().then(|| teaching(set)),
        more: digest.more.as_ref().map(|m| {
            m.replace("{site}", &site.guidance.site)
                .replace("{set}", &set.id)
        }),
    }
}

fn teaching(set: &SetGuidance) -> TeachingView {
    let light = choose::not_to_rely_on(set);
    TeachingView {
        marks: choose::marks(set).iter().map(mark).collect(),
        not_to_rely_on: (!light.is_empty()).then(|| words::stop(&words::list(&light))),
        cannot_tell: set.cannot_tell.iter().map(|t| words::stop(t)).collect(),
        review: words::review(set),
        unreviewed: words::unreviewed(set),
    }
}

fn member(member: &MemberGuidance, birds: f64) -> MemberView {
    MemberView {
        name: member.name.clone(),
        scientific: (member.name != member.species).then(|| member.species.clone()),
        visit: words::told(member, member.chance_visit),
        week: words::told(member, member.chance_week),
        share: words::share(member, birds),
        stands: words::stands(member),
        plumages: words::plumages(&member.plumages),
        star: if member.has_star() { "*" } else { "" },
        about: words::about_now(member),
    }
}

fn mark(chosen: &Chosen) -> MarkView {
    let shows = chosen.shows.iter().map(|(who, what)| ShowsView {
        who: words::list(who),
        what: words::stop(what),
    });
    MarkView {
        part: words::sentence(&chosen.mark.part),
        kind: words::trust(chosen.mark.trust),
        plumages: words::plumages(&chosen.mark.plumages),
        shows: shows.collect(),
    }
}

/// A set that two of its members hardly share this week, in a line.
fn brief(set: &SetGuidance) -> String {
    format!("{}: {}", set.title, words::in_brief(set))
}

fn others(others: &[MemberGuidance]) -> Option<String> {
    let named: Vec<String> = others
        .iter()
        .take(OTHERS)
        .map(|m| format!("{} {}", m.name, words::chance(m.chance_week)))
        .collect();
    let more = others.len().saturating_sub(OTHERS);
    match (named.is_empty(), more) {
        (true, _) => None,
        (false, 0) => Some(words::stop(&words::list(&named))),
        (false, _) => Some(format!("{}, and {more} more.", named.join(", "))),
    }
}

/// What stands behind a site's chances: its counts, what the years say, its record.
pub(crate) fn footer(site: &SiteDigest) -> Vec<String> {
    let mut lines = vec![counts(&site.data)];
    let findings = &site.guidance.findings;
    lines.extend(findings.temperature.iter().flat_map(Temperature::words));
    let changes = findings.changes.iter();
    lines.extend(changes.map(|c| format!("Long-term change: {c}")));
    if let Some(record) = &site.record {
        lines.push(words::stop(record));
    }
    lines
}

fn counts(data: &DataBehind) -> String {
    let visits = words::count_of(data.visits, "standard visit", "standard visits");
    let seasons = words::count_of(data.seasons, "year", "years");
    let span = match data.years {
        Some((first, last)) if first == last => format!(" ({first})"),
        Some((first, last)) => format!(" ({first} to {last})"),
        None => String::new(),
    };
    let last = match data.last_visit {
        Some(day) => format!("; the last visit is of {}", words::day_month_year(day)),
        None => String::new(),
    };
    format!("Counts: {visits} in {seasons}{span}{last}.")
}

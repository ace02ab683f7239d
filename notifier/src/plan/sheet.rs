//! Field sheets to print: a leaf for each visit to come.

use super::{Plan, PlanError, Planned, Rain};
use crate::guidance::types::{MarkGuidance, SetGuidance, WeekGuidance};
use crate::guidance::{self, SiteView};
use crate::web::page::name_of;
use crate::{templates, words};
use forecast::stands::OUTSIDE_BELOW;
use minijinja::value::Serde;
use serde::Serialize;

/// Marks of a set on a sheet at most: what can be kept in mind.
const MARKS: usize = 4;
/// Sets on a sheet at most; those with targets come first.
const SETS: usize = 4;

/// What a field leader says before anybody goes out: common practice, no source.
pub(crate) const CAUTIONS: [&str; 6] = [
    "Weather and tide: look at the forecast and the tide table on the day, and turn back in time. A planned date is no reason to go out in bad weather.",
    "Alone: tell somebody where you go and when you will be back, carry a charged phone, and do not go alone where help cannot reach you.",
    "Roads: park where you hinder nobody, and mind traffic when you look through a telescope.",
    "Access: ask for leave where it is needed, and keep to it.",
    "Birds come first: keep away from nests, roosts and feeding flocks that would fly, and leave when birds alarm.",
    "Law: local rules and the warden's word hold. Handling birds, playing calls and work near protected nests are for licensed people.",
];

const TARGETED: &str = "This date was chosen for its birds: enter the visit as targeted. What you \
find is kept, and the curves leave it out, since chosen days would make them too high.";

/// The style sheet of field sheets.
pub const STYLE: &str = include_str!("../../templates/sheets.css");

/// What the sheets are dressed with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Dress {
    /// Alone in a file: the style is within it.
    Alone,
    /// Among the service's pages: the address of their style sheet, and links above them as words
    /// and address.
    Served {
        /// Address of the style sheet.
        style: String,
        /// The way back.
        trail: Vec<(String, String)>,
    },
}

#[derive(Debug, Serialize)]
struct Page<'a> {
    within: Option<&'static str>,
    style: Option<&'a str>,
    trail: &'a [(String, String)],
    language: &'static str,
    title: String,
    sheets: Vec<Sheet>,
    cautions: [&'static str; 6],
    targeted: &'static str,
    reminder: &'static str,
    workspace: String,
    keeper: Option<String>,
}

#[derive(Debug, Serialize)]
struct Sheet {
    site: String,
    date: String,
    times: String,
    rain: Option<String>,
    targets: Vec<Row>,
    sets: Vec<Set>,
    when_none_fits: String,
    own_caution: Option<String>,
}

#[derive(Debug, Serialize)]
struct Row {
    name: String,
    scientific: Option<String>,
    chance: String,
}

#[derive(Debug, Serialize)]
struct Set {
    title: String,
    marks: Vec<Mark>,
    not_to_rely_on: Option<String>,
    cannot_tell: Vec<String>,
    review: String,
}

#[derive(Debug, Serialize)]
struct Mark {
    heading: String,
    shows: Vec<(String, String)>,
}

/// The sheets as one page: a leaf for each date to come, cautions and targets on its front, marks on
/// its back. The views are those of the plan's sites, in their order.
///
/// # Errors
/// [`PlanError::Template`].
pub fn page(plan: &Plan, views: &[&SiteView], dress: &Dress) -> Result<String, PlanError> {
    let workspace = views.first().map(|v| v.workspace);
    let to_come = plan.visits.iter().filter(|v| !v.past);
    let (style, trail) = match dress {
        Dress::Alone => (None, &[][..]),
        Dress::Served { style, trail } => (Some(style.as_str()), trail.as_slice()),
    };
    // machines collect addresses from what everybody may read
    let keeper = |whole: &str| match dress {
        Dress::Alone => Some(whole.to_owned()),
        Dress::Served { .. } => name_of(whole),
    };
    let page = Page {
        within: style.is_none().then_some(STYLE),
        style,
        trail,
        language: words::LANGUAGE,
        title: format!("Field sheets, {}", words::span(plan.from, plan.to)),
        sheets: to_come.map(|v| sheet(plan, v, views[v.site])).collect(),
        cautions: CAUTIONS,
        targeted: TARGETED,
        reminder: guidance::REMINDER,
        workspace: workspace.map(|w| w.name.clone()).unwrap_or_default(),
        keeper: workspace.and_then(|w| w.keeper.as_deref()).and_then(keeper),
    };
    let env =
        templates::environment(&[("sheets.html", include_str!("../../templates/sheets.html"))])?;
    Ok(env.get_template("sheets.html")?.render(Serde(&page))? + "\n")
}

fn sheet(plan: &Plan, visit: &Planned, view: &SiteView) -> Sheet {
    let week = guidance::week(view, visit.date);
    let row = |p: &super::Purpose| {
        let target = &plan.targets[p.target];
        Row {
            name: target.name.clone(),
            scientific: (target.name != target.species).then(|| target.species.clone()),
            chance: words::chance(p.chance),
        }
    };
    Sheet {
        site: view.site.name.clone(),
        date: words::weekday_date(visit.date),
        times: visit.start.words(),
        rain: rain(&visit.rain),
        targets: visit.purpose.iter().map(row).collect(),
        sets: sets(plan, visit, &week).into_iter().map(set).collect(),
        when_none_fits: week.when_none_fits.clone(),
        own_caution: view.site.cautions.as_deref().map(words::stop),
    }
}

/// Where to go instead, in a sentence.
fn rain(rain: &Rain) -> Option<String> {
    match rain {
        Rain::NotAsked => None,
        Rain::Date(date, _) => Some(format!("If it rains: {}.", words::weekday_date(*date))),
        Rain::None(why) => Some(format!("If it rains: no other date, as {}.", why.words())),
    }
}

/// Sets of which two members may be about, those with targets of the visit first.
fn sets<'w>(plan: &Plan, visit: &Planned, week: &'w WeekGuidance) -> Vec<&'w SetGuidance> {
    let wanted = |species: &str| {
        let mut purpose = visit.purpose.iter();
        purpose.any(|p| plan.targets[p.target].species == species)
    };
    let about = |set: &&SetGuidance| {
        let here = set
            .members
            .iter()
            .filter(|m| m.recorded && (!m.has_chance() || m.chance_week >= OUTSIDE_BELOW));
        here.count() >= 2 && !set.marks.is_empty()
    };
    let mut sets: Vec<&SetGuidance> = week.sets.iter().filter(about).collect();
    sets.sort_by_key(|set| !set.members.iter().any(|m| wanted(&m.species)));
    sets.truncate(SETS);
    sets
}

fn set(set: &SetGuidance) -> Set {
    let mark = |mark: &MarkGuidance| Mark {
        heading: words::mark_heading(mark),
        shows: mark
            .shows
            .iter()
            .map(|(names, text)| (words::list(names), words::stop(text)))
            .collect(),
    };
    let light: Vec<&str> = set.not_to_rely_on.iter().map(|m| m.part.as_str()).collect();
    Set {
        title: set.title.clone(),
        marks: set.marks.iter().take(MARKS).map(mark).collect(),
        not_to_rely_on: (!light.is_empty()).then(|| {
            format!(
                "Not to rely on, as they change with light: {}.",
                words::list(&light)
            )
        }),
        cannot_tell: set.cannot_tell.iter().map(|c| words::stop(c)).collect(),
        review: words::review(set),
    }
}

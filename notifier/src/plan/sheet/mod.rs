//! Field sheets to print: a leaf of two sides for each visit to come.

mod back;
mod front;

use super::listed::Listed;
use super::{Plan, PlanError, Planned, Purpose, Rain};
use crate::guidance::types::{SetGuidance, WeekGuidance};
use crate::guidance::{self, SiteView};
use crate::handout::{Block, Letters, within};
use crate::web::page::name_of;
use crate::{templates, words};
use forecast::stands::OUTSIDE_BELOW;
use minijinja::value::Serde;
use serde::Serialize;

/// Sets on a sheet at most; those with targets come first.
const SETS: usize = 4;

/// What a field leader says before anybody goes out: common practice, no source.
pub(crate) static CAUTIONS: [&str; 6] = [
    "Weather and tide: look at the forecast and the tide table on the day, and turn back in time. A planned date is no reason to go out in bad weather.",
    "Alone: tell somebody where you go and when you will be back, carry a charged phone, and do not go alone where help cannot reach you.",
    "Roads: park where you hinder nobody, and mind traffic when you look through a telescope.",
    "Access: ask for leave where it is needed, and keep to it.",
    "Birds come first: keep away from nests, roosts and feeding flocks that would fly, and leave when birds alarm.",
    "Law: local rules and the warden's word hold. Handling birds, playing calls and work near protected nests are for licensed people.",
];

const WRITE_ALL: &str = "Write down every species and number, not these alone.";
const TARGETED: &str = "This date was chosen for its birds: enter the visit as targeted. What you \
find is kept, and the curves leave it out, since chosen days would make them too high.";

/// The style sheet of field sheets.
pub const STYLE: &str = include_str!("../../../templates/sheets.css");

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

/// Millimetres from a line to write on to the next, and what the first has above it.
const LINE: f64 = 8.0;
const ABOVE_LINES: f64 = 9.0;

/// Lines to write on, as many as fit in so many millimetres.
fn lines_in(room: f64) -> usize {
    ((room - ABOVE_LINES) / LINE).floor().max(0.0) as usize
}

#[derive(Debug, Serialize)]
struct Page<'a> {
    within: Option<String>,
    style: Option<&'a str>,
    trail: &'a [(String, String)],
    language: &'static str,
    title: String,
    write_all: &'static str,
    sheets: Vec<Sheet>,
}

#[derive(Debug, Serialize)]
struct Sheet {
    front: front::Front,
    back: back::Back,
}

/// The sheets as one page: a leaf for each date to come, cautions and targets on its front, marks on
/// its back. The views are those of the plan's sites, in their order.
///
/// # Errors
/// [`PlanError::Template`], [`PlanError::Sheet`].
pub fn page(plan: &Plan, views: &[&SiteView], dress: &Dress) -> Result<String, PlanError> {
    let (style, trail) = match dress {
        Dress::Alone => (None, &[][..]),
        Dress::Served { style, trail } => (Some(style.as_str()), trail.as_slice()),
    };
    let letters = Letters::default();
    let foot = foot(views, dress);
    let to_come = plan.visits.iter().filter(|v| !v.past);
    let sheets = to_come.map(|v| sheet(plan, v, views[v.site], &letters, &foot));
    let page = Page {
        within: style.is_none().then(|| within(STYLE)),
        style,
        trail,
        language: words::LANGUAGE,
        title: format!("Field sheets, {}", words::span(plan.from, plan.to)),
        write_all: WRITE_ALL,
        sheets: sheets.collect::<Result<_, _>>()?,
    };
    let env = templates::environment(&[(
        "sheets.html",
        include_str!("../../../templates/sheets.html"),
    )])?;
    Ok(env.get_template("sheets.html")?.render(Serde(&page))? + "\n")
}

/// What no forecast does, and whose the sheets are.
fn foot(views: &[&SiteView], dress: &Dress) -> Block {
    let workspace = views.first().map(|v| v.workspace);
    // machines collect addresses from what everybody may read
    let keeper = |whole: &str| match dress {
        Dress::Alone => Some(whole.to_owned()),
        Dress::Served { .. } => name_of(whole),
    };
    let keeper = workspace.and_then(|w| w.keeper.as_deref()).and_then(keeper);
    let whose = workspace.map(|w| w.name.clone()).unwrap_or_default();
    let whose = match keeper {
        Some(keeper) => format!("{whose}. Kept by {keeper}."),
        None => words::stop(&whose),
    };
    Block::small(guidance::REMINDER, &whose)
}

fn sheet(
    plan: &Plan,
    visit: &Planned,
    view: &SiteView,
    letters: &Letters,
    foot: &Block,
) -> Result<Sheet, PlanError> {
    let week = guidance::week(view, visit.date);
    let (site, date) = (&view.site.name, words::weekday_date(visit.date));
    let listed = plan.listed(visit);
    let under = [Some(visit.start.words()), rain(&visit.rain)];
    let under: Vec<String> = under
        .into_iter()
        .flatten()
        .filter(|s| !s.is_empty())
        .collect();
    let front = front::Told {
        title: format!("{site}, {date}"),
        under: under.join(" "),
        own_caution: view.site.cautions.as_deref().map(words::stop),
        targets: listed.named.iter().map(|p| row(plan, p)).collect(),
        left_out: listed.left_out_words(),
    };
    let back = back::Told {
        title: format!("Which is which, {date}"),
        under: format!("At {site}. The marks to trust most come first."),
        sets: &sets(plan, &listed, &week),
        when_none_fits: &week.when_none_fits,
        foot: foot.clone(),
    };
    Ok(Sheet {
        front: front.fitted(letters)?,
        back: back.fitted(letters)?,
    })
}

fn row(plan: &Plan, purpose: &Purpose) -> front::Row {
    let target = &plan.targets[purpose.target];
    front::Row {
        name: target.name.clone(),
        scientific: (target.name != target.species).then(|| target.species.clone()),
        chance: words::chance(purpose.chance),
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

/// Sets of which two members may be about, those with targets that are named first.
fn sets<'w>(plan: &Plan, listed: &Listed, week: &'w WeekGuidance) -> Vec<&'w SetGuidance> {
    let wanted = |species: &str| {
        let mut named = listed.named.iter();
        named.any(|p| plan.targets[p.target].species == species)
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

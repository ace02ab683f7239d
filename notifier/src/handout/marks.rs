//! The words of both sides, in drafts that say less and less.

use super::said::Block;
use super::together;
use crate::guidance::{CAUTIONS, REMINDER, SiteView};
use crate::lesson::{Group, Lesson, bound_to, months};
use crate::words;
use config::look_alikes::{LookAlikeSet, Mark, PlumageMonths};

/// Stretches of the year at most, where room is short.
const STRETCHES: usize = 4;
/// Marks at least, however short the room.
const LEAST_MARKS: usize = 3;

const WHEN_NONE_FITS: &str = "When no name fits, leave the bird unnamed within its set, and write \
    down what you saw and heard before you look anything up.";

/// The first side: dates, plumages by month, what cannot be told, cautions. First with all there is to say of moult.
pub(super) fn first_sides(view: &SiteView, set: &LookAlikeSet) -> Vec<Vec<Block>> {
    let draft = |moult: bool, stretches: usize| {
        let mut blocks = dates(view, set, stretches);
        blocks.extend(plumages(view, set, moult));
        blocks.extend(untold(&Lesson::at(view, set, None)));
        blocks.extend(cautions(view));
        blocks
    };
    vec![
        draft(true, usize::MAX),
        draft(false, usize::MAX),
        draft(false, STRETCHES),
    ]
}

/// Below the first side.
pub(super) fn first_foot() -> Vec<Block> {
    vec![Block::small(REMINDER, "Its marks are on the other side.")]
}

fn dates(view: &SiteView, set: &LookAlikeSet, most: usize) -> Vec<Block> {
    let stretches = together::stretches(view, set);
    let mut blocks = vec![Block::heading("When to go and look")];
    if stretches.is_empty() {
        let none = "No two of these have windows that meet on days on which the site is watched.";
        blocks.push(Block::text("", none));
        return blocks;
    }
    let told = stretches.iter().take(most);
    blocks.extend(told.map(|s| Block::text(&format!("{}:", s.days()), &s.told())));
    let meaning = "Dates on which two or more are within their windows; chances are those of \
        finding one at least on a standard visit, in a year like those counted.";
    blocks.push(Block::small("", meaning));
    blocks
}

fn plumages(view: &SiteView, set: &LookAlikeSet, moult: bool) -> Vec<Block> {
    let lesson = Lesson::at(view, set, None);
    let about = lesson.about();
    if about.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::heading("Plumages by month")];
    for (member, worn) in about {
        let never = match view.found_here(&member.species) {
            true => "",
            false => " Never recorded here.",
        };
        let worn = worn.iter().map(|w| plumage(w, moult));
        let text = worn.collect::<Vec<_>>().join(" ");
        let name = lesson.name(&member.species);
        blocks.push(Block::text(&format!("{name}:"), &format!("{text}{never}")));
    }
    blocks
}

/// "Juvenile August to November."
fn plumage(worn: &PlumageMonths, moult: bool) -> String {
    let plumage = words::sentence(worn.plumage.in_words());
    let when = months(&worn.months);
    match worn.moult.as_ref().filter(|_| moult) {
        Some(moult) => format!("{plumage} {when} ({}).", moult.trim_end_matches('.')),
        None => format!("{plumage} {when}."),
    }
}

fn cautions(view: &SiteView) -> Vec<Block> {
    let own = view.site.cautions.iter().map(|c| words::stop(c));
    let all = own.chain(CAUTIONS.map(str::to_owned));
    let mut blocks = vec![Block::heading("Before you go")];
    blocks.extend(all.map(|caution| Block::text("", &caution)));
    blocks
}

/// The second side: marks in the order of trust, what changes with light, what to write down. `whole` is where all of it is told.
pub(super) fn second_sides(view: &SiteView, set: &LookAlikeSet, whole: &str) -> Vec<Vec<Block>> {
    let lesson = Lesson::at(view, set, None);
    let all = lesson.trusted().len();
    let draft = |describe: bool, traps: bool, most: usize| {
        let mut blocks = trusted(&lesson, traps, most);
        blocks.extend(light(&lesson));
        if describe {
            blocks.extend(described(&lesson));
        }
        blocks.extend(closing(&lesson));
        if let Some(left_out) = left_out(describe, traps, all.saturating_sub(most)) {
            let text = format!("Left out for want of room: {left_out}; all of it: {whole}.");
            blocks.push(Block::small("", &text));
        }
        blocks
    };
    let mut drafts = vec![
        draft(true, true, all),
        draft(false, true, all),
        draft(false, false, all),
    ];
    let fewer = (LEAST_MARKS..all).rev();
    drafts.extend(fewer.map(|most| draft(false, false, most)));
    drafts
}

fn left_out(describe: bool, traps: bool, marks: usize) -> Option<String> {
    let marks = words::count_of(marks, "mark", "marks");
    let parts = [
        (!describe, "what to write down of each".to_owned()),
        (!traps, "the marks\u{2019} traps".to_owned()),
        (
            !marks.starts_with('0'),
            format!("the {marks} least to be trusted"),
        ),
    ];
    let left: Vec<String> = { parts }
        .into_iter()
        .filter_map(|(is, what)| is.then_some(what))
        .collect();
    (!left.is_empty()).then(|| words::list(&left))
}

fn trusted(lesson: &Lesson, traps: bool, most: usize) -> Vec<Block> {
    let marks = lesson.trusted();
    if marks.is_empty() {
        return Vec::new();
    }
    let heading = "Marks to trust: structure first, then pattern, voice, behaviour";
    let mut blocks = vec![Block::heading(heading)];
    for (mark, groups) in marks.iter().take(most) {
        blocks.extend(of_mark(lesson, mark, groups, traps));
    }
    blocks
}

fn of_mark(lesson: &Lesson, mark: &Mark, groups: &[Group], traps: bool) -> Vec<Block> {
    let mut blocks = vec![Block::mark(
        &words::sentence(&mark.part),
        &kind(lesson, mark),
    )];
    for group in groups {
        let of = bound_to(&group.shows.plumages, &[]);
        let who = format!("{}{of}:", words::list(&group.names));
        blocks.push(Block::shows(&who, &words::stop(&group.shows.text)));
    }
    let here = |species: &String| groups.iter().any(|g| g.species.contains(&species.as_str()));
    for (a, b) in mark.not_between.iter().filter(|(a, b)| here(a) && here(b)) {
        let (a, b) = (lesson.name(a), lesson.name(b));
        blocks.push(Block::shows("", &format!("Does not part {a} from {b}.")));
    }
    if let Some(trap) = mark.trap().filter(|_| traps) {
        blocks.push(Block::shows("Trap:", &words::stop(&trap)));
    }
    blocks
}

/// "(structure; juvenile; August to November)": its kind, its plumages, and the months in which it
/// parts members that are about.
fn kind(lesson: &Lesson, mark: &Mark) -> String {
    let kind = words::trust(mark.trust).to_owned();
    let worn = words::plumages(&mark.plumages);
    let when = months(&lesson.months_of_use(mark));
    let parts: Vec<String> = [Some(kind), worn, Some(when)]
        .into_iter()
        .flatten()
        .collect();
    format!("({})", parts.join("; "))
}

fn light(lesson: &Lesson) -> Vec<Block> {
    let marks = lesson.not_to_rely_on();
    if marks.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::heading("Not to rely on: they change with light")];
    for (mark, groups) in &marks {
        let said = groups.iter().map(|g| words::stop(&g.shows.text));
        let lead = format!("{}:", words::sentence(&mark.part));
        blocks.push(Block::text(&lead, &said.collect::<Vec<_>>().join(" ")));
    }
    blocks
}

fn untold(lesson: &Lesson) -> Vec<Block> {
    let mut blocks = vec![Block::heading("What cannot be told")];
    for entry in lesson.cannot_tell() {
        let names: Vec<&str> = entry.members.iter().map(|m| lesson.name(m)).collect();
        let of = bound_to(&entry.plumages, &entry.months);
        let lead = format!("{}{of}:", words::list(&names));
        blocks.push(Block::text(&lead, &words::stop(&entry.text)));
    }
    blocks.push(Block::text("", WHEN_NONE_FITS));
    blocks
}

fn described(lesson: &Lesson) -> Vec<Block> {
    let about = lesson.about();
    let told = about.iter().filter_map(|(member, _)| {
        let lead = format!("{}:", lesson.name(&member.species));
        Some(Block::text(&lead, &words::stop(member.describe.as_ref()?)))
    });
    let told: Vec<Block> = told.collect();
    if told.is_empty() {
        return told;
    }
    let heading = Block::heading("To claim one, write down");
    std::iter::once(heading).chain(told).collect()
}

fn closing(lesson: &Lesson) -> Vec<Block> {
    vec![Block::small("", &lesson.review())]
}

/// What others may do with the sheet: the keeper's own line, else whose its parts are.
pub(crate) fn licence(view: &SiteView, own: Option<&str>) -> Block {
    if let Some(own) = own {
        return Block::small("Licence:", &words::stop(own));
    }
    let keeper = view.workspace.keeper.as_deref();
    let keeper = keeper.and_then(|k| k.split('<').next()).map(str::trim);
    let whose = match keeper.filter(|k| !k.is_empty() && !k.contains('@')) {
        Some(keeper) => format!("those of their keeper, {keeper}"),
        None => "their keeper\u{2019}s".to_owned(),
    };
    let text = format!(
        "the words that Wingtide brings are free under the MIT licence or the Apache licence 2.0, as \
         you prefer. The counts behind curves and shares are {whose}: ask before you pass them on."
    );
    Block::small("Licence:", &text)
}

//! What a set teaches of its members through the year: plumages by month, and every mark.

use crate::lesson::{Group, Lesson, mark_heading};
use crate::words;
use config::look_alikes::{Mark, PlumageMonths};
use serde::Serialize;

/// A set as a lesson.
#[derive(Serialize)]
pub(super) struct LessonView {
    months: Vec<&'static str>,
    plumages: Vec<PlumageView>,
    marks: Vec<MarkView>,
    not_to_rely_on: Vec<MarkView>,
    cannot_tell: Vec<(String, String)>,
    describe: Vec<(String, String)>,
    review: String,
}

/// A plumage of a member, with the months in which it is seen.
#[derive(Serialize)]
struct PlumageView {
    member: String,
    plumage: &'static str,
    /// For each month whether it is.
    months: Vec<bool>,
    moult: Option<String>,
}

#[derive(Serialize)]
struct MarkView {
    heading: String,
    shows: Vec<(String, String)>,
    trap: Option<String>,
}

/// The lesson for a page.
pub(super) fn of(lesson: &Lesson) -> LessonView {
    let about = lesson.about();
    let plumages = about.iter().flat_map(|(member, worn)| {
        let name = lesson.name(&member.species);
        worn.iter().map(move |worn| plumage(name, worn))
    });
    let described = about.iter().filter_map(|(member, _)| {
        let what = member.describe.as_ref()?;
        Some((lesson.name(&member.species).to_owned(), words::stop(what)))
    });
    let untold = lesson.cannot_tell().into_iter().map(|entry| {
        let names: Vec<&str> = entry.members.iter().map(|m| lesson.name(m)).collect();
        (words::list(&names), words::stop(&entry.text))
    });
    LessonView {
        months: (1..=12).map(words::month_short).collect(),
        plumages: plumages.collect(),
        marks: lesson.trusted().iter().map(mark).collect(),
        not_to_rely_on: lesson.not_to_rely_on().iter().map(mark).collect(),
        cannot_tell: untold.collect(),
        describe: described.collect(),
        review: lesson.review(),
    }
}

fn plumage(member: &str, worn: &PlumageMonths) -> PlumageView {
    PlumageView {
        member: member.to_owned(),
        plumage: words::plumage(worn.plumage),
        months: (1..=12).map(|m| worn.months.contains(&m)).collect(),
        moult: worn.moult.as_deref().map(words::stop),
    }
}

fn mark((mark, groups): &(&Mark, Vec<Group<'_>>)) -> MarkView {
    let shows = groups
        .iter()
        .map(|g| (words::list(&g.names), words::stop(&g.shows.text)));
    MarkView {
        heading: mark_heading(mark),
        shows: shows.collect(),
        trap: mark.trap().as_deref().map(words::stop),
    }
}

//! Practice, step by step: every step is an address, so that it works without scripts and nothing is
//! kept here.

use super::address::Place;
use super::page::{self, Frame, Link};
use super::render::{Making, Refusal};
use crate::practice::mark::{self, Chances};
use crate::practice::{LARGEST_SEED, Told, Wanted, draw, seed_of, told};
use crate::words;
use serde::Serialize;

/// Letters of a reasoning at most.
pub(super) const LONGEST: usize = 600;

/// A step that is asked for.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub struct Step {
    /// What is drawn from.
    pub wanted: Wanted,
    /// What it is drawn by; None for the page that begins.
    pub seed: Option<u64>,
    /// How many marks are told.
    pub marks: usize,
    /// One more is asked for.
    pub more: bool,
    /// The answer is given.
    pub answer: bool,
    /// Chances as written, by the member's place.
    pub chances: Vec<String>,
    /// The learner's reasons.
    pub why: String,
}

#[derive(Serialize)]
struct View {
    /// The address of the form.
    to: String,
    /// The beginning, or a bird.
    start: Option<Start>,
    bird: Option<Bird>,
}

#[derive(Serialize)]
struct Start {
    seed: u64,
    largest: u64,
    sites: Vec<(String, String)>,
    sets: Vec<(String, String)>,
    site: Option<String>,
    set: Option<String>,
    none: bool,
}

#[derive(Serialize)]
struct Bird {
    told: Told,
    site: Option<String>,
    set: Option<String>,
    /// How many marks are told.
    marks: usize,
    left: usize,
    chances: Vec<String>,
    why: String,
    longest: usize,
    wrong: Option<String>,
    answer: Option<AnswerView>,
    again: String,
    other: Link,
}

/// What a learner gave and what it came to.
#[derive(Serialize)]
struct AnswerView {
    given: Vec<String>,
    added_up: Option<String>,
    score: String,
}

/// The page of a step.
pub(super) fn page(making: &Making, step: &Step) -> Result<String, Refusal> {
    if let Some(site) = &step.wanted.site {
        making.site(site)?;
    }
    let sets = &making.snapshot.workspace.look_alikes;
    if let Some(set) = &step.wanted.set
        && !sets.iter().any(|s| s.id == *set)
    {
        return Err(Refusal::Absent);
    }
    let drawn = step
        .seed
        .map(|seed| draw(making.snapshot, &step.wanted, seed));
    let bird = match &drawn {
        Some(Some(exercise)) => Some(bird(making, step, told(exercise), exercise.bird)),
        _ => None,
    };
    let view = View {
        to: making.addresses.to(&Place::Practice),
        start: bird.is_none().then(|| start(making, step, drawn.is_some())),
        bird,
    };
    let frame = Frame::new("Which bird was drawn?", making.snapshot, making.addresses);
    Ok(page::render("practice.html", &frame, &view)?)
}

fn start(making: &Making, step: &Step, none: bool) -> Start {
    let snapshot = making.snapshot;
    let sites = snapshot
        .sites
        .iter()
        .map(|s| (s.site.id.clone(), s.site.name.clone()));
    let sets = snapshot.workspace.look_alikes.iter();
    let today = snapshot.sites.first().map(|s| s.today(making.now));
    Start {
        seed: seed_of(today.unwrap_or(making.now.date_naive())),
        largest: LARGEST_SEED,
        sites: sites.collect(),
        sets: sets.map(|s| (s.id.clone(), s.title.clone())).collect(),
        site: step.wanted.site.clone(),
        set: step.wanted.set.clone(),
        none,
    }
}

fn bird(making: &Making, step: &Step, told: Told, drawn: usize) -> Bird {
    let all = told.clues.len();
    let names: Vec<&str> = told.members.iter().map(|m| m.name.as_str()).collect();
    let mut written = step.chances.clone();
    written.resize(names.len(), String::new());
    let read = step.answer.then(|| mark::read(&names, &written));
    let (answer, wrong) = match read {
        Some(Ok(chances)) => (Some(answer(&chances, drawn)), None),
        Some(Err(why)) => (None, Some(format!("{why}."))),
        None => (None, None),
    };
    let marks = match (&answer, step.more) {
        // the first mark is there from the start
        (None, more) => (step.marks.max(1) + usize::from(more)).min(all),
        (Some(_), _) => step.marks.max(1).min(all),
    };
    let address = |seed: u64| address(making, &step.wanted, seed);
    let next = if told.seed < LARGEST_SEED {
        told.seed + 1
    } else {
        1
    };
    Bird {
        marks,
        left: all - marks,
        chances: written,
        why: step.why.clone(),
        longest: LONGEST,
        wrong,
        answer,
        again: address(told.seed),
        other: Link::new("Another bird", address(next)),
        site: step.wanted.site.clone(),
        set: step.wanted.set.clone(),
        told,
    }
}

fn answer(chances: &Chances, drawn: usize) -> AnswerView {
    let percent = |chance: &f64| format!("{:.0}{}%", 100.0 * chance, words::TIE);
    AnswerView {
        given: chances.chances.iter().map(percent).collect(),
        added_up: chances
            .added_up
            .map(|sum| format!("{sum:.0}{}%", words::TIE)),
        score: mark::score(&chances.chances, drawn).unwrap_or_default(),
    }
}

/// The address of a bird from its beginning.
pub(super) fn address(making: &Making, wanted: &Wanted, seed: u64) -> String {
    let mut query = url::form_urlencoded::Serializer::new(String::new());
    if let Some(site) = &wanted.site {
        query.append_pair("site", site);
    }
    if let Some(set) = &wanted.set {
        query.append_pair("set", set);
    }
    query.append_pair("seed", &seed.to_string());
    format!(
        "{}?{}",
        making.addresses.to(&Place::Practice),
        query.finish()
    )
}

impl Step {
    /// Reads the query of an address.
    pub(super) fn of(query: &str) -> Result<Self, Refusal> {
        let mut step = Step::default();
        for (key, value) in url::form_urlencoded::parse(query.as_bytes()) {
            match key.as_ref() {
                "seed" if !value.is_empty() => step.seed = Some(seed(&value)?),
                "site" if !value.is_empty() => step.wanted.site = Some(value.into_owned()),
                "set" if !value.is_empty() => step.wanted.set = Some(value.into_owned()),
                "marks" => step.marks = value.parse().unwrap_or_default(),
                "more" => step.more = true,
                "answer" => step.answer = true,
                "chance" if step.chances.len() < MEMBERS => {
                    step.chances.push(value.chars().take(CHANCE).collect());
                }
                "why" => step.why = why(&value)?,
                _ => {}
            }
        }
        Ok(step)
    }
}

/// Members of a set, and letters of a chance, that are looked at.
const MEMBERS: usize = 50;
const CHANCE: usize = 24;

fn seed(text: &str) -> Result<u64, Refusal> {
    let number = text.trim().parse().ok();
    let number = number.filter(|n| (1..=LARGEST_SEED).contains(n));
    number.ok_or_else(|| {
        let shown: String = text.chars().take(20).collect();
        Refusal::Wrong(format!(
            "\"{shown}\" is no seed; expected a whole number from 1 to {LARGEST_SEED}"
        ))
    })
}

fn why(text: &str) -> Result<String, Refusal> {
    // a line's end is sent as two letters, and counted as one by browsers
    let text = text.replace("\r\n", "\n");
    match text.chars().count() <= LONGEST {
        true => Ok(text),
        false => Err(Refusal::Wrong(format!(
            "the reasons are longer than {LONGEST} letters"
        ))),
    }
}

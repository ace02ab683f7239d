//! An exercise in words, for pages and for paper.

use super::{Clue, DRAWN, Exercise, SCORE, clue, mark};
use crate::lesson::{Group, Lesson, bound_to};
use crate::words;
use config::look_alikes::Plumage;
use serde::Serialize;

/// An exercise in words.
#[derive(Debug, Clone, Serialize)]
pub struct Told {
    /// What it was drawn by.
    pub seed: u64,
    /// Id and title of the set.
    pub set: String,
    /// Its title.
    pub title: String,
    /// "27 August, at Long Bank."
    pub when: String,
    /// The members that may be the bird.
    pub members: Vec<MemberTold>,
    /// On what the shares rest.
    pub rests_on: String,
    /// The bird's marks, the most trusted first.
    pub clues: Vec<ClueTold>,
    /// Said with every drawn bird.
    pub drawn: &'static str,
    /// How it is scored.
    pub score_words: &'static str,
    /// What is told at the end.
    pub key: KeyTold,
}

/// A member that may be the bird.
#[derive(Debug, Clone, Serialize)]
pub struct MemberTold {
    /// Its name.
    pub name: String,
    /// Its scientific name, where another is shown.
    pub scientific: Option<String>,
    /// Its share of that date.
    pub share: String,
}

/// A mark of the bird.
#[derive(Debug, Clone, Serialize)]
pub struct ClueTold {
    /// The part, with its kind.
    pub heading: String,
    /// What is seen or heard.
    pub text: String,
    /// What may mislead.
    pub trap: Option<String>,
    /// For the key: who shows the same, and who shows what else.
    pub same: String,
    /// Names and wording.
    pub others: Vec<(String, String)>,
}

/// What is told at the end.
#[derive(Debug, Clone, Serialize)]
pub struct KeyTold {
    /// The bird's species.
    pub name: String,
    /// Its plumage.
    pub plumage: String,
    /// What could not be told.
    pub untold: Vec<String>,
    /// The set's own weights after all marks, for each member.
    pub weighed: Vec<String>,
    /// Score of the shares alone, and of those weights.
    pub shares_score: String,
    /// The same.
    pub weights_score: String,
    /// Who has reviewed the marks.
    pub review: String,
}

/// Tells an exercise.
pub fn told(exercise: &Exercise) -> Told {
    let lesson = exercise.lesson();
    let clues = exercise.clues(&lesson);
    let members = exercise.set.members.iter().zip(&exercise.shares);
    let member = |(m, share): (&config::look_alikes::Member, &f64)| {
        let name = lesson.name(&m.species).to_owned();
        MemberTold {
            scientific: (name != m.species).then(|| m.species.clone()),
            name,
            share: words::chance(*share),
        }
    };
    let date = exercise.day.in_year(2023).map(words::day_month);
    let date = date.unwrap_or_default();
    Told {
        seed: exercise.seed,
        set: exercise.set.id.clone(),
        title: exercise.set.title.clone(),
        when: format!("{date}, at {}.", exercise.view.site.name),
        members: members.map(member).collect(),
        rests_on: words::shares_rest_on(exercise.effective_birds),
        clues: clues.iter().map(|c| clue_told(c)).collect(),
        drawn: DRAWN,
        score_words: SCORE,
        key: key(exercise, &lesson, clues),
    }
}

fn clue_told(clue: &Clue) -> ClueTold {
    let kind = words::trust(clue.mark.trust);
    let others = clue.groups.iter().enumerate();
    let others = others.filter(|(place, _)| *place != clue.shown);
    let told = |(_, group): (usize, &Group)| {
        let of = bound_to(&group.shows.plumages, &[]);
        let who = format!("{}{of}", words::list(&group.names));
        (who, words::stop(&group.shows.text))
    };
    ClueTold {
        heading: format!("{} ({kind})", words::sentence(&clue.mark.part)),
        text: words::stop(clue.text()),
        trap: clue.mark.trap().as_deref().map(words::stop),
        same: words::list(&clue.groups[clue.shown].names),
        others: others.map(told).collect(),
    }
}

fn key(exercise: &Exercise, lesson: &Lesson, clues: Vec<Clue>) -> KeyTold {
    let bird = &exercise.set.members[exercise.bird];
    let untold = untold(exercise, lesson, &clues);
    let weighed = clue::weighed(lesson, &exercise.shares, clues);
    let weighed = weighed.unwrap_or_else(|| exercise.shares.clone());
    let score = |chances: &[f64]| mark::score(chances, exercise.bird).unwrap_or_default();
    let shares_score = score(&scaled(&exercise.shares));
    KeyTold {
        name: lesson.name(&bird.species).to_owned(),
        plumage: words::plumage(exercise.plumage).to_owned(),
        untold,
        shares_score,
        weights_score: score(&scaled(&weighed)),
        weighed: weighed.iter().map(|w| words::chance(*w)).collect(),
        review: lesson.review(),
    }
}

/// To a sum of exactly 1, which shares miss by a rounding.
fn scaled(chances: &[f64]) -> Vec<f64> {
    let sum: f64 = chances.iter().sum();
    chances.iter().map(|c| c / sum).collect()
}

/// What could not be told: members that no mark shown parts from the bird, what the set says cannot
/// be told of it then, and what changes with light.
fn untold(exercise: &Exercise, lesson: &Lesson, clues: &[Clue]) -> Vec<String> {
    let bird = exercise.bird;
    let members = exercise.set.members.iter().enumerate();
    let unparted: Vec<&str> = members
        .filter(|(place, _)| *place != bird)
        .filter(|(place, _)| !clues.iter().any(|c| c.parts(lesson, bird, *place)))
        .map(|(_, m)| lesson.name(&m.species))
        .collect();
    let mut untold = Vec::new();
    if !unparted.is_empty() {
        let names = words::list(&unparted);
        untold.push(format!("No mark told here parts this bird from {names}."));
    }
    let species = &exercise.set.members[bird].species;
    let concerned = lesson.cannot_tell().into_iter().filter(|entry| {
        entry.members.contains(species) && Plumage::any_covers(&entry.plumages, exercise.plumage)
    });
    untold.extend(concerned.map(|entry| words::stop(&entry.text)));
    let light = lesson.not_to_rely_on();
    let parts: Vec<&str> = light.iter().map(|(mark, _)| mark.part.as_str()).collect();
    if !parts.is_empty() {
        let parts = words::list(&parts);
        untold.push(format!("Left out, since they change with light: {parts}."));
    }
    untold.push(
        "A drawn bird shows its marks as the set has them; a real one is worn, far off, or gone."
            .to_owned(),
    );
    untold
}

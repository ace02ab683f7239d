//! What is seen of the drawn bird.

use crate::lesson::key::{Answer, Key, Question};
use crate::lesson::{Group, Lesson};
use crate::web::kept_names::says;
use config::look_alikes::{Mark, Plumage};

/// A mark that the drawn bird shows.
pub struct Clue<'a> {
    /// The mark.
    pub mark: &'a Mark,
    /// Its wordings, with the members that are about.
    pub groups: Vec<Group<'a>>,
    /// Which wording is the bird's.
    pub shown: usize,
}

impl Clue<'_> {
    /// What is seen or heard.
    pub fn text(&self) -> &str {
        &self.groups[self.shown].shows.text
    }

    /// Does it part the bird from that member?
    pub fn parts(&self, lesson: &Lesson, bird: usize, other: usize) -> bool {
        let species = |place: usize| lesson.set.members[place].species.as_str();
        let (a, b) = (species(bird), species(other));
        let pairs = &self.mark.not_between;
        let excepted = pairs.iter().any(|(x, y)| {
            (x, y) == (&a.to_owned(), &b.to_owned()) || (x, y) == (&b.to_owned(), &a.to_owned())
        });
        let elsewhere =
            |(place, group): (usize, &Group)| place != self.shown && group.places.contains(&other);
        let same = self.groups[self.shown].places.contains(&other);
        !excepted && !same && self.groups.iter().enumerate().any(elsewhere)
    }
}

/// The marks that a member shows in a plumage, the most trusted first. A wording that names the
/// member is left out, since it would tell.
pub(super) fn of<'l>(lesson: &'l Lesson<'l>, bird: usize, plumage: Plumage) -> Vec<Clue<'l>> {
    let member = &lesson.set.members[bird];
    let mut names: Vec<String> = member.names.values().map(|n| n.to_lowercase()).collect();
    names.push(member.species.to_lowercase());
    names.push(lesson.name(&member.species).to_lowercase());
    let tells = |text: &str| names.iter().any(|name| says(text, name));
    let clue = |(mark, groups): (&'l Mark, Vec<Group<'l>>)| {
        let shown = groups.iter().position(|g| {
            let covers = Plumage::any_covers(mark.plumages_of(g.shows), plumage);
            g.places.contains(&bird) && covers
        })?;
        let told = !tells(&groups[shown].shows.text) && !tells(&mark.part);
        told.then_some(Clue {
            mark,
            groups,
            shown,
        })
    };
    let clues: Vec<Clue> = lesson.trusted().into_iter().filter_map(clue).collect();
    let members = lesson.set.members.len();
    let of_use = |clue: &Clue| (0..members).any(|m| m != bird && clue.parts(lesson, bird, m));
    clues.into_iter().filter(of_use).collect()
}

/// What the set's own weights make of the marks, from the shares on; None where the shares are none.
pub(super) fn weighed<'l>(
    lesson: &'l Lesson<'l>,
    shares: &[f64],
    clues: Vec<Clue<'l>>,
) -> Option<Vec<f64>> {
    let mut key = Key::new(lesson, shares)?;
    for clue in clues {
        let question = Question {
            mark: clue.mark,
            groups: clue.groups,
        };
        key.answer(&question, Answer::Shows(clue.shown));
    }
    Some(key.shares())
}

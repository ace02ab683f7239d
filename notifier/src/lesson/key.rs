//! A key through a set: one mark at a time, from the date's shares to what remains.
//!
//! Each answer weighs as much as its mark can be trusted. It ends in shares, never in a name.

use super::{Group, Lesson};
use config::look_alikes::{Mark, Trust};

/// Below this many bits a question is expected to tell nothing that is worth asking.
const LEAST_GAIN: f64 = 0.02;

/// Part of the start that no answers take away: one view in ten is taken to mislead altogether,
/// since the answers of one view lean on one another. Ours; common practice, no source.
pub const POOR_VIEWS: f64 = 0.1;

/// The key at one point of its way.
pub struct Key<'a> {
    questions: Vec<(&'a Mark, Vec<Group<'a>>)>,
    /// Where it started; sums to 1.
    start: Vec<f64>,
    /// What the answers alone make of it; sums to 1.
    weighed: Vec<f64>,
    /// Answers so far that fitted no wording.
    pub unfitting: usize,
}

/// What a person can say to a question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// The wording in that place.
    Shows(usize),
    /// None of the wordings.
    NoneOfThese,
    /// Not seen or heard well.
    Unseen,
}

/// A mark that is asked for.
pub struct Question<'a> {
    /// The mark.
    pub mark: &'a Mark,
    /// The wordings to choose from, with the members that show them.
    pub groups: Vec<Group<'a>>,
}

/// How often an answer about such a mark is right, in the hands of a careful learner. Common
/// practice, no source: the order is the trust that field teachers put in marks, the figures
/// are ours, and keep any one answer from settling the matter.
pub fn right_in_ten(trust: Trust) -> u8 {
    match trust {
        Trust::Structure | Trust::Voice => 9,
        Trust::Pattern => 8,
        Trust::Behaviour => 6,
        // never asked for
        Trust::Light => 5,
    }
}

impl<'a> Key<'a> {
    /// Starts with the shares of the members that are about, in their order; they are scaled to
    /// sum to 1. None where they are not one positive number for each member.
    pub fn new(lesson: &'a Lesson<'a>, shares: &[f64]) -> Option<Self> {
        let total: f64 = shares.iter().sum();
        let fit = shares.len() == lesson.about().len() && shares.iter().all(|s| *s > 0.0);
        let start: Vec<f64> = shares.iter().map(|s| s / total).collect();
        (fit && total.is_finite()).then(|| Key {
            questions: lesson.trusted(),
            weighed: start.clone(),
            start,
            unfitting: 0,
        })
    }

    /// Shares now, in the order of the members that are about; they sum to 1, and none comes
    /// near it.
    pub fn shares(&self) -> Vec<f64> {
        let both = self.weighed.iter().zip(&self.start);
        both.map(|(weighed, start)| (1.0 - POOR_VIEWS) * weighed + POOR_VIEWS * start)
            .collect()
    }

    /// The mark that is expected to tell most now; it will not be asked for again. None where
    /// none tells anything.
    pub fn next_question(&mut self) -> Option<Question<'a>> {
        let gains = self.questions.iter().map(|(m, g)| self.gain(m, g));
        let (place, gain) = gains
            .enumerate()
            // of equal ones the first, which is the most trusted
            .reduce(|best, one| if one.1 > best.1 { one } else { best })?;
        if gain < LEAST_GAIN {
            return None;
        }
        let (mark, groups) = self.questions.remove(place);
        Some(Question { mark, groups })
    }

    /// Takes an answer into the shares.
    pub fn answer(&mut self, question: &Question<'_>, answer: Answer) {
        match answer {
            Answer::Unseen => {}
            Answer::NoneOfThese => self.unfitting += 1,
            Answer::Shows(given) => {
                let (mark, groups) = (question.mark, &question.groups);
                let weighed = self.weighed.iter().enumerate();
                let weighed: Vec<f64> = weighed
                    .map(|(member, share)| share * likelihood(mark, groups, member, given))
                    .collect();
                let total: f64 = weighed.iter().sum();
                self.weighed = weighed.iter().map(|w| w / total).collect();
            }
        }
    }

    /// Information that the answer is expected to give about the member, in bits.
    fn gain(&self, mark: &Mark, groups: &[Group<'_>]) -> f64 {
        let of_answer = |given: usize| {
            let by_member: Vec<f64> = (0..self.weighed.len())
                .map(|member| likelihood(mark, groups, member, given))
                .collect();
            let pairs = || by_member.iter().zip(&self.weighed);
            let marginal: f64 = pairs().map(|(l, share)| l * share).sum();
            let bits = |(l, share): (&f64, &f64)| share * l * (l / marginal).log2();
            pairs().map(bits).sum::<f64>()
        };
        (0..groups.len()).map(of_answer).sum()
    }
}

/// Probability of an answer where the bird is of that member. Answers that are wrong fall on the
/// other wordings alike; a member that the mark does not speak of gives each of them alike, and
/// one that stands in several groups in different plumages shares itself among them. A pair that
/// the mark excepts is alike for it.
fn likelihood(mark: &Mark, groups: &[Group<'_>], member: usize, given: usize) -> f64 {
    let wordings = groups.len() as f64;
    let right = f64::from(right_in_ten(mark.trust)) / 10.0;
    let wrong = (1.0 - right) / (wordings - 1.0);
    let species = groups.iter().find_map(|g| species_at(g, member));
    let Some(species) = species else {
        return 1.0 / wordings;
    };
    let excepted = |group: &Group<'_>| {
        let pairs = mark.not_between.iter();
        let mut others = pairs.filter_map(|(a, b)| match species {
            s if s == a => Some(b),
            s if s == b => Some(a),
            _ => None,
        });
        others.any(|other| group.shows.members.contains(other))
    };
    let its: Vec<bool> = groups
        .iter()
        .map(|g| g.places.contains(&member) || excepted(g))
        .collect();
    let shown = its.iter().filter(|its| **its).count() as f64;
    match (its.get(given), shown < wordings) {
        (_, false) => 1.0 / wordings,
        (Some(true), _) => (right + wrong * (shown - 1.0)) / shown,
        _ => wrong,
    }
}

/// The scientific name of the member in that place of those about, where the group has it.
fn species_at<'g>(group: &'g Group<'_>, member: usize) -> Option<&'g str> {
    let at = group.places.iter().position(|p| *p == member)?;
    group.species.get(at).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use config::look_alikes::{Region, parse_set, shipped};
    use std::collections::BTreeMap;

    const SET: &str = r#"id = "trio"
title = "Three"
source = "ours"
review = "ours"
[[member]]
species = "Aa aa"
plumages = [{ region = "nearctic", plumage = "male", months = [9] }, { region = "nearctic", plumage = "female", months = [9] }]
[[member]]
species = "Bb bb"
plumages = [{ region = "nearctic", plumage = "male", months = [9] }]
[[member]]
species = "Cc cc"
plumages = [{ region = "nearctic", plumage = "male", months = [9] }]
[[mark]]
part = "bill"
trust = "structure"
not_between = [["Bb bb", "Cc cc"]]
[[mark.shows]]
members = ["Aa aa"]
text = "Long."
[[mark.shows]]
members = ["Bb bb"]
text = "Short."
[[mark.shows]]
members = ["Cc cc"]
text = "Thick."
[[mark]]
part = "head"
trust = "pattern"
[[mark.shows]]
members = ["Aa aa"]
plumages = ["male"]
text = "Black."
[[mark.shows]]
members = ["Aa aa", "Bb bb"]
plumages = ["female"]
text = "Brown."
[[mark.shows]]
members = ["Bb bb"]
plumages = ["male"]
text = "Grey."
"#;

    fn lesson(set: &config::look_alikes::LookAlikeSet, region: &str, month: u8) -> Lesson<'static> {
        Lesson {
            set: Box::leak(Box::new(set.clone())),
            region: Some(Region(region.to_owned())),
            month: Some(month),
            names: BTreeMap::new(),
        }
    }

    /// Worked by hand from the definition: right 9 in 10, the rest on the other wordings alike.
    #[test]
    fn an_answer_weighs_as_its_mark_can_be_trusted() {
        let set = parse_set("trio.toml", SET).unwrap_or_else(|e| panic!("{e}"));
        let lesson = lesson(&set, "nearctic", 9);
        let mut key = Key::new(&lesson, &[2.0, 1.0, 1.0]).unwrap();
        assert_eq!(key.shares(), [0.5, 0.25, 0.25]);
        let bill = key.next_question().unwrap();
        assert_eq!(bill.mark.part, "bill");
        key.answer(&bill, Answer::Shows(0));
        // Aa 0.9; Bb and Cc, alike for the mark, show two of the three wordings: wrong is 0.05
        let weighed = [0.5 * 0.9, 0.25 * 0.05, 0.25 * 0.05];
        let total: f64 = weighed.iter().sum();
        let expected = [0.5, 0.25, 0.25]
            .iter()
            .zip(weighed)
            .map(|(start, w)| 0.9 * w / total + 0.1 * start);
        for (share, expected) in key.shares().iter().zip(expected) {
            assert!((share - expected).abs() < 1e-12);
        }
    }

    #[test]
    fn what_is_not_seen_changes_nothing_and_what_fits_nothing_is_remembered() {
        let set = parse_set("trio.toml", SET).unwrap_or_else(|e| panic!("{e}"));
        let lesson = lesson(&set, "nearctic", 9);
        let mut key = Key::new(&lesson, &[1.0; 3]).unwrap();
        let before = key.shares();
        let mut asked = Vec::new();
        while let Some(question) = key.next_question() {
            key.answer(&question, Answer::Unseen);
            key.answer(&question, Answer::NoneOfThese);
            asked.push(question.mark.part.clone());
        }
        assert_eq!(key.shares(), before);
        assert_eq!((asked.len(), key.unfitting), (2, 2), "{asked:?}");
    }

    #[test]
    fn shares_that_are_none_start_no_key() {
        let set = parse_set("trio.toml", SET).unwrap_or_else(|e| panic!("{e}"));
        let lesson = lesson(&set, "nearctic", 9);
        for bad in [
            &[1.0, 1.0][..],
            &[1.0, 0.0, 1.0],
            &[1.0, f64::NAN, 1.0],
            &[1.0, f64::INFINITY, 1.0],
        ] {
            assert!(Key::new(&lesson, bad).is_none(), "{bad:?}");
        }
    }

    /// Over every shipped set and month: probabilities of the answers sum to 1 for each member,
    /// a bird that answers as one member throughout leads to it, and never for certain.
    #[test]
    fn every_bird_that_shows_all_its_marks_comes_out_first_and_never_certain() {
        let mut keys = 0;
        for set in shipped().unwrap_or_else(|e| panic!("{e}")) {
            for region in set.regions() {
                for month in 1..=12 {
                    let lesson = lesson(&set, &region.0, month);
                    for member in 0..lesson.about().len() {
                        follow(&lesson, member);
                        keys += 1;
                    }
                }
            }
        }
        assert!(keys > 200, "{keys}");
    }

    fn follow(lesson: &Lesson<'_>, member: usize) {
        let members = lesson.about().len();
        let mut key = Key::new(lesson, &vec![1.0; members]).unwrap();
        while let Some(question) = key.next_question() {
            let (mark, groups) = (question.mark, &question.groups);
            for other in 0..members {
                let all = (0..groups.len()).map(|g| likelihood(mark, groups, other, g));
                assert!((all.sum::<f64>() - 1.0).abs() < 1e-12, "{}", mark.part);
            }
            let its = groups.iter().position(|g| g.places.contains(&member));
            key.answer(&question, its.map_or(Answer::Unseen, Answer::Shows));
        }
        let shares = key.shares();
        let first = (0..members).max_by(|a, b| shares[*a].total_cmp(&shares[*b]));
        let name = &lesson.about()[member].0.species;
        assert_eq!(
            first,
            Some(member),
            "{name} in month {:?}: {shares:?}",
            lesson.month
        );
        let most = 1.0 - POOR_VIEWS + POOR_VIEWS / members as f64;
        assert!(members == 1 || shares[member] < most, "{name}");
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }
}

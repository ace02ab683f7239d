//! The back of a leaf: what may be about on its date and is hard to tell apart, the most trusted
//! marks of each set first, as many as fit in letters that can be read outside.

use super::{PlanError, lines_in};
use crate::guidance::types::{MarkGuidance, SetGuidance};
use crate::handout::fit::{self, Fitted, Room};
use crate::handout::{Block, HandoutError, Letters};
use crate::words::{self, count_of};
use serde::Serialize;

/// Letters are no smaller, points: a leaf is read outside, in wind and rain. A choice.
pub(super) const SMALLEST: f64 = 9.0;

const NO_SETS: &str =
    "No two species that are easily taken for one another are likely on this date.";

/// What stands on it.
pub(super) struct Told<'a> {
    /// Its heading.
    pub(super) title: String,
    /// Below the heading.
    pub(super) under: String,
    /// Those with targets of the visit first.
    pub(super) sets: &'a [&'a SetGuidance],
    /// What to do when no name fits.
    pub(super) when_none_fits: &'a str,
    /// At its foot.
    pub(super) foot: Block,
}

/// It laid out.
#[derive(Debug, Serialize)]
pub(super) struct Back {
    title: String,
    under: String,
    /// Letters in tenths of a point, for the style sheet's classes.
    size: u32,
    fitted: Fitted,
    /// Lines to write on.
    lines: usize,
}

impl Told<'_> {
    /// With as many marks as fit.
    pub(super) fn fitted(&self, letters: &Letters) -> Result<Back, PlanError> {
        let head = fit::head(letters, &self.title, &self.under)?;
        let room = Room {
            height: fit::HEIGHT - head,
            foot: vec![self.foot.clone()],
        };
        let fitted = self.fullest(letters, &room)?.ok_or_else(|| {
            let title = self.title.clone();
            HandoutError::TooLong(title)
        })?;
        Ok(Back {
            title: self.title.clone(),
            under: self.under.clone(),
            size: (fitted.size * 10.0).round() as u32,
            lines: lines_in(room.height - fitted.height),
            fitted,
        })
    }

    /// As many sets as fit with their first mark at least, and of them as many marks as fit.
    fn fullest(&self, letters: &Letters, room: &Room) -> Result<Option<Fitted>, HandoutError> {
        let side = |sets, marks| fit::side(letters, [self.draft(sets, marks)], SMALLEST, room);
        for sets in (0..=self.sets.len()).rev() {
            let Some(mut fitted) = side(sets, sets)? else {
                continue;
            };
            let all: usize = self.sets[..sets].iter().map(|s| s.marks.len()).sum();
            let (mut fits, mut too_many) = (sets, all + 1);
            while fits + 1 < too_many {
                let marks = usize::midpoint(fits, too_many);
                match side(sets, marks)? {
                    Some(more) => (fits, fitted) = (marks, more),
                    None => too_many = marks,
                }
            }
            return Ok(Some(fitted));
        }
        Ok(None)
    }

    /// So many marks of the first so many sets, dealt out from the most trusted on.
    fn draft(&self, sets: usize, marks: usize) -> Vec<Block> {
        let shown = dealt(&self.sets[..sets], marks);
        let mut blocks = Vec::new();
        for (set, marks) in self.sets.iter().zip(&shown) {
            blocks.extend(of_set(set, *marks));
        }
        if self.sets.is_empty() {
            blocks.push(Block::text("", NO_SETS));
        }
        blocks.extend(self.left_out(&shown).map(|text| Block::text("", &text)));
        blocks.push(Block::text("", self.when_none_fits));
        blocks
    }

    /// What has no room, and where it stands.
    fn left_out(&self, shown: &[usize]) -> Option<String> {
        let shown = shown.iter().copied().chain(std::iter::repeat(0));
        let left = self.sets.iter().zip(shown);
        let left: Vec<String> = left
            .filter(|(set, shown)| set.marks.len() > *shown)
            .map(|(set, shown)| {
                let marks = count_of(set.marks.len() - shown, "mark", "marks");
                format!("{marks} of \u{201c}{}\u{201d}", set.title)
            })
            .collect();
        let told = || {
            format!(
                "No room here for {}: more in the handouts.",
                words::list(&left)
            )
        };
        (!left.is_empty()).then(told)
    }
}

/// How many marks of each set, where the sets take turns until so many are dealt.
fn dealt(sets: &[&SetGuidance], marks: usize) -> Vec<usize> {
    let mut shown = vec![0; sets.len()];
    let mut left = marks;
    for turn in 1.. {
        let mut any = false;
        for (set, shown) in sets.iter().zip(&mut shown) {
            if left > 0 && set.marks.len() >= turn {
                *shown = turn;
                left -= 1;
                any = true;
            }
        }
        if !any {
            break;
        }
    }
    shown
}

fn of_set(set: &SetGuidance, marks: usize) -> Vec<Block> {
    let mut blocks = vec![Block::heading(&set.title)];
    blocks.extend(set.marks.iter().take(marks).map(mark));
    let light: Vec<&str> = set.not_to_rely_on.iter().map(|m| m.part.as_str()).collect();
    if !light.is_empty() {
        let text = format!("as they change with light: {}.", words::list(&light));
        blocks.push(Block::text("Not to rely on,", &text));
    }
    let untold = set.cannot_tell.iter();
    blocks.extend(untold.map(|c| Block::text("Cannot be told apart:", &words::stop(c))));
    blocks.push(Block::small("", &words::review(set)));
    blocks
}

fn mark(mark: &MarkGuidance) -> Block {
    let shows = mark.shows.iter().map(|(names, text)| {
        let names = words::list(names);
        format!("{names}: {}", words::stop(text))
    });
    let shows: Vec<String> = shows.collect();
    Block::text(&format!("{}.", words::mark_heading(mark)), &shows.join(" "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use config::look_alikes::Trust;

    fn set(title: &str, marks: usize, words: usize) -> SetGuidance {
        let mark = |n: usize| MarkGuidance {
            part: format!("part {n} of {title}"),
            trust: Trust::Structure,
            shows: vec![(vec!["Teal".to_owned()], "long and fine ".repeat(words))],
            plumages: Vec::new(),
            trap: None,
        };
        SetGuidance {
            id: title.to_lowercase(),
            title: title.to_owned(),
            marks: (1..=marks).map(mark).collect(),
            chance_together: 0.5,
            likeliest_pair: None,
            effective_birds: 100.0,
            members: Vec::new(),
            not_to_rely_on: Vec::new(),
            cannot_tell: Vec::new(),
            describe: Vec::new(),
            review: "author only".to_owned(),
            source: String::new(),
        }
    }

    fn back(sets: &[&SetGuidance]) -> Back {
        let told = Told {
            title: "Which is which".to_owned(),
            under: "At Long Bank.".to_owned(),
            sets,
            when_none_fits: "Leave it unnamed.",
            foot: Block::small("The bird decides.", "Skerrow Ness."),
        };
        told.fitted(&Letters::default()).expect("a side")
    }

    fn said(back: &Back) -> String {
        let blocks = back.fitted.columns.iter().flatten();
        let said = blocks.map(|b| format!("{} {}\n", b.lead, b.text));
        words::plain_spaces(&said.collect::<String>())
    }

    #[test]
    fn sets_take_turns_from_the_most_trusted_mark_on() {
        let (a, b) = (set("A", 5, 1), set("B", 1, 1));
        assert_eq!(dealt(&[&a, &b], 2), [1, 1]);
        assert_eq!(dealt(&[&a, &b], 4), [3, 1]);
        assert_eq!(dealt(&[&a, &b], 99), [5, 1]);
    }

    #[test]
    fn what_fits_is_there_and_the_rest_is_counted() {
        let (few, many) = (set("Few", 3, 2), set("Many", 60, 30));
        let all = back(&[&few]);
        assert!(
            !said(&all).contains("No room") && all.size == 105,
            "{}",
            said(&all)
        );
        let some = back(&[&many, &few]);
        let told = said(&some);
        let shown = told.matches("Part ").count();
        assert!((10..63).contains(&shown), "{shown}");
        assert!(
            told.contains(&format!("No room here for {} marks of", 63 - shown)),
            "{told}"
        );
        assert!(told.contains("Part 3 of Few") && told.contains("Leave it unnamed."));
        assert_eq!(
            some.size, 90,
            "the smallest letters come before fewer words"
        );
        let (huge, next) = (set("Huge", 2, 1200), set("Next", 1, 900));
        let none = said(&back(&[&huge, &next]));
        assert!(none.contains("No room here for 2 marks of"), "{none}");
        assert!(said(&back(&[])).contains("No two species"));
    }
}

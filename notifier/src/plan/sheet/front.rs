//! The front of a leaf: where, when and what for, what to mind, and room to write.

use super::{CAUTIONS, PlanError, TARGETED, lines_in};
use crate::handout::fit::{self, WIDTH};
use crate::handout::{Block, Letters};
use crate::words::count_of;
use serde::Serialize;

/// Letters of what is read at home, points, and of what is ticked outside.
const CAUTION: f64 = 9.0;
const TEXT: f64 = 10.0;
/// Border and padding of the cautions, above and below, and to each side, millimetres.
const BOX: f64 = 4.6;
const INSET: f64 = 3.3;
/// Between the two columns of cautions, millimetres, and where their words begin.
const BETWEEN: f64 = 6.0;
const BULLET: f64 = 3.5;
/// A line with blanks to fill, millimetres.
const BLANKS: f64 = 10.0;
/// A target's row with a name of one line, and room for the name in it.
const ROW: f64 = 8.0;
const NAME: f64 = 43.0;
/// Room below the list of targets.
const AIR: f64 = 2.0;
/// Points to millimetres.
const POINT: f64 = fit::POINT;

pub(super) const LOOK_FOR: &str =
    "Look for: chance of finding one or more that day, then your number and notes";

/// What stands on it.
pub(super) struct Told {
    pub(super) title: String,
    pub(super) under: String,
    pub(super) own_caution: Option<String>,
    pub(super) targets: Vec<Row>,
    /// Targets too unlikely to be named.
    pub(super) left_out: Option<String>,
}

/// A target.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Row {
    pub(super) name: String,
    pub(super) scientific: Option<String>,
    pub(super) chance: String,
}

/// It laid out.
#[derive(Debug, Serialize)]
pub(super) struct Front {
    title: String,
    under: String,
    own_caution: Option<String>,
    cautions: [&'static [&'static str]; 2],
    look_for: &'static str,
    /// In two columns.
    targets: [Vec<Row>; 2],
    left_out: Vec<String>,
    targeted: &'static str,
    /// More words than a side holds: it takes as many as it needs.
    long: bool,
    /// Lines to write on.
    lines: usize,
}

impl Told {
    /// With as many targets as fit, the rest counted.
    pub(super) fn fitted(self, letters: &Letters) -> Result<Front, PlanError> {
        let mut shown = self.targets.len();
        let mut room = self.room(letters, shown)?;
        while room < 0.0 && shown > 0 {
            shown -= 1;
            room = self.room(letters, shown)?;
        }
        let long = room < 0.0;
        // what hangs on targets is no reason to cut them where the side is too short anyway
        let shown = if long { self.targets.len() } else { shown };
        let (left_out, [left, right]) = (self.sentences(shown), self.columns(shown));
        Ok(Front {
            targets: [left.to_vec(), right.to_vec()],
            left_out,
            cautions: [&CAUTIONS[..3], &CAUTIONS[3..]],
            look_for: LOOK_FOR,
            targeted: TARGETED,
            long,
            lines: lines_in(room),
            title: self.title,
            under: self.under,
            own_caution: self.own_caution,
        })
    }

    fn columns(&self, shown: usize) -> [&[Row]; 2] {
        let (left, right) = self.targets[..shown].split_at(shown.div_ceil(2));
        [left, right]
    }

    /// What is said of targets that are not named.
    fn sentences(&self, shown: usize) -> Vec<String> {
        let more = self.targets.len() - shown;
        let more = (more > 0).then(|| {
            let targets = count_of(more, "target", "targets");
            format!("No room here for {targets} more, on which less hangs: see the plan.")
        });
        more.into_iter().chain(self.left_out.clone()).collect()
    }

    /// Millimetres that are left where so many targets are named; less than none where they are too
    /// many.
    fn room(&self, letters: &Letters, shown: usize) -> Result<f64, PlanError> {
        let mut high = fit::head(letters, &self.title, &self.under)?;
        high += self.cautions(letters)? + BLANKS;
        let text = |block: &Block| fit::height(letters, block, TEXT, WIDTH);
        high += text(&Block::heading(LOOK_FOR))?;
        let mut lower: f64 = 0.0;
        for column in self.columns(shown) {
            lower = lower.max(rows(letters, column)?);
        }
        high += lower + AIR;
        for sentence in self.sentences(shown) {
            high += text(&Block::text("", &sentence))?;
        }
        high += text(&Block::text(super::WRITE_ALL, TARGETED))?;
        Ok(fit::HEIGHT - high)
    }

    fn cautions(&self, letters: &Letters) -> Result<f64, PlanError> {
        let inner = WIDTH - 2.0 * INSET;
        let mut high =
            BOX + fit::height(letters, &Block::heading("Before you go"), CAUTION, inner)?;
        if let Some(own) = &self.own_caution {
            let own = Block::text("At this site.", own);
            high += fit::height(letters, &own, CAUTION, inner)?;
        }
        let column = (inner - BETWEEN) / 2.0 - BULLET;
        let mut lower: f64 = 0.0;
        for half in [&CAUTIONS[..3], &CAUTIONS[3..]] {
            let mut sum = 0.0;
            for caution in half {
                sum += fit::height(letters, &Block::text("", caution), CAUTION, column)?;
            }
            lower = lower.max(sum);
        }
        Ok(high + lower)
    }
}

/// Height of a column of targets: a long name makes its row higher.
fn rows(letters: &Letters, rows: &[Row]) -> Result<f64, PlanError> {
    let size = TEXT * POINT;
    let mut high = 0.0;
    for row in rows {
        let lines = letters.lines(&Block::text("", &row.name), size, NAME);
        let lines = lines.map_err(crate::handout::HandoutError::from)?;
        high += ROW.max(lines.len() as f64 * fit::LINE * size + 1.0);
    }
    Ok(high)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn front(targets: usize, own: usize) -> Front {
        let row = |n: usize| Row {
            name: format!("Bird {n}"),
            scientific: None,
            chance: "5 %".to_owned(),
        };
        let told = Told {
            title: "Long Bank, Saturday 5 September 2026".to_owned(),
            under: "Start 06:20.".to_owned(),
            own_caution: (own > 0).then(|| "The sand is soft. ".repeat(own)),
            targets: (0..targets).map(row).collect(),
            left_out: None,
        };
        told.fitted(&Letters::default()).expect("a side")
    }

    fn named(front: &Front) -> usize {
        front.targets.iter().map(Vec::len).sum()
    }

    #[test]
    fn targets_fill_the_side_and_the_rest_is_counted() {
        let few = front(9, 1);
        assert_eq!((named(&few), few.left_out.len()), (9, 0));
        assert!(few.lines > 5, "room to write");
        let many = front(100, 1);
        let shown = named(&many);
        assert!((20..60).contains(&shown), "{shown}");
        let said = crate::words::plain_spaces(&many.left_out[0]);
        assert!(
            said.contains(&format!("{} targets more", 100 - shown)),
            "{said}"
        );
        assert!(!many.long && many.lines == 0);
        assert!(named(&front(100, 40)) < shown, "a caution is never cut");
    }

    #[test]
    fn cautions_too_long_for_a_side_are_whole_and_take_another() {
        let long = front(9, 2000);
        assert!(long.long);
        assert_eq!(named(&long), 9);
    }
}

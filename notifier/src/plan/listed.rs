//! Which targets of a visit are named: those that may well be found. The others are counted; JSON and
//! CSV have them all.

use super::{Plan, Planned, Purpose};
use crate::words::{TIE, count_of};

/// Below this chance on the day a target is counted and not named. A choice: a list that begins with
/// birds found once in fifty visits hides the others.
const NAMED_FROM: f64 = 0.05;

/// Targets of a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed<'p> {
    /// Those named, in their order.
    pub named: Vec<&'p Purpose>,
    /// How many are not.
    pub left_out: usize,
}

impl Plan {
    /// The targets of a visit. One that counts more than others is named whatever its chance, and
    /// where none is likely enough all are: the date was chosen for them.
    pub fn listed<'p>(&self, visit: &'p Planned) -> Listed<'p> {
        self.listed_of(visit.purpose.iter().collect())
    }

    /// The same of these alone.
    pub(super) fn listed_of<'p>(&self, all: Vec<&'p Purpose>) -> Listed<'p> {
        let is_named = |p: &&Purpose| p.chance >= NAMED_FROM || self.targets[p.target].weight > 1.0;
        let named: Vec<&Purpose> = all.iter().copied().filter(is_named).collect();
        match named.is_empty() {
            true => Listed {
                left_out: 0,
                named: all,
            },
            false => Listed {
                left_out: all.len() - named.len(),
                named,
            },
        }
    }
}

impl Listed<'_> {
    /// "Left out: 6 targets under 5 %."; None where none is.
    pub fn left_out_words(&self) -> Option<String> {
        let targets = count_of(self.left_out, "target", "targets");
        let told = || format!("Left out: {targets} under 5{TIE}%.");
        (self.left_out > 0).then(told)
    }
}

/// "On this visit alone": the chance that no other planned one finds it, in whole percent.
pub fn alone(lost: f64) -> String {
    let percent = 100.0 * lost;
    match percent < 0.5 {
        true => format!("under{TIE}1{TIE}%"),
        false => format!("{percent:.0}{TIE}%"),
    }
}

#[cfg(test)]
mod tests {
    use super::super::text::tests::plan;
    use super::*;
    use crate::words;

    fn purpose(target: usize, chance: f64) -> Purpose {
        Purpose {
            target,
            chance,
            lost: 0.01,
        }
    }

    #[test]
    fn what_is_unlikely_is_counted_unless_the_date_is_for_it() {
        let mut plan = plan(1.0, 1.0, 0.1);
        let all = [purpose(0, 0.049), purpose(1, 0.05)];
        let told = |plan: &Plan, all: &[Purpose]| {
            let listed = plan.listed_of(all.iter().collect());
            let named: Vec<usize> = listed.named.iter().map(|p| p.target).collect();
            (
                named,
                listed.left_out_words().map(|w| words::plain_spaces(&w)),
            )
        };
        let left_out = Some("Left out: 1 target under 5 %.".to_owned());
        assert_eq!(told(&plan, &all), (vec![1], left_out));
        assert_eq!(told(&plan, &all[..1]), (vec![0], None));
        plan.targets[0].weight = 3.0;
        assert_eq!(told(&plan, &all), (vec![0, 1], None));
    }

    #[test]
    fn parts_of_a_percent_are_under_one() {
        let plain = |lost| words::plain_spaces(&alone(lost));
        assert_eq!(
            [plain(0.004), plain(0.006), plain(0.126)],
            ["under 1 %", "1 %", "13 %"]
        );
    }
}

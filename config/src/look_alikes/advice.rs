//! What a set that holds could still teach better.

use super::{LookAlikeSet, Mark, Trust};

impl LookAlikeSet {
    /// What is left out, each as one sentence; nothing of it keeps the set from being used.
    pub fn advice(&self) -> Vec<String> {
        let mut advice: Vec<String> = Vec::new();
        for member in &self.members {
            let name = &member.species;
            if !member.names.contains_key("en") || member.names.len() < 2 {
                advice.push(format!(
                    "{name} has no names in English and another language"
                ));
            }
            if member.describe.is_none() {
                advice.push(format!(
                    "{name} does not say what a description must contain"
                ));
            }
            // a tail is drawn from both or not at all
            let tail = member.proportions.as_ref();
            let tail = tail.map(|p| (p.tail_length.is_some(), p.tail_shape.is_some()));
            if let Some((true, false) | (false, true)) = tail {
                advice.push(format!(
                    "{name} states tail_length or tail_shape without the other, so that no tail is drawn"
                ));
            }
        }
        for mark in &self.marks {
            if mark.traps.is_empty() {
                advice.push(format!("the mark {:?} names no trap", mark.part));
            }
            if !self.of_use(mark) {
                advice.push(format!(
                    "the mark {:?} separates no two members in any month in which both are about",
                    mark.part
                ));
            }
        }
        if !self.marks.iter().any(|m| m.trust == Trust::Light) {
            advice.push("no mark warns of what changes with light".to_owned());
        }
        if self.cannot_tell.is_empty() {
            advice.push("no [[cannot_tell]] says what cannot be told apart".to_owned());
        }
        advice
    }

    /// Does the mark say something of two members that meet? One that changes with light only
    /// has to warn, so it is never useless.
    fn of_use(&self, mark: &Mark) -> bool {
        let in_month = |region, month| {
            let meetings = self.meetings(region, month);
            mark.holds(region, month) && meetings.iter().any(|(a, b)| mark.separates(*a, *b))
        };
        let regions = self.regions();
        let somewhere = |month| regions.iter().any(|region| in_month(region, month));
        mark.trust == Trust::Light || (1..=12).any(somewhere)
    }
}

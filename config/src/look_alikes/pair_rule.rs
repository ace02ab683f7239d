//! The rule of pairs: two members that meet are separated by two marks or more, one of them of
//! structure or voice, in every plumage in which they meet, or the set says that nobody can.

use super::{LookAlikeSet, Mark, Plumage, Region, Seen, Trust};
use crate::nearest::{all_of, month_names};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Two members that the set does not teach to tell apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Unseparated {
    /// Where they meet.
    pub region: Region,
    /// Months in which they do, 1..=12, in order.
    pub months: Vec<u8>,
    /// One of them.
    pub a: (String, Plumage),
    /// The other.
    pub b: (String, Plumage),
    /// Parts of the marks that separate them all the same.
    pub marks: Vec<String>,
}

impl LookAlikeSet {
    /// Meetings of members that break the rule of pairs, those with the same marks as one.
    pub fn unseparated(&self) -> Vec<Unseparated> {
        type Meeting<'s> = (&'s Region, Seen<'s>, Seen<'s>, Vec<String>);
        let mut broken: BTreeMap<Meeting<'_>, Vec<u8>> = BTreeMap::new();
        for region in self.regions() {
            for month in 1..=12 {
                for (a, b) in self.meetings(region, month) {
                    let Some(marks) = self.too_few(region, month, a, b) else {
                        continue;
                    };
                    let meeting = (region, a, b, marks);
                    broken.entry(meeting).or_default().push(month);
                }
            }
        }
        let told = |((region, a, b, marks), months): (Meeting<'_>, Vec<u8>)| Unseparated {
            region: region.clone(),
            months,
            a: (a.0.to_owned(), a.1),
            b: (b.0.to_owned(), b.1),
            marks,
        };
        broken.into_iter().map(told).collect()
    }

    /// Regions that its members are described for.
    pub fn regions(&self) -> BTreeSet<&Region> {
        let plumages = self.members.iter().flat_map(|m| &m.plumages);
        plumages.map(|p| &p.region).collect()
    }

    /// Every two members that are about in the region in the month, in each of their plumages.
    pub fn meetings(&self, region: &Region, month: u8) -> Vec<(Seen<'_>, Seen<'_>)> {
        let mut meetings = Vec::new();
        for (i, a) in self.members.iter().enumerate() {
            for b in &self.members[i + 1..] {
                for worn_a in a.plumages_in(region, month) {
                    for worn_b in b.plumages_in(region, month) {
                        let (a, b) = (a.species.as_str(), b.species.as_str());
                        meetings.push(((a, worn_a), (b, worn_b)));
                    }
                }
            }
        }
        meetings
    }

    /// The parts of the marks between two members that meet, where they do not suffice.
    fn too_few(&self, region: &Region, month: u8, a: Seen<'_>, b: Seen<'_>) -> Option<Vec<String>> {
        let marks = self.separating(region, month, a, b);
        let parts: BTreeSet<&str> = marks.iter().map(|m| m.part.as_str()).collect();
        let nobody_can = self
            .cannot_tell
            .iter()
            .any(|c| c.always && c.in_month(month) && c.covers(a, b));
        let suffice = parts.len() >= 2 && marks.iter().any(|m| m.is_firm());
        (!suffice && !nobody_can).then(|| parts.into_iter().map(str::to_owned).collect())
    }
}

impl Mark {
    /// Of structure or voice, which neither wear nor light changes.
    pub fn is_firm(&self) -> bool {
        matches!(self.trust, Trust::Structure | Trust::Voice)
    }
}

impl fmt::Display for Unseparated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ((a, worn_a), (b, worn_b)) = (&self.a, &self.b);
        let quoted: Vec<String> = self.marks.iter().map(|part| format!("{part:?}")).collect();
        let quoted: Vec<&str> = quoted.iter().map(String::as_str).collect();
        write!(
            f,
            "{a} ({}) and {b} ({}) meet in {} in {}, and ",
            worn_a.name(),
            worn_b.name(),
            self.region.0,
            month_names(&self.months)
        )?;
        match &quoted[..] {
            [] => write!(f, "no mark separates them")?,
            [one] => write!(f, "only the mark {one} separates them")?,
            more => write!(
                f,
                "of the marks that separate them ({}) none is of structure or voice",
                all_of(more.iter().copied())
            )?,
        }
        write!(
            f,
            "; expected two marks or more, one of them of structure or voice, or a [[cannot_tell]] with always = true"
        )
    }
}

//! Visits that two counts sources tell of.

use super::grouped;
use super::render::{Page, of};
use crate::overlap::Alike;
use chrono::NaiveDate;
use config::meaning::OverlapRule;
use serde::{Deserialize, Serialize};
use std::fmt::{self, Display, Formatter};

/// Two counts sources that tell of the same visits. A visit is a site's date, those made for
/// certain species or dates apart.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Overlap {
    /// Ids of both, in the order of `wingtide.toml`.
    pub sources: [String; 2],
    /// Visits that both tell of: the next three together.
    pub visits: u64,
    /// Visits of which both say the same.
    pub alike: u64,
    /// Visits of which one has species that the other lacks, but no other count of any.
    pub further: u64,
    /// Visits of which they give different counts of a species.
    pub otherwise: u64,
    /// The first such visit of all.
    pub first: Option<OverlapPlace>,
    /// The first of those with different counts.
    pub first_otherwise: Option<OverlapPlace>,
    /// By which rule they were put together.
    pub rule: OverlapRule,
}

/// A visit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OverlapPlace {
    /// Site id.
    pub site: String,
    /// Local date.
    pub date: NaiveDate,
}

impl OverlapPlace {
    pub(crate) fn new(site: &str, date: NaiveDate) -> Self {
        OverlapPlace {
            site: site.to_owned(),
            date,
        }
    }
}

impl Display for OverlapPlace {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}", self.site, self.date)
    }
}

impl Overlap {
    pub(crate) fn new(sources: [String; 2], rule: OverlapRule) -> Self {
        Overlap {
            sources,
            visits: 0,
            alike: 0,
            further: 0,
            otherwise: 0,
            first: None,
            first_otherwise: None,
            rule,
        }
    }

    /// Takes in a visit of both.
    pub(crate) fn add(&mut self, alike: Alike, place: OverlapPlace) {
        self.visits += 1;
        match alike {
            Alike::Same => self.alike += 1,
            Alike::Further => self.further += 1,
            Alike::Otherwise => {
                self.otherwise += 1;
                self.first_otherwise.get_or_insert_with(|| place.clone());
            }
        }
        self.first.get_or_insert(place);
    }

    /// How they differ, as a phrase.
    pub fn words(&self) -> String {
        let place = |place: &Option<OverlapPlace>| {
            let place = place.as_ref();
            place.map_or_else(String::new, |p| format!(" (first: {p})"))
        };
        let mut words = vec![format!("{} told alike", grouped(self.alike))];
        if self.further > 0 {
            words.push(format!(
                "{} with species of one alone",
                grouped(self.further)
            ));
        }
        if self.otherwise > 0 {
            let first = place(&self.first_otherwise);
            words.push(format!(
                "{} with other counts{first}",
                grouped(self.otherwise)
            ));
        }
        let visits = of(self.visits, "visit");
        format!("{visits}{}; {}", place(&self.first), words.join(", "))
    }
}

/// What was done, as a sentence.
pub fn rule_words(rule: OverlapRule) -> &'static str {
    match rule {
        OverlapRule::Largest => {
            "Each is one visit: of each species the largest count stands, and the longest effort. \
             If they are of different birds, write rule = \"add\" under [overlap]."
        }
        OverlapRule::First => {
            "Each is one visit, as the source tells it that stands first in wingtide.toml; what the \
             others say of it is left aside ([overlap])."
        }
        OverlapRule::Add => {
            "Counts and efforts are added up, as [overlap] says. If the same birds are written down \
             twice, write rule = \"largest\" there."
        }
    }
}

pub(super) fn page(page: &mut Page, overlaps: &[Overlap]) {
    let Some(first) = overlaps.first() else {
        return;
    };
    page.heading("Visits that two sources tell of");
    for overlap in overlaps {
        let [a, b] = &overlap.sources;
        page.line(2, format!("{a} and {b}: {}", overlap.words()));
    }
    page.line(2, rule_words(first.rule));
}

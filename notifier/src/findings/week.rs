//! What the years say that bears on one week.

use super::{changes, few, json, passage, temperature};
use crate::guidance::SiteView;
use crate::guidance::ahead::AheadOfWeek;
use crate::guidance::types::{MemberGuidance, SetGuidance};
use chrono::NaiveDate;
use forecast::calendar::DayOfYear;
use forecast::extremes::FewRecords;
use forecast::fit::{SpeciesFit, Verdict};
use forecast::outlook::Searched;
use forecast::temperature::{Expected, Link};
use serde_json::{Value, json};

/// Changes told at most: the digest is about the week.
const MOST_CHANGES: usize = 3;

/// For one site and week.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Findings {
    /// What was made of the temperature; None where none is loaded or nothing is forecast.
    pub temperature: Option<Temperature>,
    /// Species shown that have too few records for a curve.
    pub few: Vec<Few>,
    /// Dates of species shown that have moved over the years, a sentence each.
    pub changes: Vec<String>,
}

/// A scarce species and where its records lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Few {
    /// Scientific name.
    pub species: String,
    /// Name shown.
    pub name: String,
    /// Its seasons.
    pub records: Vec<FewRecords>,
}

/// Temperature in the week's chances.
#[derive(Debug, Clone, PartialEq)]
pub struct Temperature {
    /// Species and seasons looked at, and links found.
    pub searched: Searched,
    /// Links of the season that holds the week.
    pub links: Vec<Followed>,
}

/// A species whose timing follows the temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Followed {
    /// Scientific name.
    pub species: String,
    /// Name shown.
    pub name: String,
    /// How.
    pub link: Link,
    /// This season's shift; None until its temperatures are known.
    pub expected: Option<Expected>,
}

impl Findings {
    /// Of the species that the week shows.
    pub fn of(
        view: &SiteView,
        date: NaiveDate,
        ahead: Option<&AheadOfWeek>,
        sets: &[SetGuidance],
        others: &[MemberGuidance],
    ) -> Self {
        let members = || sets.iter().flat_map(|s| &s.members).chain(others);
        let mut species: Vec<&str> = members().map(|m| m.species.as_str()).collect();
        species.sort_unstable();
        species.dedup();
        let fitted = || {
            let of = |s: &str| view.fits.get_key_value(s);
            species.iter().filter_map(move |s| of(s))
        };
        let shown = |species: &str| view.shown_name(species);
        let few = fitted().filter_map(|(s, fit)| few_of(s, fit, &shown));
        let changes = fitted().filter_map(|(s, fit)| change_of(&shown(s), fit, date));
        Findings {
            temperature: ahead.and_then(|a| a.temperature(view)),
            few: few.collect(),
            changes: changes.take(MOST_CHANGES).collect(),
        }
    }

    /// "Roseate Tern: too few records: recorded here between ...", of a scarce species.
    pub fn few_words(&self, species: &str) -> Option<String> {
        let one = self.few.iter().find(|f| f.species == species)?;
        let recorded = self.recorded(species)?;
        Some(format!("{}: too few records; {recorded}.", one.name))
    }

    /// "recorded here between 12 August and 3 October", of a scarce species.
    pub fn recorded(&self, species: &str) -> Option<String> {
        let one = self.few.iter().find(|f| f.species == species)?;
        few::recorded(&one.records)
    }

    /// A scarce species' records, for other programs.
    pub fn few_json(&self, species: &str) -> Option<Vec<Value>> {
        let one = self.few.iter().find(|f| f.species == species)?;
        Some(json::records(&one.records))
    }
}

fn few_of(species: &str, fit: &SpeciesFit, shown: &dyn Fn(&str) -> String) -> Option<Few> {
    let records: Vec<FewRecords> = match fit.verdict {
        Verdict::TooFew => fit
            .passages
            .iter()
            .flat_map(|p| p.records.clone())
            .collect(),
        _ => return None,
    };
    (!records.is_empty()).then(|| Few {
        species: species.to_owned(),
        name: shown(species),
        records,
    })
}

/// Of the passage whose stretch of the year holds the date.
fn change_of(name: &str, fit: &SpeciesFit, date: NaiveDate) -> Option<String> {
    let day = DayOfYear::of(date).get();
    let now = fit.passages.iter().find(|p| match p.stretch {
        (first, last) if first <= last => (first..=last).contains(&day),
        (first, last) => day >= first || day <= last,
    })?;
    let moved = changes::moved(now)?;
    Some(format!("{name}, {}: {moved}.", passage(now.name)))
}

impl Temperature {
    /// A paragraph for each link, or one that says that there is none.
    pub fn words(&self) -> Vec<String> {
        let n = self.searched.looked_at;
        if n == 0 {
            return vec!["Temperature: no species has seasons enough to look for a link.".into()];
        }
        if self.searched.links == 0 {
            return vec![format!(
                "Temperature: no link with temperature was found ({n} passages looked at), so the \
                 chances do not use it."
            )];
        }
        if self.links.is_empty() {
            return vec![format!(
                "Temperature: no link bears on this time of the year ({n} passages looked at), so \
                 the week's chances do not use it."
            )];
        }
        self.links.iter().map(Followed::words).collect()
    }

    /// For other programs.
    pub fn json(&self) -> Value {
        let one = |f: &Followed| {
            let mut value = json::link(&f.link);
            if let Value::Object(keys) = &mut value {
                keys.insert("species".into(), json!(f.species));
                keys.insert("expected_days".into(), json!(f.expected.map(|e| e.days)));
            }
            value
        };
        json!({
            "looked_at": self.searched.looked_at,
            "links_found": self.searched.links,
            "links": self.links.iter().map(one).collect::<Vec<_>>(),
        })
    }
}

impl Followed {
    fn words(&self) -> String {
        let this_season = match self.expected {
            None => "the temperatures of this season that count are not all known yet".to_owned(),
            Some(e) if e.days.abs() < 0.5 => "this season is expected about on time".to_owned(),
            Some(e) => format!(
                "this season is expected {} than usual, and the chances use it",
                temperature::days(e.days)
            ),
        };
        format!(
            "Temperature: {}: {this_season}. The link: {}",
            self.name,
            temperature::words(&self.link)
        )
    }
}

//! A visit on the page of planned visits.

use super::About;
use crate::plan::listed::alone;
use crate::plan::{Plan, Planned, Purpose, Target};
use crate::web::address::{Place, slug};
use crate::web::page::Link;
use crate::words;
use chrono::NaiveDate;
use serde::Serialize;

/// Targets in a visit's table at most; the others are named below it.
const ROWS: usize = 6;

#[derive(Serialize)]
pub(super) struct VisitView {
    id: String,
    date: String,
    /// Where the page is about more than one site.
    site: Option<String>,
    times: Option<String>,
    rows: Vec<RowView>,
    /// How many more there are, and which.
    others: Option<(String, String)>,
    /// How many are not named.
    left_out: Option<String>,
    said: Vec<String>,
}

#[derive(Serialize)]
struct RowView {
    name: Link,
    chance: String,
    /// None where the plan is no longer whole.
    alone: Option<String>,
}

/// The place of a visit on the page.
pub(super) fn id(site: &str, date: NaiveDate) -> String {
    format!("{site}-{date}")
}

impl About<'_> {
    pub(super) fn visit(&self, plan: &Plan, visit: &Planned) -> VisitView {
        let (id, name) = &plan.sites[visit.site];
        let listed = plan.listed(visit);
        let (told, others) = listed.named.split_at(listed.named.len().min(ROWS));
        let row = |p: &&Purpose| RowView {
            name: self.name(&plan.targets[p.target]),
            chance: words::chance(p.chance),
            alone: (!plan.parted).then(|| alone(p.lost)),
        };
        let other = |p: &&Purpose| {
            let name = &plan.targets[p.target].name;
            format!("{name} ({})", words::chance(p.chance))
        };
        let others: Vec<String> = others.iter().map(other).collect();
        VisitView {
            id: self::id(id, visit.date),
            date: words::weekday_date(visit.date),
            site: self.site.is_none().then(|| name.clone()),
            times: Some(visit.start.words()).filter(|words| !words.is_empty()),
            rows: told.iter().map(row).collect(),
            others: (!others.is_empty()).then(|| {
                let more = words::count_of(others.len(), "other", "others");
                (format!("Also {more}"), words::stop(&words::list(&others)))
            }),
            left_out: listed.left_out_words(),
            said: said(plan, visit),
        }
    }

    /// A target, linked where it has a page.
    pub(super) fn name(&self, target: &Target) -> Link {
        let star = if target.few_records { "*" } else { "" };
        let words = match target.weight == 1.0 {
            true => format!("{}{star}", target.name),
            false => format!("{}{star} (weight {})", target.name, target.weight),
        };
        let counted = self.sites().find(|s| {
            let data = s.data.as_ref();
            data.is_some_and(|d| d.history.species.contains_key(&target.species))
        });
        let place = |id: &str| self.to(&Place::Species(id, &slug(&target.species)));
        match counted {
            Some(site) => Link::new(words, place(&site.site.id)),
            None => Link::here(words),
        }
    }
}

fn said(plan: &Plan, visit: &Planned) -> Vec<String> {
    match plan.parted {
        true => visit
            .rain
            .date()
            .map(|(date, _)| format!("If it rains: {}.", words::weekday_date(date)))
            .into_iter()
            .collect(),
        false => {
            let lost = plan.without_words(visit);
            [Some(lost), plan.rain_words(visit)]
                .into_iter()
                .flatten()
                .collect()
        }
    }
}

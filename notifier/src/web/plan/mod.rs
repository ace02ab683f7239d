//! Planned visits, of a site or of all: when to go, what for, and what is lost where nobody goes.

pub(super) mod calendar;
mod picture;
pub(super) mod sheets;
mod visit;

use super::address::Place;
use super::page::{self, Frame, Link, PLANNED};
use super::render::{Making, Refusal};
use super::shown::plan::ShownPlans;
use super::snapshot::ShownSite;
use crate::plan::kept::Entry;
use crate::plan::sheet::CAUTIONS;
use crate::plan::{Plan, Target};
use crate::words;
use chrono::NaiveDate;
use picture::Picture;
use serde::Serialize;
use visit::VisitView;

#[derive(Serialize)]
struct View {
    /// Why there is nothing; None where there is.
    none: Option<String>,
    /// All dates to come, those with more told of them linked to it.
    dates: Vec<DateView>,
    links: Vec<Link>,
    plans: Vec<PlanView>,
    past: Vec<String>,
    /// Sites by name, and what their keepers say of them.
    own_cautions: Vec<(String, String)>,
    cautions: [&'static str; 6],
    meaning: [&'static str; 4],
}

#[derive(Serialize)]
struct DateView {
    date: Link,
    /// What is said behind it.
    more: String,
}

#[derive(Serialize)]
struct PlanView {
    id: String,
    heading: String,
    said: Vec<String>,
    picture: Option<Picture>,
    visits: Vec<VisitView>,
    targets: Vec<TargetView>,
    starred: Option<&'static str>,
}

#[derive(Serialize)]
struct TargetView {
    name: Link,
    chance: String,
    /// Visits that make it 80, 90 and 95 % sure.
    needed: [String; 3],
}

/// What the numbers are.
const MEANING: [&str; 4] = [
    "Chances are those of the day of planning, on one standard visit. Counts that are loaded later \
     change them only when the visits are planned again.",
    "By this visit alone: the chance that it finds the bird and no other planned one does. A bird that \
     other visits find as well has little of it.",
    "In all: the chance of finding one or more on the visits that were to come. For 80, 90 and 95 %: \
     how many visits like the best date would be so sure, for that target alone.",
    "A visit on a planned date is a targeted one: enter it so, and the curves leave it out, since \
     chosen days would make them too high.",
];

/// The pages' subject: one site, or all.
pub(super) struct About<'a> {
    pub(super) making: &'a Making<'a>,
    pub(super) site: Option<&'a ShownSite>,
}

/// The page.
pub(super) fn page(making: &Making, site: Option<&str>) -> Result<String, Refusal> {
    let site = site.map(|id| making.site(id)).transpose()?;
    let about = About { making, site };
    let frame = about.frame();
    Ok(page::render("plan.html", &frame, &about.view())?)
}

impl<'a> About<'a> {
    fn frame(&self) -> Frame {
        let (snapshot, addresses) = (self.making.snapshot, self.making.addresses);
        let Some(site) = self.site else {
            return Frame::new(PLANNED, snapshot, addresses);
        };
        let title = format!("{PLANNED} at {}", site.site.name);
        let own = self.to(&Place::Plan(Some(&site.site.id)));
        Frame::of_site(title, snapshot, site, addresses).at(&own)
    }

    /// The sites that it is about.
    fn sites(&self) -> impl Iterator<Item = &'a ShownSite> {
        let wanted = self.site.map(|s| s.site.id.as_str());
        let all = self.making.snapshot.sites.iter();
        all.filter(move |s| wanted.is_none_or(|id| s.site.id == id))
    }

    fn is_about(&self, site: &str) -> bool {
        self.sites().any(|s| s.site.id == site)
    }

    /// The date at a site.
    fn today(&self, id: &str) -> NaiveDate {
        let site = self.making.snapshot.site(id);
        site.map_or(self.making.now.date_naive(), |s| s.today(self.making.now))
    }

    fn to(&self, place: &Place) -> String {
        self.making.addresses.to(place)
    }

    fn view(&self) -> View {
        let Some(plans) = &self.making.snapshot.plans else {
            return self.nothing(
                "The kept plan cannot be read at the moment; the program's log says why.",
            );
        };
        let ids: Vec<&str> = self.sites().map(|s| s.site.id.as_str()).collect();
        if !ids.iter().any(|id| plans.has(id)) {
            return self.nothing(&self.none());
        }
        let own = self.sites().filter_map(|s| {
            let said = s.site.cautions.as_deref()?;
            Some((s.site.name.clone(), words::stop(said)))
        });
        let told = plans.plans.iter().enumerate();
        View {
            dates: self.to_come(plans),
            links: self.links(),
            plans: told.filter_map(|(place, p)| self.plan(place, p)).collect(),
            past: self.past(plans),
            own_cautions: own.collect(),
            ..self.nothing("")
        }
    }

    fn none(&self) -> String {
        let name = self.site.map_or("any site", |s| &s.site.name);
        format!(
            "No plan is kept for {name}. Whoever keeps the counts makes one with: wingtide plan \
             --from DATE --to DATE --keep"
        )
    }

    fn nothing(&self, why: &str) -> View {
        View {
            none: (!why.is_empty()).then(|| why.to_owned()),
            dates: Vec::new(),
            links: Vec::new(),
            plans: Vec::new(),
            past: Vec::new(),
            own_cautions: Vec::new(),
            cautions: CAUTIONS,
            meaning: MEANING,
        }
    }

    fn links(&self) -> Vec<Link> {
        let id = self.site.map(|s| s.site.id.as_str());
        let calendar = self.to(&Place::PlanCalendar(id));
        let mut links = vec![Link::new("These dates for your calendar", calendar)];
        let planned = self.sites().map(|s| &s.site);
        let planned = planned.filter(|s| self.making.snapshot.has_sheets(&s.id));
        links.extend(planned.map(|s| {
            let words = match self.site {
                Some(_) => "Field sheets to print".to_owned(),
                None => format!("Field sheets for {}", s.name),
            };
            Link::new(words, self.to(&Place::Sheets(&s.id)))
        }));
        if self.site.is_some() && self.making.snapshot.sites.len() > 1 {
            let all = self.to(&Place::Plan(None));
            links.push(Link::new("Planned visits to all sites", all));
        }
        links
    }

    /// A plan with visits still to come.
    fn plan(&self, place: usize, plan: &Plan) -> Option<PlanView> {
        let visits: Vec<VisitView> = plan
            .visits
            .iter()
            .filter(|v| {
                let id = &plan.sites[v.site].0;
                self.is_about(id) && v.date >= self.today(id) && !v.past
            })
            .map(|v| self.visit(plan, v))
            .collect();
        if visits.is_empty() {
            return None;
        }
        let starred = plan
            .targets
            .iter()
            .any(|t| t.few_records && t.found.is_none());
        Some(PlanView {
            // two plans may be for the same dates
            id: format!("plan-{}-{}-{place}", plan.from, plan.to),
            heading: words::span(plan.from, plan.to),
            said: self.said(plan),
            picture: self.picture(plan),
            visits,
            targets: match plan.parted {
                true => Vec::new(),
                false => plan.targets.iter().map(|t| self.target(t)).collect(),
            },
            starred: starred.then_some(words::STARRED),
        })
    }

    fn said(&self, plan: &Plan) -> Vec<String> {
        let mut said = vec![plan.whole_words()];
        said.extend(plan.rain_note());
        if plan.parted {
            return said;
        }
        if plan.at_most.is_some() || plan.sure.is_some() {
            said.push(plan.distance_words());
        }
        let names: Vec<&str> = plan.sites.iter().map(|(_, name)| name.as_str()).collect();
        if self.site.is_some() && names.len() > 1 {
            said.push(format!(
                "It is one plan for {}: its numbers in all count the visits to all of them.",
                words::list(&names)
            ));
        }
        said
    }

    fn target(&self, target: &Target) -> TargetView {
        let dash = || "–".to_owned();
        let needed = target.needed.map(|n| n.map(|n| n.to_string()));
        let found = |day| format!("found on {}", words::day_month(day));
        TargetView {
            name: self.name(target),
            chance: target
                .found
                .map_or_else(|| words::chance(target.chance), found),
            needed: match target.found {
                Some(_) => [dash(), dash(), dash()],
                None => needed.unwrap_or_else(|| [dash(), dash(), dash()]),
            },
        }
    }

    /// Is a date over, or its visit made?
    fn is_past(&self, plans: &ShownPlans, site: &str, date: NaiveDate) -> bool {
        let made = || plans.visit(site, date).is_some_and(|(_, v)| v.past);
        date < self.today(site) || made()
    }

    /// The dates to come. Of those that an earlier version of the program kept, which kept nothing
    /// else, no more is known.
    fn to_come(&self, plans: &ShownPlans) -> Vec<DateView> {
        let date = |e: &Entry| {
            let words = self.date(e);
            match plans.visit(&e.site, e.date) {
                Some((_, visit)) => DateView {
                    date: Link::new(words, format!("#{}", visit::id(&e.site, e.date))),
                    more: visit.start.begin_words().unwrap_or_default(),
                },
                None => DateView {
                    date: Link::here(words),
                    more: e.words.clone(),
                },
            }
        };
        let to_come = self
            .entries(plans)
            .filter(|e| !self.is_past(plans, &e.site, e.date));
        to_come.map(date).collect()
    }

    fn past(&self, plans: &ShownPlans) -> Vec<String> {
        let past = self
            .entries(plans)
            .filter(|e| self.is_past(plans, &e.site, e.date));
        let told = past.map(|e| match e.words.is_empty() {
            true => format!("{}.", self.date(e)),
            false => format!("{}. {}", self.date(e), e.words),
        });
        told.collect()
    }

    fn entries<'p>(&self, plans: &'p ShownPlans) -> impl Iterator<Item = &'p Entry> {
        let entries = plans.entries.iter().filter(|e| !e.cancelled);
        entries.filter(|e| self.is_about(&e.site))
    }

    /// The date of an entry, with its site where the page is about all of them.
    fn date(&self, entry: &Entry) -> String {
        let day = words::weekday_date(entry.date);
        let site = self.making.snapshot.site(&entry.site);
        match site.filter(|_| self.site.is_none()) {
            Some(site) => format!("{day}, {}", site.site.name),
            None => day,
        }
    }
}

//! What the choice is made from: dates at sites, what each would find, and what is past.

use super::choosing::PlanSite;
use super::kept::Entry;
use super::site::{Forecasts, Taught};
use super::targets::Wanted;
use super::{PlanError, Request};
use chrono::NaiveDate;
use forecast::calendar::DayOfYear;
use forecast::outlook::Constants;
use forecast::plan::scenarios::probabilities;
use forecast::plan::{Candidate, Reach};

/// All that the choice is made from.
pub(super) struct Ground {
    pub(super) candidates: Vec<Candidate>,
    /// How many more there would be, were their sites watched then.
    pub(super) unwatched: usize,
    /// Visits made or promised that are past.
    pub(super) made: Vec<Candidate>,
    /// Those of them that an earlier plan promised within these dates.
    pub(super) promised: Vec<Candidate>,
    /// By target: when it was found this season.
    pub(super) found: Vec<Option<NaiveDate>>,
    /// By candidate and target: the chance of finding it on that visit alone.
    pub(super) single: Vec<Vec<f64>>,
    pub(super) few_records: Vec<bool>,
    pub(super) reach: Reach,
}

impl Ground {
    pub(super) fn of(
        request: &Request,
        sites: &[PlanSite],
        targets: &[Wanted],
        kept: &[Entry],
    ) -> Result<Self, PlanError> {
        let (candidates, unwatched) = candidates(request, sites);
        let promised = promised(request, sites, kept);
        let taught: Vec<Taught> = sites
            .iter()
            .map(|s| Taught::new(&s.view, request.from, request.today))
            .collect();
        let forecasts: Vec<Forecasts> = taught.iter().map(Taught::forecasts).collect();
        let found: Vec<Option<NaiveDate>> = targets
            .iter()
            .map(|t| found(request, sites, &t.species))
            .collect();
        let probabilities = probabilities(&Constants::default());
        let rows = rows(&candidates, &forecasts, targets);
        Ok(Ground {
            few_records: few_records(&candidates, &forecasts, targets),
            single: rows.iter().map(|row| alone(row, &probabilities)).collect(),
            reach: Reach::new(&weights(targets, &found), &probabilities, rows)?,
            made: made(request, sites, &promised),
            candidates,
            unwatched,
            promised,
            found,
        })
    }
}

/// The chances of none: a row for each candidate, by target and scenario.
fn rows(candidates: &[Candidate], forecasts: &[Forecasts], targets: &[Wanted]) -> Vec<Vec<f64>> {
    let row = |c: &Candidate| -> Vec<f64> {
        let of = |t: &Wanted| forecasts[c.site].none(&t.species, c.date);
        targets.iter().flat_map(of).collect()
    };
    candidates.iter().map(row).collect()
}

/// Targets without a curve on any date that may be chosen.
fn few_records(candidates: &[Candidate], forecasts: &[Forecasts], targets: &[Wanted]) -> Vec<bool> {
    let curve = |t: &Wanted, c: &Candidate| forecasts[c.site].has_curve(&t.species, c.date);
    let few = |t: &Wanted| !candidates.iter().any(|c| curve(t, c));
    targets.iter().map(few).collect()
}

/// What was found counts no more.
fn weights(targets: &[Wanted], found: &[Option<NaiveDate>]) -> Vec<f64> {
    let both = targets.iter().zip(found);
    both.map(|(t, f)| if f.is_none() { t.weight } else { 0.0 })
        .collect()
}

/// The chance of finding each target on one visit, from its chances of none by scenario.
fn alone(row: &[f64], probabilities: &[f64]) -> Vec<f64> {
    let one = |none: &[f64]| {
        let terms = none.iter().zip(probabilities);
        1.0 - terms.map(|(z, p)| z * p).sum::<f64>()
    };
    row.chunks(probabilities.len()).map(one).collect()
}

/// Dates from the day of planning on that people may choose, and how many the watch leaves out.
pub(super) fn candidates(request: &Request, sites: &[PlanSite]) -> (Vec<Candidate>, usize) {
    let first = request.from.max(request.today);
    let days = first.iter_days().take_while(|d| *d <= request.to);
    let out = days.filter(|d| request.goes_out(*d));
    let all = out.flat_map(|date| (0..sites.len()).map(move |site| Candidate { date, site }));
    let (watched, not): (Vec<Candidate>, Vec<Candidate>) =
        all.partition(|c| sites[c.site].view.watched.on(DayOfYear::of(c.date)));
    (watched, not.len())
}

/// Visits before the end of the day of planning, and those that were promised.
fn made(request: &Request, sites: &[PlanSite], promised: &[Candidate]) -> Vec<Candidate> {
    let mut made = promised.to_vec();
    for (site, of_site) in sites.iter().enumerate() {
        let visited = of_site.visited.iter().filter(|d| **d <= request.today);
        made.extend(visited.map(|date| Candidate { date: *date, site }));
    }
    made.sort_unstable();
    made.dedup();
    made
}

/// Dates of the plan that was kept which are past, or were made today.
fn promised(request: &Request, sites: &[PlanSite], kept: &[Entry]) -> Vec<Candidate> {
    let span = request.from..=request.to;
    let open = kept
        .iter()
        .filter(|e| !e.cancelled && span.contains(&e.date));
    let site = |id: &str| sites.iter().position(|s| s.view.site.id == id);
    let at = |e: &Entry| {
        let site = site(&e.site)?;
        let made = e.date == request.today && sites[site].visited.contains(&e.date);
        let date = e.date;
        (date < request.today || made).then_some(Candidate { date, site })
    };
    open.filter_map(at).collect()
}

/// When a species was first found since the plan's first date, before the day of planning.
pub(super) fn found(request: &Request, sites: &[PlanSite], species: &str) -> Option<NaiveDate> {
    let season = request.from..request.today;
    let of_site = |s: &PlanSite| -> Option<NaiveDate> {
        let counted = s.view.series.get(species).into_iter();
        let counted = counted.flat_map(|c| c.known());
        let counted = counted.map(|(v, c)| (v.date, c));
        let seen = s.targeted.iter().filter(|t| t.species == species);
        let all = counted.chain(seen.map(|t| (t.date, t.count)));
        let here = all.filter(|(d, c)| season.contains(d) && c.found() == Some(true));
        here.map(|(d, _)| d).min()
    };
    sites.iter().filter_map(of_site).min()
}

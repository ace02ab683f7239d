//! From the request to the plan: which dates there are, what each would find, and the choice.

use super::kept::Entry;
use super::site::{Forecasts, Taught};
use super::start::start;
use super::tides::Tides;
use super::{Enough, Plan, PlanError, Planned, Purpose, Request, Target};
use crate::guidance::SiteView;
use crate::words;
use chrono::{Duration, Months, NaiveDate};
use config::settings::{PlanSettings, Workspace};
use forecast::calendar::DayOfYear;
use forecast::outlook::Constants;
use forecast::plan::rules::Field;
use forecast::plan::scenarios::probabilities;
use forecast::plan::sure::{enough, visits_needed};
use forecast::plan::{Candidate, Reach, Rules, choose, stand_in};
use ingest::store::Sighting;

/// A site of the plan.
pub struct PlanSite<'a> {
    /// What guidance works from.
    pub view: SiteView<'a>,
    /// What was found on targeted visits.
    pub targeted: &'a [Sighting],
    /// Dates of visits before the day of planning, whatever they were made for.
    pub visited: Vec<NaiveDate>,
}

/// With this many visits at most a plan is made that has to be sure.
const MOST_VISITS: usize = 200;
/// A visit is for the targets whose chance falls by at least this much without it ...
const FOR_AT_LEAST: f64 = 0.005;
/// ... and for those that may well be found on it, though other visits would find them too.
const MAY_BE_FOUND: f64 = forecast::stands::OUTSIDE_BELOW;
/// Below this chance on the best date visits are not worth counting.
const HARDLY: f64 = 0.001;

/// All that the choice is made from.
struct Ground {
    candidates: Vec<Candidate>,
    unwatched: usize,
    /// Visits made or promised that are past.
    made: Vec<Candidate>,
    /// Those of them that an earlier plan promised within these dates.
    promised: Vec<Candidate>,
    /// By target: when it was found this season.
    found: Vec<Option<NaiveDate>>,
    /// By candidate and target: the chance of finding it on that visit alone.
    single: Vec<Vec<f64>>,
    few_records: Vec<bool>,
    reach: Reach,
}

/// Makes the plan; `species` are the targets, `kept` what was planned before.
pub fn plan(
    request: &Request,
    settings: &PlanSettings,
    sites: &[PlanSite],
    species: &[String],
    tides: Option<&Tides>,
    kept: &[Entry],
) -> Result<Plan, PlanError> {
    check(request, sites, species)?;
    let ground = ground(request, sites, species, kept)?;
    let chosen = chosen(request, sites, &ground)?;
    let visits = visits(request, settings, sites, &ground, &chosen, tides)?;
    let mut plan = Plan {
        from: request.from,
        to: request.to,
        today: request.today,
        sites: sites
            .iter()
            .map(|s| (s.view.site.id.clone(), s.view.site.name.clone()))
            .collect(),
        visits,
        targets: targets(sites, species, &ground, &chosen),
        expected: ground.reach.value(&chosen.places),
        at_most: chosen.at_most,
        sure: chosen.sure,
        unwatched: ground.unwatched,
        candidates: ground.candidates.len(),
    };
    in_order(&mut plan);
    Ok(plan)
}

fn check(request: &Request, sites: &[PlanSite], species: &[String]) -> Result<(), PlanError> {
    let (from, to) = (request.from, request.to);
    if to < from {
        return Err(PlanError::Backwards { from, to });
    }
    let anniversary = from.checked_add_months(Months::new(12));
    if anniversary.is_some_and(|a| to >= a) {
        return Err(PlanError::TooLong { from, to });
    }
    if species.is_empty() {
        let names: Vec<&str> = sites.iter().map(|s| s.view.site.name.as_str()).collect();
        return Err(PlanError::NoTarget(words::list(&names)));
    }
    Ok(())
}

fn ground(
    request: &Request,
    sites: &[PlanSite],
    species: &[String],
    kept: &[Entry],
) -> Result<Ground, PlanError> {
    let (candidates, unwatched) = candidates(request, sites);
    let promised = promised(request, sites, kept);
    let mut made: Vec<Candidate> = promised.clone();
    for (site, of_site) in sites.iter().enumerate() {
        let visited = of_site.visited.iter().filter(|d| **d <= request.today);
        made.extend(visited.map(|date| Candidate { date: *date, site }));
    }
    made.sort_unstable();
    made.dedup();
    let taught: Vec<Taught> = sites
        .iter()
        .map(|s| Taught::new(&s.view, request.from, request.today))
        .collect();
    let forecasts: Vec<Forecasts> = taught.iter().map(Taught::forecasts).collect();
    let found: Vec<Option<NaiveDate>> = species.iter().map(|s| found(request, sites, s)).collect();
    let probabilities = probabilities(&Constants::default());
    let row = |c: &Candidate| -> Vec<f64> {
        let of = |s: &String| forecasts[c.site].none(s, c.date);
        species.iter().flat_map(of).collect()
    };
    let rows: Vec<Vec<f64>> = candidates.iter().map(row).collect();
    let single = rows.iter().map(|row| alone(row, &probabilities)).collect();
    let few = |s: &String| {
        !candidates
            .iter()
            .any(|c| forecasts[c.site].has_curve(s, c.date))
    };
    let weights: Vec<f64> = found
        .iter()
        .map(|f| f64::from(u8::from(f.is_none())))
        .collect();
    Ok(Ground {
        few_records: species.iter().map(few).collect(),
        reach: Reach::new(&weights, &probabilities, rows)?,
        candidates,
        unwatched,
        made,
        promised,
        found,
        single,
    })
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
fn candidates(request: &Request, sites: &[PlanSite]) -> (Vec<Candidate>, usize) {
    let first = request.from.max(request.today);
    let days = first.iter_days().take_while(|d| *d <= request.to);
    let out = days.filter(|d| request.goes_out(*d));
    let all = out.flat_map(|date| (0..sites.len()).map(move |site| Candidate { date, site }));
    let (watched, not): (Vec<Candidate>, Vec<Candidate>) =
        all.partition(|c| sites[c.site].view.watched.on(DayOfYear::of(c.date)));
    (watched, not.len())
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
fn found(request: &Request, sites: &[PlanSite], species: &str) -> Option<NaiveDate> {
    let season = request.from..request.today;
    let of_site = |s: &PlanSite| -> Option<NaiveDate> {
        let counted = s
            .view
            .series
            .get(species)
            .into_iter()
            .flat_map(|c| c.known());
        let counted = counted.map(|(v, c)| (v.date, c));
        let seen = s.targeted.iter().filter(|t| t.species == species);
        let all = counted.chain(seen.map(|t| (t.date, t.count)));
        let here = all.filter(|(d, c)| season.contains(d) && c.found() == Some(true));
        here.map(|(d, _)| d).min()
    };
    sites.iter().filter_map(of_site).min()
}

/// What was chosen.
struct Choice {
    places: Vec<usize>,
    at_most: Option<f64>,
    sure: Option<f64>,
    out_of_reach: Vec<usize>,
    /// None where no visit is left to plan.
    rules: Option<Rules>,
}

fn chosen(request: &Request, sites: &[PlanSite], ground: &Ground) -> Result<Choice, PlanError> {
    let km = distances(sites);
    let (candidates, made) = (&ground.candidates, &ground.made);
    if candidates.is_empty() && ground.promised.is_empty() {
        return Err(no_date(request, ground));
    }
    match request.enough {
        Enough::Visits(visits) => {
            let left = visits.saturating_sub(ground.promised.len());
            if left == 0 {
                return Ok(Choice {
                    places: Vec::new(),
                    at_most: Some(0.0),
                    sure: None,
                    out_of_reach: Vec::new(),
                    rules: None,
                });
            }
            let rules = request.rules(left, km)?;
            let best = choose(&ground.reach, candidates, made, &rules);
            Ok(Choice {
                at_most: Some(best.at_most),
                places: best.places,
                sure: None,
                out_of_reach: Vec::new(),
                rules: Some(rules),
            })
        }
        Enough::Sure(sure) => {
            let rules = request.rules(MOST_VISITS, km)?;
            let few = enough(&ground.reach, candidates, made, &rules, sure);
            Ok(Choice {
                places: few.places,
                at_most: None,
                sure: Some(sure),
                out_of_reach: few.out_of_reach,
                rules: Some(rules),
            })
        }
    }
}

fn no_date(request: &Request, ground: &Ground) -> PlanError {
    let why = match (request.to < request.today, ground.unwatched) {
        (true, _) => format!("today is {}, after the last of them", request.today),
        (_, 0) => "the days of the week and the days out leave none".to_owned(),
        _ => "the sites are not watched then".to_owned(),
    };
    PlanError::NoDate {
        from: request.from,
        to: request.to,
        why,
    }
}

fn distances(sites: &[PlanSite]) -> Vec<Vec<f64>> {
    let place = |s: &PlanSite| (s.view.site.latitude, s.view.site.longitude);
    let row = |a: &PlanSite| {
        sites
            .iter()
            .map(|b| ingest::distance_km(place(a), place(b)))
            .collect()
    };
    sites.iter().map(row).collect()
}

fn visits(
    request: &Request,
    settings: &PlanSettings,
    sites: &[PlanSite],
    ground: &Ground,
    chosen: &Choice,
    tides: Option<&Tides>,
) -> Result<Vec<Planned>, PlanError> {
    let mut visits = Vec::new();
    for past in &ground.promised {
        visits.push(Planned {
            site: past.site,
            date: past.date,
            past: true,
            start: start(sites[past.site].view.site, past.date, settings, tides)?,
            purpose: Vec::new(),
            lost: 0.0,
            rain: None,
        });
    }
    let (whole, value) = (
        ground.reach.chances(&chosen.places),
        ground.reach.value(&chosen.places),
    );
    for place in &chosen.places {
        let candidate = ground.candidates[*place];
        let rest: Vec<usize> = chosen
            .places
            .iter()
            .copied()
            .filter(|p| p != place)
            .collect();
        let rain = chosen.rules.as_ref().filter(|_| request.rain_days > 0);
        let rain = rain.and_then(|rules| rain_date(request, ground, chosen, rules, *place));
        visits.push(Planned {
            site: candidate.site,
            date: candidate.date,
            past: false,
            start: start(
                sites[candidate.site].view.site,
                candidate.date,
                settings,
                tides,
            )?,
            purpose: purpose(&whole, &ground.reach.chances(&rest), &ground.single[*place]),
            lost: value - ground.reach.value(&rest),
            rain,
        });
    }
    Ok(visits)
}

/// The best date within reach at the same site to go instead, and what it loses.
fn rain_date(
    request: &Request,
    ground: &Ground,
    chosen: &Choice,
    rules: &Rules,
    place: usize,
) -> Option<(NaiveDate, f64)> {
    let planned = ground.candidates[place];
    let last = planned.date + Duration::days(i64::from(request.rain_days));
    let later = |c: &Candidate| c.site == planned.site && c.date > planned.date && c.date <= last;
    let field = Field::new(&ground.candidates, &ground.made, rules);
    let (other, value) = stand_in(&ground.reach, &field, &chosen.places, place, later)?;
    let lost = ground.reach.value(&chosen.places) - value;
    Some((ground.candidates[other].date, lost))
}

/// The targets that a visit may find, those first whose chance falls most without it.
fn purpose(whole: &[Option<f64>], without: &[Option<f64>], single: &[f64]) -> Vec<Purpose> {
    let both = whole.iter().zip(without).enumerate();
    let mut purpose: Vec<Purpose> = both
        .filter_map(|(target, (whole, without))| {
            let lost = (*whole)? - (*without)?;
            let told = lost >= FOR_AT_LEAST || single[target] >= MAY_BE_FOUND;
            told.then(|| Purpose {
                target,
                chance: single[target],
                lost,
            })
        })
        .collect();
    let rank = |p: &Purpose| (-p.lost, -p.chance);
    purpose.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    purpose
}

fn targets(
    sites: &[PlanSite],
    species: &[String],
    ground: &Ground,
    chosen: &Choice,
) -> Vec<Target> {
    let chances = ground.reach.chances(&chosen.places);
    let target = |(i, species): (usize, &String)| {
        let best = ground.single.iter().map(|s| s[i]).fold(0.0, f64::max);
        Target {
            species: species.clone(),
            name: sites[0].view.shown_name(species),
            sensitive: is_sensitive(sites[0].view.workspace, species),
            found: ground.found[i],
            chance: chances[i].unwrap_or(0.0),
            needed: needed(best),
            few_records: ground.few_records[i],
            out_of_reach: chosen.out_of_reach.contains(&i),
        }
    };
    species.iter().enumerate().map(target).collect()
}

fn is_sensitive(workspace: &Workspace, species: &str) -> bool {
    let mut known = workspace.species.iter();
    known.any(|s| s.scientific == species && s.sensitive.is_some())
}

fn needed(best: f64) -> Option<[u32; 3]> {
    if best < HARDLY {
        return None;
    }
    // one visit at the least, however sure a single one makes it
    let visits = |sure| visits_needed(best, sure).map_or(1, |n| n.ceil().max(1.0) as u32);
    Some([0.8, 0.9, 0.95].map(visits))
}

/// Visits by date, targets by chance with those found last; purposes keep their targets.
fn in_order(plan: &mut Plan) {
    plan.visits.sort_by_key(|v| (v.date, v.site));
    let mut order: Vec<usize> = (0..plan.targets.len()).collect();
    order.sort_by(|a, b| {
        let (a, b) = (&plan.targets[*a], &plan.targets[*b]);
        let found = a.found.is_some().cmp(&b.found.is_some());
        found
            .then(b.chance.total_cmp(&a.chance))
            .then(a.name.cmp(&b.name))
    });
    let mut place = vec![0; order.len()];
    order
        .iter()
        .enumerate()
        .for_each(|(new, old)| place[*old] = new);
    plan.targets = order.iter().map(|i| plan.targets[*i].clone()).collect();
    for visit in &mut plan.visits {
        visit
            .purpose
            .iter_mut()
            .for_each(|p| p.target = place[p.target]);
    }
}

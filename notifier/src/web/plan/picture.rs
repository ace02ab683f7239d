//! The picture of a plan: the chance of each target through its dates, and the visits across them.

use super::About;
use crate::plan::{Plan, Planned};
use crate::web::plot::{path, tenth};
use crate::words;
use crate::year::lane::{Wish, placed};
use chrono::{Datelike, NaiveDate};
use forecast::calendar::DayOfYear;
use forecast::chance;
use forecast::year_curve::YearCurve;
use serde::Serialize;
use std::collections::BTreeMap;

/// Targets drawn at most: those that hang on the visits most.
const ROWS: usize = 10;
/// Left and right of the plot.
const LEFT: f64 = 8.0;
const RIGHT: f64 = 472.0;
/// Room above the first row.
const TOP: f64 = 4.0;
/// Heights of a row's label and of its plot.
const LABEL: f64 = 19.0;
const PLOT: f64 = 30.0;
/// A digit below a line, and room between two numbers.
const DIGIT: f64 = 8.5;
const BETWEEN: f64 = 5.0;
/// A curve is drawn through so many points at most.
const POINTS: i64 = 120;

#[derive(Serialize)]
pub(super) struct Picture {
    title: String,
    text: String,
    caption: String,
    height: f64,
    bottom: f64,
    /// Where a month begins, and its name, as far as there is room for it.
    months: Vec<(f64, f64, &'static str)>,
    visits: Vec<Line>,
    rows: Vec<Row>,
}

/// A visit, or several on one day.
#[derive(Serialize)]
struct Line {
    x: f64,
    past: bool,
    /// The day of the month, and where it stands below; none where there are more than fit.
    day: Option<(f64, String)>,
}

#[derive(Serialize)]
struct Row {
    name: String,
    label: f64,
    /// Where its plot begins, below its name.
    top: f64,
    base: f64,
    /// Outlines of the chance through the watched days.
    areas: Vec<String>,
    discs: Vec<(f64, f64)>,
}

/// A plan's dates from left to right.
struct Span {
    from: NaiveDate,
    to: NaiveDate,
}

impl Span {
    /// Where the middle of a day stands.
    fn across(&self, date: NaiveDate) -> f64 {
        let days = (self.to - self.from).num_days() + 1;
        let day = (date - self.from).num_days() as f64 + 0.5;
        tenth(LEFT + day / days as f64 * (RIGHT - LEFT))
    }

    fn months(&self) -> Vec<(f64, f64, &'static str)> {
        let firsts = self.from.iter_days().take_while(|d| *d <= self.to);
        let firsts: Vec<NaiveDate> = firsts.filter(|d| d.day() == 1 || *d == self.from).collect();
        let month = |(i, first): (usize, &NaiveDate)| {
            let begins = self.across(*first);
            let ends = firsts.get(i + 1).map_or(RIGHT, |next| self.across(*next));
            let roomy = ends - begins > 26.0;
            let name = if roomy {
                words::month_short(first.month())
            } else {
                ""
            };
            (begins, tenth((begins + ends) / 2.0), name)
        };
        firsts.iter().enumerate().map(month).collect()
    }
}

impl About<'_> {
    /// The picture; None where no visit is for a target that may be told.
    pub(super) fn picture(&self, plan: &Plan) -> Option<Picture> {
        let span = Span {
            from: plan.from,
            to: plan.to,
        };
        let visits = plan.visits.iter();
        let visits: Vec<&Planned> = visits
            .filter(|v| self.is_about(&plan.sites[v.site].0))
            .collect();
        let drawn = chief(&visits, plan.parted);
        if drawn.is_empty() {
            return None;
        }
        let row = |(place, target): (usize, &usize)| {
            let top = TOP + (LABEL + PLOT) * place as f64;
            self.row(plan, &span, &visits, *target, top)
        };
        let rows: Vec<Row> = drawn.iter().enumerate().map(row).collect();
        let bottom = TOP + (LABEL + PLOT) * rows.len() as f64;
        let gone = |v: &&Planned| v.past || v.date < self.today(&plan.sites[v.site].0);
        let dates: BTreeMap<NaiveDate, bool> = visits.iter().map(|v| (v.date, gone(v))).collect();
        Some(Picture {
            title: format!("Planned visits, {}", words::span(plan.from, plan.to)),
            text: words::plain_spaces(&text(plan, &visits, rows.len())),
            caption: caption(rows.len(), targets(&visits), self.sites().count()),
            height: bottom + 40.0,
            bottom,
            months: span.months(),
            visits: lines(&span, &dates),
            rows,
        })
    }

    fn row(&self, plan: &Plan, span: &Span, visits: &[&Planned], target: usize, top: f64) -> Row {
        let base = top + LABEL + PLOT;
        let told = &plan.targets[target];
        let disc = |v: &&Planned| {
            let purpose = v.purpose.iter().find(|p| p.target == target)?;
            Some((span.across(v.date), up(base, purpose.chance)))
        };
        let star = if told.few_records { "*" } else { "" };
        Row {
            name: format!("{}{star}", told.name),
            label: top + LABEL - 5.0,
            top: top + LABEL,
            base,
            areas: self.areas(span, &told.species, base),
            discs: visits.iter().filter_map(disc).collect(),
        }
    }

    /// The larger chance of the sites, day by day, as far as any of them is watched and tells it.
    fn areas(&self, span: &Span, species: &str, base: f64) -> Vec<String> {
        let curves: Vec<_> = self
            .sites()
            .filter_map(|s| {
                let data = s.data.as_ref()?;
                let curve: &YearCurve = data.fits.get(species)?.curve.as_ref()?;
                let counts = data.history.species.get(species)?;
                // finds alone tell no chance
                let told = move |day: DayOfYear| {
                    data.watched.on(day)
                        && chance::tells_of_absence(counts, &data.history.unrecorded, day)
                };
                Some((curve, told))
            })
            .collect();
        let on = |date: NaiveDate| -> Option<f64> {
            let day = DayOfYear::of(date);
            let told = curves.iter().filter(|(_, told)| told(day));
            told.map(|(curve, _)| chance::from_curve(curve, &[day], 1).visit)
                .max_by(f64::total_cmp)
        };
        let step = ((span.to - span.from).num_days() / POINTS).max(1) as usize;
        let days = span.from.iter_days().take_while(|d| *d <= span.to);
        let mut runs: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
        for day in days.step_by(step) {
            match (on(day), runs.last_mut()) {
                (Some(chance), Some(run)) => run.push((span.across(day), up(base, chance))),
                _ => runs.push(Vec::new()),
            }
        }
        let area = |run: Vec<(f64, f64)>| {
            let (first, last) = (run.first()?.0, run.last()?.0);
            Some(format!(
                "{}V{base}H{first}Z",
                path(run.into_iter().chain([(last, base)]))
            ))
        };
        runs.into_iter().filter_map(area).collect()
    }
}

/// A line for each date, with its day of the month below as long as there is room for all of them.
fn lines(span: &Span, dates: &BTreeMap<NaiveDate, bool>) -> Vec<Line> {
    let wish = |date: &NaiveDate| {
        let text = date.day().to_string();
        Wish {
            middle: span.across(*date),
            width: DIGIT * text.len() as f64,
            text,
        }
    };
    let wishes: Vec<Wish> = dates.keys().map(wish).collect();
    let wide: f64 = wishes.iter().map(|w| w.width + BETWEEN).sum();
    let days = match wide <= RIGHT - LEFT {
        true => placed(wishes, (LEFT, RIGHT), BETWEEN),
        false => Vec::new(),
    };
    let mut days = days.into_iter().map(|w| (tenth(w.middle), w.text));
    let line = |(date, past): (&NaiveDate, &bool)| Line {
        x: span.across(*date),
        past: *past,
        day: days.next(),
    };
    dates.iter().map(line).collect()
}

fn up(base: f64, chance: f64) -> f64 {
    tenth(base - chance * PLOT)
}

/// Targets of the visits by what hangs on them, without those that other visits find anyway; by their
/// chances where that is no longer known.
fn weighed(visits: &[&Planned], parted: bool) -> Vec<(usize, f64)> {
    let mut sums: Vec<(usize, f64)> = Vec::new();
    for p in visits.iter().flat_map(|v| &v.purpose) {
        let weight = if parted { p.chance } else { p.lost };
        match sums.iter_mut().find(|(target, _)| *target == p.target) {
            Some((_, sum)) => *sum += weight,
            None => sums.push((p.target, weight)),
        }
    }
    sums.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    sums
}

fn targets(visits: &[&Planned]) -> usize {
    weighed(visits, false).len()
}

/// The targets drawn, in the order in which they are likeliest to be met.
fn chief(visits: &[&Planned], parted: bool) -> Vec<usize> {
    let best = |target: usize| {
        let of = |v: &&Planned| {
            let p = v.purpose.iter().find(|p| p.target == target)?;
            Some((v.date, p.chance))
        };
        let all = visits.iter().filter_map(of);
        all.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(date, _)| date)
    };
    let mut drawn: Vec<usize> = weighed(visits, parted)
        .into_iter()
        .map(|(t, _)| t)
        .collect();
    drawn.truncate(ROWS);
    drawn.sort_by_key(|target| (best(*target), *target));
    drawn
}

fn text(plan: &Plan, visits: &[&Planned], rows: usize) -> String {
    let dates: Vec<String> = visits.iter().map(|v| words::day_month(v.date)).collect();
    format!(
        "The chance of finding {} on a standard visit from {}, with the planned visits on {}. The \
         tables below have the same numbers.",
        words::count_of(rows, "target", "targets"),
        words::span(plan.from, plan.to),
        words::list(&dates)
    )
}

fn caption(drawn: usize, all: usize, sites: usize) -> String {
    let which = match drawn < all {
        true => format!(" Drawn are the {drawn} targets that hang on these visits most."),
        false => String::new(),
    };
    let (shaded, disc) = match sites {
        1 => ("", ""),
        _ => (
            " at the site where it is largest that day",
            " to its own site",
        ),
    };
    format!(
        "Shaded: the usual chance of finding it on a standard visit{shaded}; a row's whole height, up \
         to its name, is 100{0}%. Lines down: planned visits, with the day of the month below, dashed \
         where they are past. Discs: the chance on that visit{disc}, as planned.{which}",
        words::TIE
    )
}

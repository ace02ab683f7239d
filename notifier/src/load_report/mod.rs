//! The report on a load as a page: what became of every row, what is worth a second look, and
//! when each site was visited.

mod calendar;
mod overlaps;
mod questions;
mod rows;
mod species;
#[cfg(test)]
mod tests;

use crate::second_look::SecondLooks;
use crate::{templates, words};
use chrono::NaiveDate;
use config::settings::Workspace;
use ingest::LoadReport;
use ingest::report::{HalfYearGroup, SourceReport, grouped};
use ingest::suspects::Suspect;
use minijinja::value::Serde;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

pub use questions::on_screen;

const TEMPLATES: &[(&str, &str)] = &[
    ("style.html", include_str!("../../templates/style.html")),
    (
        "calendar.html",
        include_str!("../../templates/calendar.html"),
    ),
    ("load.html", include_str!("../../templates/load.html")),
];

/// All that the page tells of.
#[derive(Debug, Clone, Copy)]
pub struct LoadPage<'a> {
    /// Settings, for names.
    pub workspace: &'a Workspace,
    /// What the load did.
    pub report: &'a LoadReport,
    /// Records asked about; None where nobody looked for any.
    pub suspects: Option<&'a [Suspect]>,
    /// Records of the last year of visits that the forecast did not expect, unanswered; None where
    /// `fit` has not run, or nobody looked.
    pub unexpected: Option<&'a SecondLooks>,
    /// Visit dates by site id.
    pub visits: &'a BTreeMap<String, BTreeSet<NaiveDate>>,
    /// The batch, in words, where it tells of one load of one source.
    pub batch: Option<&'a str>,
}

/// Half-years that need a word.
#[derive(Debug, Serialize)]
struct HalfYearsView {
    heading: &'static str,
    lines: Vec<String>,
    advice: Option<String>,
}

#[derive(Debug, Serialize)]
struct View {
    workspace: String,
    batch: Option<String>,
    loaded_at: String,
    summary: Vec<String>,
    sources: Vec<rows::SourceView>,
    questions: Vec<questions::QuestionView>,
    unexpected: Option<rows::Listed>,
    calendars: Vec<calendar::CalendarView>,
    half_years: Vec<HalfYearsView>,
    without_visit: Vec<String>,
    overlaps: Option<overlaps::OverlapsView>,
    species: Vec<species::SpeciesView>,
}

impl LoadPage<'_> {
    /// A page that needs no other file.
    ///
    /// # Errors
    /// A template that does not fit the page: a fault of the program.
    pub fn html(&self) -> Result<String, minijinja::Error> {
        let text = templates::environment(TEMPLATES)?
            .get_template("load.html")?
            .render(Serde(self.view()))?;
        Ok(text + "\n")
    }

    fn view(&self) -> View {
        let sites = self.workspace.sites.iter();
        // of a batch that tells of some sites alone, the others are of no interest
        let sites = sites.filter(|s| self.batch.is_none() || self.visits.contains_key(&s.id));
        View {
            workspace: self.workspace.name.clone(),
            batch: self.batch.map(str::to_owned),
            loaded_at: self
                .report
                .loaded_at
                .format("%-d %B %Y, %H:%M UTC")
                .to_string(),
            summary: self.summary(),
            sources: self.report.sources.iter().map(rows::view).collect(),
            questions: questions::view(self),
            unexpected: self.unexpected.and_then(questions::unexpected),
            calendars: sites.map(|s| calendar::view(self, s)).collect(),
            half_years: self.half_years(),
            without_visit: self.without_visit(),
            overlaps: overlaps::view(&self.report.overlaps),
            species: species::view(self),
        }
    }

    fn half_years(&self) -> Vec<HalfYearsView> {
        let groups = self
            .report
            .half_year_groups(|id| self.site_name(id).to_owned());
        let view = |group: HalfYearGroup| HalfYearsView {
            heading: group.heading,
            lines: group.lines,
            advice: group.advice,
        };
        groups.into_iter().map(view).collect()
    }

    /// Dates with records that a site's visits table lacks.
    fn without_visit(&self) -> Vec<String> {
        let sites = self.report.sites.iter();
        let told = sites.filter(|s| s.dates_without_visit_total > 0).map(|s| {
            let dates = s.dates_without_visit.iter().map(ToString::to_string);
            let total = s.dates_without_visit_total;
            let more = match total - s.dates_without_visit.len() as u64 {
                0 => String::new(),
                more => format!(" and {} more", grouped(more)),
            };
            format!(
                "{}: {} ({}{more})",
                self.site_name(&s.site),
                words::count_of(total as usize, "date", "dates"),
                dates.collect::<Vec<_>>().join(", ")
            )
        });
        told.collect()
    }

    fn summary(&self) -> Vec<String> {
        let sum = |of: fn(&SourceReport) -> u64| self.report.sources.iter().map(of).sum::<u64>();
        let kept_back = sum(|s| s.refused.iter().filter(|r| r.kept_back).count() as u64);
        let refused = self.report.refused() - kept_back;
        let mut lines = vec![
            format!(
                "{} rows read from {}",
                grouped(sum(|s| s.rows)),
                self.files()
            ),
            format!(
                "{} taken, {} of them repaired",
                grouped(sum(|s| s.accepted)),
                grouped(sum(|s| s.repaired))
            ),
            format!(
                "{} refused, and {} kept back as they belong to no one species",
                grouped(refused),
                grouped(kept_back)
            ),
        ];
        lines.extend(self.suspects.map(|suspects| {
            let records = words::count_of(suspects.len(), "record", "records");
            format!("{records} worth a second look")
        }));
        let gone = self.report.removed_sources.iter();
        lines.extend(
            gone.map(|s| {
                format!("source {s} is no longer in wingtide.toml; its rows were taken out")
            }),
        );
        lines.extend(self.report.names_erased_words());
        lines
    }

    fn files(&self) -> String {
        words::count_of(self.report.sources.len(), "file", "files")
    }

    fn site_name<'n>(&'n self, id: &'n str) -> &'n str {
        self.workspace.site(id).map_or(id, |site| &site.name)
    }

    /// File and line of a row, as messages call them.
    fn place<'n>(&'n self, source: &'n str, line: u64) -> (&'n str, u64) {
        let report = self.report.source(source);
        report.map_or((source, line), |s| s.place(line))
    }
}

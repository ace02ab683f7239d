//! The report for people: at most 80 columns, at most ten examples of a kind.

use super::half_years;
use super::mostly_refused;
use super::overlaps;
use super::parts::at;
use super::{
    Kind, LoadReport, Refusal, Repair, RepairKind, SiteReport, SourceReport, SpeciesTotal, Zeros,
};
use crate::cell::is_invisible;
use std::fmt::{self, Display, Formatter};
use textwrap::Options;

const COLUMNS: usize = 80;

/// Examples shown of each kind.
const SHOWN: usize = 10;

/// Longest cell quoted, in characters.
const CELL_SHOWN: usize = 40;

/// Lines with their indents.
#[derive(Default)]
pub(super) struct Page(String);

impl Page {
    pub(super) fn line(&mut self, indent: usize, text: impl AsRef<str>) {
        let (first, rest) = (" ".repeat(indent), " ".repeat(indent + 2));
        let options = Options::new(COLUMNS)
            .initial_indent(&first)
            .subsequent_indent(&rest);
        for line in textwrap::wrap(text.as_ref(), options) {
            self.0.push_str(&line);
            self.0.push('\n');
        }
    }

    pub(super) fn heading(&mut self, text: impl AsRef<str>) {
        self.0.push('\n');
        self.line(0, text);
    }

    /// Ten of them, and how many more there are.
    pub(super) fn list<T>(
        &mut self,
        indent: usize,
        all: &[T],
        total: u64,
        words: impl Fn(&T) -> String,
    ) {
        all.iter()
            .take(SHOWN)
            .for_each(|item| self.line(indent, words(item)));
        let more = total.saturating_sub(all.len().min(SHOWN) as u64);
        if more > 0 {
            self.line(indent, format!("and {} more", grouped(more)));
        }
    }
}

impl Display for LoadReport {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let mut page = Page::default();
        let when = self.loaded_at.format("%Y-%m-%d %H:%M UTC");
        page.line(
            0,
            match self.unchanged {
                true => format!(
                    "Nothing to do: files and settings are as they were when loaded on {when}."
                ),
                false if self.only_settled() => format!(
                    "No file changed; what follows from them all was settled anew on {when}."
                ),
                false => format!(
                    "Loaded {} on {when}.",
                    of(self.sources.len() as u64, "source")
                ),
            },
        );
        self.sources
            .iter()
            .for_each(|source| mostly_refused::page(&mut page, source));
        for source in &self.removed_sources {
            page.line(
                0,
                format!("Source {source} is no longer in wingtide.toml; its rows were taken out."),
            );
        }
        if let Some(words) = self.names_erased_words() {
            page.line(0, words);
        }
        self.sources
            .iter()
            .for_each(|source| source_page(&mut page, source));
        sites_page(&mut page, &self.sites);
        overlaps::page(&mut page, &self.overlaps);
        half_years::page(&mut page, self);
        offers_page(&mut page, self);
        f.write_str(&page.0)
    }
}

fn source_page(page: &mut Page, source: &SourceReport) {
    let same = if source.unchanged { ", as before" } else { "" };
    page.heading(format!(
        "{}: {} ({}{same})",
        source.id,
        source.file,
        source.read_as()
    ));
    rows_page(page, source);
    changes_page(page, source);
    for note in &source.notes {
        page.line(2, note.to_string());
    }
    source
        .repairs
        .iter()
        .for_each(|repair| repair_page(page, repair));
    refused_page(page, &source.refused);
    unlisted_page(page, &source.species);
}

fn rows_page(page: &mut Page, source: &SourceReport) {
    let blank = match source.blank_rows {
        0 => String::new(),
        n => format!(" (and {} without anything in them)", grouped(n)),
    };
    page.line(2, format!("{} read{blank}", of(source.rows, "row")));
    page.line(
        2,
        format!(
            "{} accepted, {} of them repaired; {} refused{}",
            grouped(source.accepted),
            grouped(source.repaired),
            grouped(source.refused.len() as u64 - source.kept_back()),
            kept_back_words(source),
        ),
    );
    if source.kind == Kind::Counts {
        let birds = source.species.iter().map(|s| s.birds).sum();
        let species = of(source.species.len() as u64, "species");
        page.line(
            2,
            format!(
                "{}, {species}, {}{}",
                of(source.records(), "record"),
                of(birds, "bird"),
                without_birds_words(source),
            ),
        );
    }
}

fn kept_back_words(source: &SourceReport) -> String {
    match source.kept_back() {
        0 => String::new(),
        n => format!(", {} kept back", grouped(n)),
    }
}

fn without_birds_words(source: &SourceReport) -> String {
    match source.visits_without_birds() {
        0 => String::new(),
        n => format!(", and {} of visits without birds", of(n, "row")),
    }
}

fn changes_page(page: &mut Page, source: &SourceReport) {
    let changes = source.changes.filter(|_| !source.unchanged);
    if let Some(changes) = changes {
        let text = format!(
            "Against batch {}: {} added, {} changed, {} removed",
            changes.since,
            of(changes.added, "row"),
            grouped(changes.changed),
            grouped(changes.removed),
        );
        page.line(2, text);
    }
}

fn repair_page(page: &mut Page, repair: &Repair) {
    let place = match repair.column.as_str() {
        "" => String::new(),
        column => format!(" in {column}"),
    };
    page.line(
        2,
        format!(
            "Repaired: {}{place}, {} from {}",
            repair_words(repair.kind),
            of(repair.rows, "row"),
            at(repair.file.as_deref(), repair.first_line),
        ),
    );
    page.list(4, &repair.examples, repair.cells, |e| {
        format!(
            "{}: {} read as {} ({})",
            at(e.file.as_deref(), e.line),
            cell(&e.written),
            cell(&e.read_as),
            of(e.rows, "row")
        )
    });
}

impl RepairKind {
    /// What was done, as a phrase.
    pub fn words(self) -> &'static str {
        repair_words(self)
    }
}

fn repair_words(kind: RepairKind) -> &'static str {
    match kind {
        RepairKind::Case => "upper and lower case",
        RepairKind::Spaces => "stray spaces",
        RepairKind::Tabs => "stray tabs",
        RepairKind::Invisible => "invisible characters",
        RepairKind::Signs => "apostrophes, hyphens and accents",
        RepairKind::TimeOfDay => "time of day left out",
        RepairKind::Subspecies => "subspecies taken as species",
        RepairKind::Author => "author and year left out",
        RepairKind::EmptyCells => "empty cells beyond the last column",
        RepairKind::Synonym => "synonyms of their date",
        RepairKind::BothNames => "two names of one species",
        RepairKind::NoBirds => "words for no birds",
    }
}

fn refused_page(page: &mut Page, refused: &[Refusal]) {
    let (kept_back, refused): (Vec<&Refusal>, Vec<&Refusal>) =
        refused.iter().partition(|r| r.kept_back);
    let groups = [
        ("Refused:", refused),
        ("Kept back, as they belong to no one species:", kept_back),
    ];
    for (heading, rows) in groups {
        if !rows.is_empty() {
            page.line(2, heading);
            page.list(4, &rows, rows.len() as u64, |r| r.to_string());
        }
    }
}

impl Display for Refusal {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let place = at(self.file.as_deref(), self.line);
        let reason = &self.reason;
        match self.column.as_str() {
            "" => write!(f, "{place}: {reason}"),
            column => write!(f, "{place}, {column} {}: {reason}", cell(&self.value)),
        }
    }
}

fn unlisted_page(page: &mut Page, species: &[SpeciesTotal]) {
    let unlisted: Vec<&SpeciesTotal> = species.iter().filter(|s| !s.listed).collect();
    if unlisted.is_empty() {
        return;
    }
    page.line(
        2,
        "Not listed in wingtide.toml, kept under their own names:",
    );
    page.list(4, &unlisted, unlisted.len() as u64, |s| {
        let nearest = s
            .nearest
            .as_ref()
            .map_or_else(String::new, |n| format!("; nearest listed: {n}"));
        format!(
            "{} ({} from {}){nearest}",
            s.name,
            of(s.records, "record"),
            at(s.file.as_deref(), s.first_line)
        )
    });
}

fn sites_page(page: &mut Page, sites: &[SiteReport]) {
    if sites.is_empty() {
        return; // of a former batch
    }
    page.heading("Sites");
    for site in sites {
        let span = site
            .span
            .map_or_else(String::new, |(first, last)| format!(", {first} to {last}"));
        let records = of(site.records, "record");
        let species = of(site.species, "species");
        page.line(
            2,
            format!(
                "{}: {}{span}; {records} of {species}",
                site.site,
                of(site.visits, "visit date")
            ),
        );
        page.line(4, zeros_words(site));
        if site.targeted > 0 {
            let dates = of(site.targeted, "further visit date");
            page.line(4, format!("{dates} targeted alone, left out of the curves"));
        }
        if site.dates_without_visit_total > 0 {
            page.line(4, format!(
                "{} with records but not in the visits table; they tell of the recorded species alone:",
                of(site.dates_without_visit_total, "date"),
            ));
            let total = site.dates_without_visit_total;
            page.list(6, &site.dates_without_visit, total, |date| date.to_string());
        }
    }
}

fn zeros_words(site: &SiteReport) -> String {
    match site.zeros {
        Zeros::Known => "fully reported: a species without a row was not found".to_owned(),
        Zeros::Partly => format!(
            "{} of the visits fully reported; on the others zeros are unknown",
            grouped(site.fully_reported)
        ),
        Zeros::Unknown => "zeros are unknown: no visit is fully reported".to_owned(),
        Zeros::NoVisits => "no visits".to_owned(),
    }
}

fn offers_page(page: &mut Page, report: &LoadReport) {
    for offer in &report.offers {
        page.heading(format!(
            "If every species found at {} was written down, each date with records can be taken as a fully \
             reported visit. Write under the source \"{}\" in wingtide.toml:",
            offer.sites.join(", "),
            offer.source,
        ));
        page.line(4, &offer.line);
    }
}

/// A cell in quotes, with what cannot be seen made visible and a long one cut.
fn cell(text: &str) -> String {
    let shown: String = text.chars().take(CELL_SHOWN).flat_map(visible).collect();
    let more = if text.chars().nth(CELL_SHOWN).is_some() {
        "..."
    } else {
        ""
    };
    format!("\"{shown}{more}\"")
}

fn visible(c: char) -> Vec<char> {
    if c.is_control() || is_invisible(c) {
        c.escape_default().collect()
    } else {
        vec![c]
    }
}

/// A number with its noun.
pub(crate) fn of(n: u64, noun: &str) -> String {
    let plural = if n == 1 || noun == "species" { "" } else { "s" };
    format!("{} {noun}{plural}", grouped(n))
}

/// 20,662
pub fn grouped(n: u64) -> String {
    let digits = n.to_string();
    let mut grouped = String::new();
    for (place, digit) in digits.char_indices() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            grouped.push(',');
        }
        grouped.push(digit);
    }
    grouped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_cells() {
        assert_eq!(
            [0, 999, 1000, 1_234_567].map(grouped),
            ["0", "999", "1,000", "1,234,567"]
        );
        assert_eq!(of(1, "row"), "1 row");
        assert_eq!(of(2, "species"), "2 species");
        assert_eq!(cell("Lower\t"), "\"Lower\\t\"");
        assert_eq!(cell("Dun\u{200b}lin"), "\"Dun\\u{200b}lin\"");
        assert_eq!(cell(&"x".repeat(60)), format!("\"{}...\"", "x".repeat(40)));
    }
}

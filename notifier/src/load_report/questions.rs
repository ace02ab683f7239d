//! Records worth a second look, by question.

use super::LoadPage;
use super::rows::{Listed, ROWS_SHOWN};
use crate::second_look::{self, SecondLooks};
use ingest::suspects::{Question, Suspect};
use serde::Serialize;

#[derive(Debug, Serialize)]
pub(super) struct QuestionView {
    title: &'static str,
    rule: &'static str,
    rows: Listed,
}

pub(super) fn view(page: &LoadPage<'_>) -> Vec<QuestionView> {
    let of = |question| {
        let suspects = page.suspects.unwrap_or_default();
        let rows = suspects.iter().filter(move |s| s.question == question);
        let lines = rows.clone().map(|suspect| line(page, suspect));
        QuestionView {
            title: title(question),
            rule: rule(question),
            rows: Listed::new(lines, rows.count(), ROWS_SHOWN),
        }
    };
    let all = Question::ALL.into_iter().map(of);
    all.filter(|view| !view.rows.lines.is_empty()).collect()
}

/// Records that the forecast did not expect, the most surprising first; None where there are none.
pub(super) fn unexpected(found: &SecondLooks) -> Option<Listed> {
    let lines = found.pending().map(second_look::line);
    let number = found.pending().count();
    (number > 0).then(|| Listed::new(lines, number, ROWS_SHOWN))
}

fn line(page: &LoadPage<'_>, suspect: &Suspect) -> String {
    let rows = match suspect.rows {
        1 => String::new(),
        n => format!(" ({n} rows)"),
    };
    let site = suspect.site.as_deref().map(|s| page.site_name(s));
    let species = suspect
        .species
        .as_deref()
        .map(|s| page.workspace.shown_name(s));
    let what: Vec<&str> = [site, species, Some(&suspect.date)]
        .into_iter()
        .flatten()
        .collect();
    let (file, line) = page.place(&suspect.source, suspect.line);
    format!(
        "{file} line {line}{rows}: {}: {}",
        what.join(", "),
        suspect.why
    )
}

fn title(question: Question) -> &'static str {
    match question {
        Question::TenTimesUsual => "Ten times the usual",
        Question::Future => "In the future",
        Question::SwappedDate => "Day and month swapped?",
        Question::ResidentOnce => "A resident on one day only",
        Question::NameOnce => "A name on one day only",
        Question::VisitTwice => "A visit whose rows all stand twice",
    }
}

/// The numbers behind each question; they stand with their reasons in `ingest::suspects`.
fn rule(question: Question) -> &'static str {
    match question {
        Question::TenTimesUsual => {
            "More than ten times what 19 of 20 other counts of that species at that site within 15 \
             days of the date, in all years, do not exceed; asked where there are ten such counts."
        }
        Question::Future => "Later than today at the site. Rows later than tomorrow were refused.",
        Question::SwappedDate => {
            "No other year had the species there within 30 days of the date, but three or more had \
             it within 10 days of the other reading; or the rows before and after fit the other \
             reading alone."
        }
        Question::ResidentOnce => {
            "The only day of a year with 20 visits or more, of a species that most such years found \
             on half of the visits."
        }
        Question::NameOnce => {
            "On one day in all the files, and not listed in wingtide.toml: a rare bird, or a slip \
             of the pen?"
        }
        Question::VisitTwice => {
            "Every number of every species of the visit stands more than once in the source, as \
             where an export was pasted in twice. All of it was added up."
        }
    }
}

/// A line for each question that has records, for the screen.
pub fn on_screen(suspects: &[Suspect]) -> Vec<String> {
    let of = |question| {
        let number = suspects.iter().filter(|s| s.question == question).count();
        (number > 0).then(|| format!("{}: {number}", title(question)))
    };
    Question::ALL.into_iter().filter_map(of).collect()
}

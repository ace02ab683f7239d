//! The records and their answers as the page shows them.

use super::AGAIN;
use super::answering::Typed;
use super::listed::{Listed, MOST};
use crate::second_look::{Question, SecondLooks, TOO_FEW_YEARS, shares, what};
use crate::words;
use ingest::report::grouped;
use ingest::store::{Answer, FoundBy};
use serde::Serialize;

/// Answers shown, the last one first.
const ANSWERS: usize = 40;

/// What is said above the records.
#[derive(Debug, Serialize)]
pub(super) struct Said {
    words: String,
    wrong: bool,
}

impl Said {
    pub(super) fn done(words: &str) -> Self {
        Said {
            words: words.to_owned(),
            wrong: false,
        }
    }

    pub(super) fn wrong(words: String) -> Self {
        Said { words, wrong: true }
    }
}

/// What forms need; programs get none.
pub(super) struct Forms {
    pub code: String,
    /// What was typed into one of them, to be put right.
    pub typed: Option<Typed>,
}

#[derive(Debug, Serialize)]
pub(super) struct View {
    said: Option<Said>,
    /// Why there is nothing to list.
    nothing: Option<String>,
    /// Whether what there is could be listed at all.
    is_listed: bool,
    open: Vec<OpenView>,
    /// Open ones beyond those shown.
    more: Option<String>,
    answers: Vec<AnswerView>,
    earlier: Option<String>,
    /// What was typed about a record that is not on the page.
    loose: Option<Loose>,
    /// The same where no record could be listed: a form to send again.
    again: Option<FormView>,
}

#[derive(Debug, Serialize)]
struct Loose {
    note: String,
    evidence: String,
}

#[derive(Debug, Serialize)]
struct OpenView {
    record: String,
    what: String,
    because: String,
    how_counted: Option<&'static str>,
    shares: Option<String>,
    marks: Option<String>,
    describe: Option<String>,
    /// Where it stands, and who found it.
    rows: Vec<String>,
    form: Option<FormView>,
}

#[derive(Debug, Serialize)]
struct AnswerView {
    record: String,
    what: String,
    verdict: &'static str,
    note: String,
    evidence: String,
    on: String,
    kept: String,
    form: Option<FormView>,
}

/// A form about one record.
#[derive(Debug, Serialize)]
struct FormView {
    code: String,
    record: String,
    verdict: String,
    note: String,
    evidence: String,
    date: String,
    /// Something of it was wrong.
    wrong: bool,
}

impl Forms {
    fn of(&self, record: &str) -> FormView {
        let own = self.typed.as_ref().filter(|t| t.record == record);
        let typed = own.cloned().unwrap_or_default();
        FormView {
            code: self.code.clone(),
            record: record.to_owned(),
            verdict: typed.verdict,
            note: typed.note,
            evidence: typed.evidence,
            date: typed.date,
            wrong: own.is_some(),
        }
    }
}

const NOT_YET: &str = "Nothing can be asked yet: counts have to be loaded, and past seasons worked out \
    from them.";
const NONE: &str = "No record of the last year is worth a second look.";

pub(super) fn view(listed: &Listed, said: Option<Said>, forms: Option<&Forms>) -> View {
    let pending: Vec<&Question> = listed.looks.iter().flat_map(SecondLooks::pending).collect();
    let form = |record: &str| forms.map(|f| f.of(record));
    let open = pending.iter().take(MOST).map(|question| {
        let rows = listed.rows.get(&question.record);
        open(
            question,
            rows.map_or(&[][..], |r| r),
            form(&question.record),
        )
    });
    let open: Vec<OpenView> = open.collect();
    let answers = answers(listed, &form);
    let shown = open
        .iter()
        .map(|o| &o.form)
        .chain(answers.iter().map(|a| &a.form));
    let is_shown = shown.flatten().any(|form| form.wrong);
    let typed = forms.and_then(|f| f.typed.as_ref());
    View {
        loose: typed.filter(|_| !is_shown).map(|typed| Loose {
            note: typed.note.clone(),
            evidence: typed.evidence.clone(),
        }),
        said,
        nothing: nothing(listed, pending.is_empty()).map(str::to_owned),
        is_listed: true,
        again: None,
        open,
        more: beyond(pending.len(), MOST),
        answers,
        earlier: beyond(listed.answers.len(), ANSWERS),
    }
}

fn nothing(listed: &Listed, is_empty: bool) -> Option<&'static str> {
    match &listed.looks {
        None => Some(NOT_YET),
        Some(looks) if looks.limit.is_none() => Some(TOO_FEW_YEARS),
        Some(_) if is_empty => Some(NONE),
        Some(_) => None,
    }
}

/// The page where settings or store cannot be read, and why: what was typed stands in its form.
pub(super) fn unlisted(why: String, said: Option<Said>, forms: Option<&Forms>) -> View {
    let typed = forms.and_then(|f| f.typed.as_ref());
    let again = forms
        .zip(typed)
        .map(|(forms, typed)| forms.of(&typed.record));
    let (said, nothing) = match (said, &again) {
        // what was kept before is kept
        (Some(done), _) if !done.wrong => (done, Some(why)),
        (_, None) => (Said::wrong(why), None),
        (_, Some(_)) => (Said::wrong(format!("{why} {AGAIN}")), None),
    };
    View {
        said: Some(said),
        nothing,
        is_listed: false,
        open: Vec::new(),
        more: None,
        answers: Vec::new(),
        earlier: None,
        loose: None,
        again,
    }
}

fn answers(listed: &Listed, form: &impl Fn(&str) -> Option<FormView>) -> Vec<AnswerView> {
    let last = listed.answers.iter().rev().take(ANSWERS).enumerate();
    last.map(|(place, a)| {
        // a record is answered anew at its last answer alone
        let mut later = listed.answers.iter().rev().take(place);
        let is_last = !later.any(|l| l.record == a.record);
        answer(listed, a, is_last.then(|| form(&a.record)).flatten())
    })
    .collect()
}

fn beyond(number: usize, shown: usize) -> Option<String> {
    (number > shown).then(|| grouped((number - shown) as u64))
}

fn open(question: &Question, rows: &[FoundBy], form: Option<FormView>) -> OpenView {
    let marks = words::list(&question.marks).to_lowercase();
    OpenView {
        record: question.record.clone(),
        what: what(question),
        because: question.because.clone(),
        how_counted: question.how_counted(),
        shares: shares(question),
        marks: (!marks.is_empty()).then_some(marks),
        describe: question.describe.clone(),
        rows: rows.iter().map(row).collect(),
        form,
    }
}

/// "counts, line 12, found by Ann Warden"
fn row(found: &FoundBy) -> String {
    let place = format!("{}, line {}", found.source, grouped(found.line));
    match found.observers.is_empty() {
        true => place,
        false => format!("{place}, found by {}", words::list(&found.observers)),
    }
}

fn answer(listed: &Listed, answer: &Answer, form: Option<FormView>) -> AnswerView {
    let key = &answer.key;
    let workspace = &listed.workspace;
    let site = workspace.site(&key.site).map_or(&key.site, |s| &s.name);
    AnswerView {
        record: answer.record.clone(),
        what: format!(
            "{}, {}, {site}, {}",
            workspace.shown_name(&key.species),
            key.said,
            words::day_month_year(key.date)
        ),
        verdict: answer.verdict.word(),
        note: answer.note.clone(),
        evidence: answer.evidence.clone(),
        on: words::day_month_year(answer.answered_on),
        kept: answer.kept_at.clone(),
        form,
    }
}

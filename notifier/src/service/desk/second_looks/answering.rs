//! From what was typed into the form to an answer in the trail.

use super::listed::{Listed, Looks, told};
use crate::guard::forms;
use crate::subscribers::SubscribersError;
use crate::words;
use axum::http::StatusCode;
use chrono::{DateTime, NaiveDate, Utc};
use ingest::store::{NewAnswer, RecordKey, Store, StoreError, Verdict};
use std::path::Path;

/// Letters of a note, and of what it rests on: several pages.
pub(in crate::service::desk) const LONGEST: usize = 8000;

/// What somebody typed, as it came.
#[derive(Debug, Clone, Default)]
pub(in crate::service::desk) struct Typed {
    pub record: String,
    pub verdict: String,
    pub note: String,
    pub evidence: String,
    pub date: String,
}

impl Typed {
    pub(super) fn of(fields: &[(String, String)]) -> Self {
        // forms end lines as the network does
        let text = |name| {
            let text = forms::field(fields, name).unwrap_or_default();
            text.replace("\r\n", "\n").trim().to_owned()
        };
        Typed {
            record: text("record"),
            verdict: text("verdict"),
            note: text("note"),
            evidence: text("evidence"),
            date: text("date"),
        }
    }

    /// As a form sends them.
    pub(in crate::service::desk) fn fields(&self) -> Vec<(&'static str, &str)> {
        vec![
            ("record", self.record.as_str()),
            ("verdict", self.verdict.as_str()),
            ("note", self.note.as_str()),
            ("evidence", self.evidence.as_str()),
            ("date", self.date.as_str()),
        ]
    }

    fn verdict(&self) -> Result<Verdict, String> {
        match self.verdict.as_str() {
            "accepted" => Ok(Verdict::Accepted),
            "changed" => Ok(Verdict::Changed),
            "withdrawn" => Ok(Verdict::Withdrawn),
            _ => {
                Err("Say what came of it: it stands, it was put right, or it was withdrawn.".into())
            }
        }
    }

    fn date(&self, today: NaiveDate) -> Result<NaiveDate, String> {
        if self.date.is_empty() {
            return Ok(today);
        }
        self.date
            .parse()
            .map_err(|_| format!("The day of the answer has to be a date such as {today}."))
    }

    /// The answer that it makes, on a day on which it is `today` at the record's site.
    fn answer(&self, today: NaiveDate) -> Result<NewAnswer, String> {
        let texts = [("note", &self.note), ("evidence", &self.evidence)];
        for (what, text) in texts {
            if text.chars().count() > LONGEST {
                return Err(format!("The {what} is longer than {LONGEST} letters."));
            }
            if text
                .chars()
                .any(|c| c.is_control() && c != '\n' && c != '\t')
            {
                return Err(format!("The {what} has signs in it that are no text."));
            }
        }
        Ok(NewAnswer {
            verdict: self.verdict()?,
            note: self.note.clone(),
            evidence: self.evidence.clone(),
            answered_on: self.date(today)?,
        })
    }
}

/// What came of it.
pub(super) enum Kept {
    As(Verdict),
    /// Nothing was kept, and why.
    Not(StatusCode, String),
}

/// Keeps it.
pub(super) fn keep(
    dir: &Path,
    typed: &Typed,
    now: DateTime<Utc>,
    looks: &Looks,
) -> Result<Kept, SubscribersError> {
    let listed = looks.now(dir)?;
    let unknown = "That record is not asked about, and never was answered.".to_owned();
    let Some(key) = record(&listed, &typed.record) else {
        return Ok(Kept::Not(StatusCode::NOT_FOUND, unknown));
    };
    let Some(site) = listed.workspace.site(&key.site) else {
        return Ok(Kept::Not(StatusCode::NOT_FOUND, unknown));
    };
    let now = now.with_timezone(&site.time_zone);
    let answer = match typed.answer(now.date_naive()) {
        Ok(answer) => answer,
        Err(why) => return Ok(Kept::Not(StatusCode::UNPROCESSABLE_ENTITY, why)),
    };
    let store = Store::open_existing(&listed.workspace.root);
    match store.and_then(|mut store| store.keep_answer(key, &answer, now)) {
        Ok(()) => {
            looks.forget();
            Ok(Kept::As(answer.verdict))
        }
        Err(why @ StoreError::AnswerDay { .. }) => {
            let why = format!("{}.", words::sentence(&why.to_string()));
            Ok(Kept::Not(StatusCode::UNPROCESSABLE_ENTITY, why))
        }
        Err(StoreError::Busy) => {
            let busy = "Counts are being loaded at this moment, so nothing was kept. Send it again in \
                a minute.";
            Ok(Kept::Not(StatusCode::SERVICE_UNAVAILABLE, busy.to_owned()))
        }
        Err(why) => Err(told(why)),
    }
}

/// The record of that fingerprint: among those asked about, else among those answered before.
fn record<'l>(listed: &'l Listed, fingerprint: &str) -> Option<&'l RecordKey> {
    let asked = listed.looks.iter().flat_map(|looks| &looks.records);
    let mut asked = asked.filter(|q| q.record == fingerprint).map(|q| &q.key);
    let before = listed.answers.iter().filter(|a| a.record == fingerprint);
    asked.next().or_else(|| before.map(|a| &a.key).next())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(more: &[(&str, &str)]) -> Typed {
        let usual = [("record", "abc"), ("verdict", "accepted")];
        let fields = more.iter().chain(&usual);
        let fields: Vec<_> = fields
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect();
        Typed::of(&fields)
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().expect("a date")
    }

    #[test]
    fn an_answer_is_given_today_unless_it_says_when() {
        let today = day("2026-09-07");
        let answer = typed(&[]).answer(today).expect("an answer");
        assert_eq!(
            (answer.verdict, answer.answered_on),
            (Verdict::Accepted, today)
        );
        let before = typed(&[("date", "2026-09-01"), ("note", "two\r\nlines ")]);
        let answer = before.answer(today).expect("an answer");
        assert_eq!(answer.answered_on, day("2026-09-01"));
        assert_eq!(answer.note, "two\nlines");
    }

    #[test]
    fn what_makes_no_answer_is_refused_with_a_sentence() {
        let today = day("2026-09-07");
        let long = "a".repeat(LONGEST + 1);
        for (field, said) in [
            (("verdict", "perhaps"), "Say what came of it"),
            (("date", "yesterday"), "such as 2026-09-07"),
            (("note", long.as_str()), "longer than 8000"),
            (("evidence", "a\u{1b}[2Jb"), "no text"),
        ] {
            let why = typed(&[field]).answer(today).expect_err("refused");
            assert!(why.contains(said), "{why}");
        }
    }
}

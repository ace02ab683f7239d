//! The list on the screen.

use super::limit::Limit;
use super::list::{LookAlike, Question, SecondLooks};
use crate::columns::wrap;
use crate::guidance::REMINDER;
use crate::words;
use ingest::report::grouped;
use ingest::store::Answer;

/// Said with every list.
const STAYS: &str = "Nothing is taken out: a record stays as it is until its file is changed, or its \
    finder withdraws it.";

/// Where no site has records with years enough before them.
pub(crate) const TOO_FEW_YEARS: &str = "Nothing can be asked yet: no site has records with three years \
    of visits before them.";

/// The unanswered questions, the most surprising record first, then where questions begin.
pub fn screen(found: &SecondLooks, width: usize) -> String {
    let mut page = Page {
        text: String::new(),
        width,
    };
    let Some(limit) = &found.limit else {
        page.say(TOO_FEW_YEARS, "", "");
        return page.text;
    };
    let pending: Vec<&Question> = found.pending().collect();
    let too_early = found.too_early_to_say;
    page.say(&heading(found, pending.len()), "", "");
    for question in &pending {
        page.question(question);
    }
    page.text.push('\n');
    let answered = found.records.len() - pending.len();
    if answered > 0 {
        let answered = words::count_of(answered, "record", "records");
        page.say(
            &format!("{answered} more answered: --answers shows how."),
            "",
            "  ",
        );
    }
    if (1..found.looked_at).contains(&too_early) {
        let n = words::count_of(too_early, "record", "records");
        page.say(&nothing_of(&n), "", "  ");
    }
    page.say(&limit_words(limit), "", "  ");
    page.say(STAYS, "", "  ");
    page.say(REMINDER, "", "  ");
    page.text
}

fn heading(found: &SecondLooks, pending: usize) -> String {
    let records = words::count_of(found.looked_at, "record", "records");
    let too_early = found.too_early_to_say;
    match pending {
        0 if too_early > 0 && too_early == found.looked_at => nothing_of(&records),
        0 => format!("Of {records} none is worth a second look."),
        1 => format!("Of {records} one is worth a second look."),
        n => format!(
            "Of {records} {} are worth a second look, the most surprising first.",
            grouped(n as u64)
        ),
    }
}

fn nothing_of(records: &str) -> String {
    format!("Of {records} nothing can be said: fewer than three years with visits lie before.")
}

/// Where questions begin, in words.
fn limit_words(limit: &Limit) -> String {
    format!(
        "The settings put up with {} a week about true records (false_questions_a_week). In {} to \
         {}, {} of {} in {} of visits were as surprising as these, and were taken as true.",
        match limit.false_questions_a_week {
            1.0 => "1 question".to_owned(),
            n => format!("{n} questions"),
        },
        limit.years.0,
        limit.years.1,
        grouped(limit.would_have_asked as u64),
        words::count_of(limit.records, "record", "records"),
        words::count_of(limit.weeks, "week", "weeks"),
    )
}

/// The record and the reason, on one line.
pub fn line(question: &Question) -> String {
    format!("{}: {}", what(question), question.because)
}

/// Species, count, site and date.
pub(crate) fn what(question: &Question) -> String {
    format!(
        "{}, {}, {}, {}",
        question.name,
        question.key.said,
        question.site_name,
        words::day_month_year(question.key.date)
    )
}

/// Shares of its set in words, the largest first; None where there is no other member, or no doubt of
/// the name.
pub(crate) fn shares(question: &Question) -> Option<String> {
    let one = |l: &LookAlike| format!("{} {}", l.name, words::chance(l.share));
    let all: Vec<String> = question.look_alikes.iter().map(one).collect();
    (question.doubts_name() && all.len() > 1).then(|| all.join(", "))
}

/// Every answer, the first one first.
pub fn trail(answers: &[Answer], name: impl Fn(&str) -> String, width: usize) -> String {
    let mut page = Page {
        text: String::new(),
        width,
    };
    if answers.is_empty() {
        page.say("No second look has been answered yet.", "", "");
    }
    for a in answers {
        let key = &a.key;
        let text = format!(
            "{}  {}: {}, {}, {}, {}",
            a.record,
            a.verdict.word(),
            name(&key.species),
            key.said,
            key.site,
            words::day_month_year(key.date),
        );
        page.say(&text, "", "  ");
        let on = words::day_month_year(a.answered_on);
        page.say(
            &format!("Answered on {on}, kept {}", a.kept_at),
            "  ",
            "    ",
        );
        for (what, text) in [("Note", &a.note), ("Evidence", &a.evidence)] {
            if !text.is_empty() {
                page.say(&format!("{what}: {text}"), "  ", "    ");
            }
        }
    }
    page.text
}

struct Page {
    text: String,
    width: usize,
}

impl Page {
    fn say(&mut self, text: &str, first: &str, rest: &str) {
        self.text.push_str(&wrap(text, first, rest, self.width));
        self.text.push('\n');
    }

    fn question(&mut self, question: &Question) {
        self.text.push('\n');
        self.say(&what(question), "", "  ");
        self.say(&question.because, "  ", "  ");
        if let Some(how) = question.how_counted() {
            self.say(how, "  ", "    ");
        }
        if let Some(shares) = shares(question) {
            self.say(
                &format!("Of its set about that date: {shares}"),
                "  ",
                "    ",
            );
        }
        if !question.marks.is_empty() {
            let marks = words::list(&question.marks).to_lowercase();
            self.say(
                &format!("A description must mention: {marks}"),
                "  ",
                "    ",
            );
        }
        if let Some(describe) = &question.describe {
            self.say(&format!("To claim one: {describe}"), "  ", "    ");
        }
        self.say(&format!("Record {}", question.record), "  ", "    ");
    }
}

//! A letter to whoever found a record. It asks what was seen and never says what should have been.

use super::list::Question;
use super::screen::what;
use crate::columns::wrap;
use crate::words;
use config::second_look::Finder;
use config::settings::Workspace;
use ingest::store::FoundBy;
use std::collections::BTreeSet;

/// Columns of a letter: what mail programs quote without breaking (common practice, no source).
const COLUMNS: usize = 72;

const THANKS: &str = "thank you for your counts. One of them is worth a second look:";
const KINDLY: &str = "This is a question, not a doubt of you: records like this one are sometimes \
    slips of the pen, and sometimes the best of the year. Either way a few words, written down \
    soon, make it worth more.";
const FREE: &str = "If it was a slip, say what it should be. If you do not remember, or would rather \
    not answer, that is an answer too, and the record stays as you wrote it.";
const CARE: &str = "Please do not go back for it where that would disturb the birds or be unsafe: \
    mind tides, weather and roads, and do not go alone.";
/// The letter about a record, as text with its head: ready to be sent where a finder agreed to be
/// written to, else addressed to nobody, with the reason.
pub fn letter(workspace: &Workspace, question: &Question, rows: &[FoundBy]) -> String {
    let (to, greeting) = match addressed(workspace, rows) {
        Ok(finders) => (head(&finders), greeting(&finders)),
        Err(why) => (format!("To: nobody ({why})\n"), "Hello,".to_owned()),
    };
    let mut text = to;
    if let Some(keeper) = &workspace.keeper {
        text += &format!("Reply-To: {}\n", words::plain_spaces(keeper));
    }
    text += &format!("Subject: {}\n\n", words::plain_spaces(&subject(question)));
    let mut say = |paragraph: &str, first: &str, rest: &str| {
        text.push_str(&wrap(paragraph, first, rest, COLUMNS));
        text.push('\n');
    };
    say(&greeting, "", "");
    say("", "", "");
    say(THANKS, "", "");
    say("", "", "");
    say(&what(question), "    ", "    ");
    say("", "", "");
    say(why(question.reason), "", "");
    say("", "", "");
    say(KINDLY, "", "");
    say("", "", "");
    say("Would you write down:", "", "");
    for ask in &question.asks {
        say(ask, "  - ", "    ");
    }
    say("", "", "");
    say(FREE, "", "");
    say("", "", "");
    say(CARE, "", "");
    say("", "", "");
    say(&workspace.name, "", "");
    say(&format!("Record {}", question.record), "", "");
    text
}

/// Why it is asked, without what it might have been: that would be an answer put into a mouth.
fn why(reason: &str) -> &'static str {
    match reason {
        "swapped-date" | "too-early" | "too-late" => {
            "It lies on a date on which few or none are to be expected here."
        }
        "tenfold" | "too-many" => {
            "The number is well above what was to be expected here at that time of the year."
        }
        "never-here" | "unlikely-site" => {
            "It would be among the very first records of the species at this site."
        }
        _ => "At that time of the year so many of this species are not to be expected here.",
    }
}

fn subject(question: &Question) -> String {
    format!(
        "Your record of {} on {}",
        question.name,
        words::day_month_year(question.key.date)
    )
}

fn head(finders: &[&Finder]) -> String {
    let one = |f: &&Finder| {
        // RFC 5322: a quoted string, with its two special characters escaped
        let name = f.name.replace('\\', "\\\\").replace('"', "\\\"");
        format!("\"{name}\" <{}>", f.mail)
    };
    let all: Vec<String> = finders.iter().map(one).collect();
    format!("To: {}\n", all.join(", "))
}

fn greeting(finders: &[&Finder]) -> String {
    let names: Vec<&str> = finders.iter().map(|f| f.name.as_str()).collect();
    format!("Dear {},", words::list(&names))
}

/// The finders who agreed to be written to; else why nobody is.
fn addressed<'w>(workspace: &'w Workspace, rows: &[FoundBy]) -> Result<Vec<&'w Finder>, String> {
    let names: BTreeSet<&str> = rows
        .iter()
        .flat_map(|r| &r.observers)
        .map(String::as_str)
        .collect();
    if names.is_empty() {
        return Err("no observer's name is kept of it".to_owned());
    }
    let finders = || {
        workspace
            .finders
            .iter()
            .filter(|f| names.iter().any(|n| f.is(n)))
    };
    let agreed: Vec<&Finder> = finders().filter(|f| f.may_be_written_to).collect();
    if !agreed.is_empty() {
        return Ok(agreed);
    }
    Err(match finders().next() {
        Some(f) => format!("{} has not agreed to be written to", f.name),
        None => format!(
            "{} has no [[finder]] in wingtide.toml",
            words::list(&names.iter().collect::<Vec<_>>())
        ),
    })
}

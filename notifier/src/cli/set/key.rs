//! `wingtide set NAME --key`

use super::place::Place;
use crate::cli::session::Session;
use crate::cli::{Failure, Streams};
use crate::columns;
use crate::lesson::key::{Answer, Key, Question, right_in_ten};
use crate::lesson::{Lesson, mark_heading, when};
use crate::words;
use config::look_alikes::{LookAlikeSet, Trust};
use forecast::calendar::DayOfYear;
use forecast::series::CountSeries;
use forecast::share::shares;
use std::path::Path;

const OPENING: &str = "A teaching aid: it asks for one mark at a time, weighs each answer by how \
    far its mark can be trusted, and never ends in a certain identification. Answer with the \
    number of what you see or hear, 0 where you cannot tell, q to stop. One view in ten is taken \
    to mislead altogether, so a tenth of where it starts always stays.";

const ENDING: &str = "A key never identifies a bird. Its answers lean on one another: one poor \
    view spoils them all. Take a high share as a reason to look for what speaks against it, and \
    write down what you saw before you look anything up.";

/// Asks through the set until the answers end or no mark would tell more.
pub fn run(
    dir: &Path,
    place: &Place<'_>,
    set: &LookAlikeSet,
    streams: &mut Streams,
) -> Result<(), Failure> {
    let lesson = place.lesson(set);
    let start = start(dir, place, &lesson)?;
    let mut key = Key::new(&lesson, &start.shares)
        .ok_or_else(|| Failure::new("the site's shares of this set cannot be used"))?;
    let mut talk = Talk {
        lesson: &lesson,
        streams,
    };
    talk.opening(&start)?;
    talk.so_far(&key)?;
    while let Some(question) = key.next_question() {
        talk.ask(&question)?;
        let Some(answer) = talk.answer(question.groups.len())? else {
            break;
        };
        key.answer(&question, answer);
        if answer != Answer::Unseen {
            talk.so_far(&key)?;
        }
    }
    talk.ending(&key)
}

/// Where the key starts, with the reason.
struct Start {
    shares: Vec<f64>,
    why: String,
}

/// The date's shares of the site's counts, else equal ones.
fn start(dir: &Path, place: &Place<'_>, lesson: &Lesson<'_>) -> Result<Start, Failure> {
    let about = lesson.about();
    let equal = |why: &str| Start {
        shares: vec![1.0; about.len()],
        why: format!("It starts from equal shares: {why}."),
    };
    let (Some(site), Some(date)) = (place.site, place.date) else {
        return Ok(equal("no site's counts are at hand"));
    };
    if !dir.join(ingest::STORE_FOLDER).exists() {
        return Ok(equal("no counts are loaded"));
    }
    let session = Session::open(dir)?;
    let history = session.store.history(&session.workspace, &site.id)?;
    let of = |species: &str| history.species.get(species).unwrap_or(&history.unrecorded);
    let series: Vec<&CountSeries> = about.iter().map(|(m, _)| of(&m.species)).collect();
    let shared = shares(&series, DayOfYear::of(date));
    if shared.effective_birds < 1.0 {
        return Ok(equal(
            "none of them was counted at the site at this time of the year",
        ));
    }
    Ok(Start {
        shares: shared.shares,
        why: format!(
            "It starts from the shares of {} about the date. {}",
            site.name,
            words::shares_rest_on(shared.effective_birds)
        ),
    })
}

/// The questions and answers on the screen.
struct Talk<'t, 's> {
    lesson: &'t Lesson<'t>,
    streams: &'t mut Streams<'s>,
}

impl Talk<'_, '_> {
    fn say(&mut self, text: &str, first: &str, rest: &str) -> Result<(), Failure> {
        let text = columns::wrap(text, first, rest, self.streams.width);
        writeln!(self.streams.out, "{text}")?;
        Ok(())
    }

    fn opening(&mut self, start: &Start) -> Result<(), Failure> {
        let set = self.lesson.set;
        self.say(&format!("{} ({})", set.title, set.id), "", "")?;
        self.say(&when(self.lesson), "", "")?;
        self.say(OPENING, "", "")?;
        self.say(&start.why, "", "")?;
        let absent = self.lesson.absent();
        if absent.is_empty() {
            return Ok(());
        }
        let absent = words::list(&absent);
        self.say(
            &format!("Not to be expected there then, and left out: {absent}."),
            "",
            "",
        )
    }

    /// The members by share, those hardly to be expected left out.
    fn so_far(&mut self, key: &Key<'_>) -> Result<(), Failure> {
        let told: Vec<String> = remaining(&ranked(self.lesson, key))
            .iter()
            .map(|(name, share)| format!("{name} {}", words::chance(*share)))
            .collect();
        self.say(&format!("So far: {}.", told.join(", ")), "", "  ")
    }

    fn ask(&mut self, question: &Question<'_>) -> Result<(), Failure> {
        writeln!(self.streams.out)?;
        self.say(&mark_heading(question.mark), "", "")?;
        self.say(&weight(question.mark.trust), "  ", "  ")?;
        if let Some(trap) = question.mark.trap() {
            self.say(&format!("Trap: {trap}"), "  ", "  ")?;
        }
        for (i, group) in question.groups.iter().enumerate() {
            self.say(&group.shows.text, &format!("  {}  ", i + 1), "     ")?;
        }
        let none = question.groups.len() + 1;
        self.say("None of these.", &format!("  {none}  "), "     ")?;
        self.say("Not seen or heard well enough.", "  0  ", "     ")
    }

    /// The next answer; None at the end of the answers. What is no answer is said and asked again.
    fn answer(&mut self, groups: usize) -> Result<Option<Answer>, Failure> {
        loop {
            write!(self.streams.out, "> ")?;
            self.streams.out.flush()?;
            let mut line = String::new();
            if self.streams.input.read_line(&mut line)? == 0 {
                writeln!(self.streams.out)?;
                return Ok(None);
            }
            match (line.trim(), line.trim().parse::<usize>()) {
                ("q", _) => return Ok(None),
                (_, Ok(0)) => return Ok(Some(Answer::Unseen)),
                (_, Ok(n)) if n <= groups => return Ok(Some(Answer::Shows(n - 1))),
                (_, Ok(n)) if n == groups + 1 => return Ok(Some(Answer::NoneOfThese)),
                (other, _) => {
                    let said = format!(
                        "{other:?} is no answer here; expected a number from 0 to {}, or q",
                        groups + 1
                    );
                    self.say(&said, "", "")?;
                }
            }
        }
    }

    fn ending(&mut self, key: &Key<'_>) -> Result<(), Failure> {
        writeln!(self.streams.out)?;
        self.say("What remains", "", "")?;
        let ranked = ranked(self.lesson, key);
        let (remain, hardly) = ranked.split_at(remaining(&ranked).len());
        for (name, share) in remain {
            let line = format!("{name}: {}", words::chance(*share));
            self.say(&line, "  - ", "    ")?;
        }
        if !hardly.is_empty() {
            let names: Vec<&str> = hardly.iter().map(|(name, _)| *name).collect();
            let text = format!("Under{}2 % each: {}.", words::TIE, words::list(&names));
            self.say(&text, "  - ", "    ")?;
        }
        if key.unfitting > 0 {
            let answers = words::count_of(key.unfitting, "answer", "answers");
            let text = format!(
                "{answers} fitted none of the wordings: think of a species, an age or a hybrid outside this set."
            );
            self.say(&text, "", "")?;
        }
        let remain = |name: &str| remain.iter().any(|(n, _)| *n == name);
        self.cannot_tell(&remain)?;
        self.describe(&remain)?;
        writeln!(self.streams.out)?;
        self.say(ENDING, "", "")
    }

    fn cannot_tell(&mut self, remain: &dyn Fn(&str) -> bool) -> Result<(), Failure> {
        let lesson = self.lesson;
        let entries = lesson.cannot_tell().into_iter().filter(|entry| {
            let named = entry.members.iter().filter(|m| remain(lesson.name(m)));
            named.count() >= 2
        });
        let entries: Vec<&str> = entries.map(|e| e.text.as_str()).collect();
        if entries.is_empty() {
            return Ok(());
        }
        writeln!(self.streams.out)?;
        self.say("Cannot be told apart", "", "")?;
        entries.iter().try_for_each(|e| self.say(e, "  - ", "    "))
    }

    fn describe(&mut self, remain: &dyn Fn(&str) -> bool) -> Result<(), Failure> {
        let lesson = self.lesson;
        writeln!(self.streams.out)?;
        self.say("To claim one, write down", "", "")?;
        for (member, _) in lesson.about() {
            let name = lesson.name(&member.species);
            if let Some(what) = member.describe.as_ref().filter(|_| remain(name)) {
                self.say(&format!("{name}: {what}"), "  - ", "    ")?;
            }
        }
        Ok(())
    }
}

/// Names with their shares, the largest first.
fn ranked<'t>(lesson: &'t Lesson<'t>, key: &Key<'_>) -> Vec<(&'t str, f64)> {
    let about = lesson.about();
    let names = about.iter().map(|(m, _)| lesson.name(&m.species));
    let mut ranked: Vec<(&str, f64)> = names.zip(key.shares().iter().copied()).collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    ranked
}

/// Those to be reckoned with: the two likeliest always, and all that are not under 2 %.
fn remaining<'r, 't>(ranked: &'r [(&'t str, f64)]) -> &'r [(&'t str, f64)] {
    let likely = ranked.iter().filter(|(_, s)| *s >= words::HARDLY).count();
    &ranked[..likely.max(2).min(ranked.len())]
}

/// How much an answer weighs, in words.
fn weight(trust: Trust) -> String {
    let right = right_in_ten(trust);
    let when = match trust {
        Trust::Structure => "seen well and from the side",
        Trust::Voice => "if it was this bird that called",
        Trust::Pattern => "seen near and in fair light",
        _ => "as any of them may do it",
    };
    format!("An answer is taken to be right {right} times in 10, {when}.")
}

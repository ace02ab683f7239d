//! `wingtide second-look`

use super::args::{Answering, SecondLook, SecondLookCommand};
use super::session::{Session, today};
use super::{Failure, Streams, print_json};
use crate::second_look::{Question, SecondLooks, Which, letter, list, screen, trail};
use chrono::Utc;
use config::nearest::nearest;
use ingest::store::{NewAnswer, RecordKey, Verdict};
use std::collections::BTreeMap;
use std::path::Path;

/// Lists the records worth a second look, writes a letter about one, or keeps an answer.
pub fn run(dir: &Path, args: &SecondLook, streams: &mut Streams) -> Result<(), Failure> {
    let mut session = Session::open(dir)?;
    if let Some(SecondLookCommand::Answer(answering)) = &args.command {
        return answer(&mut session, answering, streams);
    }
    if args.answers {
        return answers(&session, args, streams);
    }
    let site = args
        .site
        .as_deref()
        .map(|id| session.site(Some(id)))
        .transpose()?;
    let which = which(&session, args)?;
    let found = list(
        &session.workspace,
        &session.store,
        site.map(|s| s.id.as_str()),
        which,
    )?;
    let found = found.ok_or_else(not_fitted)?;
    if let Some(record) = &args.letter {
        let question = asked_about(&found, record)?;
        let key = &question.key;
        let rows = session.store.found_by(&key.site, key.date, &key.species)?;
        write!(
            streams.out,
            "{}",
            letter(&session.workspace, question, &rows)
        )?;
        return Ok(());
    }
    if args.json {
        return print_json(&serde_json::to_value(&found)?, streams.out);
    }
    write!(streams.out, "{}", screen(&found, streams.width))?;
    Ok(())
}

fn not_fitted() -> Failure {
    Failure::new("what past seasons' records were like has not been worked out yet")
        .hint("run: wingtide fit")
}

fn which(session: &Session, args: &SecondLook) -> Result<Which, Failure> {
    let Some(batch) = args.batch else {
        return Ok(args.since.map_or(Which::Usual, Which::Since));
    };
    match session.store.new_in_batch(batch)? {
        Some(_) => Ok(Which::Batch(batch)),
        None => Err(Failure::new(format!(
            "there is no batch {batch}, or its rows are kept no longer"
        ))
        .hint("wingtide batches lists them")),
    }
}

fn asked_about<'f>(found: &'f SecondLooks, record: &str) -> Result<&'f Question, Failure> {
    let known = found.records.iter().find(|q| q.record == record);
    known.ok_or_else(|| unknown(record, found.records.iter().map(|q| q.record.as_str())))
}

fn unknown<'k>(record: &str, known: impl Iterator<Item = &'k str> + Clone) -> Failure {
    let failure = Failure::new(format!("no record \"{record}\" is asked about"));
    match nearest(record, known) {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => failure.hint("wingtide second-look lists them; --since goes further back"),
    }
}

fn answers(session: &Session, args: &SecondLook, streams: &mut Streams) -> Result<(), Failure> {
    let mut all = session.store.answers()?;
    if let Some(id) = args.site.as_deref() {
        let site = session.site(Some(id))?;
        all.retain(|a| a.key.site == site.id);
    }
    if args.json {
        return print_json(&serde_json::json!({ "answers": all }), streams.out);
    }
    let name = |species: &str| session.workspace.shown_name(species).to_owned();
    write!(streams.out, "{}", trail(&all, name, streams.width))?;
    Ok(())
}

fn answer(session: &mut Session, args: &Answering, streams: &mut Streams) -> Result<(), Failure> {
    let key = record(session, &args.record)?;
    let verdict = match (args.accepted, args.changed) {
        (true, _) => Verdict::Accepted,
        (_, true) => Verdict::Changed,
        _ => Verdict::Withdrawn,
    };
    let site = session.site(Some(&key.site))?;
    let answer = NewAnswer {
        verdict,
        note: args.note.clone().unwrap_or_default(),
        evidence: args.evidence.clone().unwrap_or_default(),
        answered_on: args.date.unwrap_or_else(|| today(site)),
    };
    let now = Utc::now().with_timezone(&site.time_zone);
    session.store.keep_answer(&key, &answer, now)?;
    let after = match verdict {
        Verdict::Withdrawn => {
            "\nIts row stays in the store and its file; no forecast uses it any more. Run: wingtide fit"
        }
        Verdict::Changed => "\nPut it right in your file, too, and load it again.",
        Verdict::Accepted => "",
    };
    writeln!(
        streams.out,
        "Record {}, {} {} at {} on {}: {}.{after}",
        args.record,
        key.said,
        session.workspace.shown_name(&key.species),
        key.site,
        key.date,
        verdict.word()
    )?;
    Ok(())
}

/// The record of that fingerprint: among those answered before, else among all that is loaded.
fn record(session: &Session, fingerprint: &str) -> Result<RecordKey, Failure> {
    if let Some(answer) = session.store.last_answers()?.remove(fingerprint) {
        return Ok(answer.key);
    }
    let mut known = BTreeMap::new();
    for site in &session.workspace.sites {
        let history = session.store.history(&session.workspace, &site.id)?;
        for (species, series) in &history.species {
            for (visit, count) in series.known().filter(|(_, c)| c.found() == Some(true)) {
                let key = RecordKey::new(&site.id, visit.date, species, count);
                known.insert(key.fingerprint(), key);
            }
        }
    }
    known.remove(fingerprint).ok_or_else(|| {
        Failure::new(format!(
            "no record \"{fingerprint}\" is loaded, and none was answered"
        ))
        .hint("wingtide second-look lists the records that are asked about")
    })
}

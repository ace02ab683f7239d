//! The service itself, with its pages: what it does when all is well, when a step fails, and when
//! it is stopped.

use super::scene::{Noted, Served, body, counts, wait_for, workspace};
use chrono::TimeDelta;
use harness::program::Workspace;
use notifier::service::runs::{self, Outcome};
use notifier::service::schedule::Job;
use notifier::service::tables;
use serde_json::Value;
use std::sync::Arc;
use std::time::Duration;

fn last(workspace: &Workspace, job: Job) -> Option<runs::Run> {
    let conn = tables::open(&workspace.path("")).expect("tables");
    runs::last_of(&conn, job).expect("runs")
}

fn ended(workspace: &Workspace, job: Job) -> bool {
    last(workspace, job).is_some_and(|run| run.ended.is_some())
}

/// Half a minute before a digest is due, on a Monday.
const BEFORE: &str = "2026-09-07T05:29:30Z";
const QUICK: Duration = Duration::from_millis(4);

#[test]
fn a_digest_that_is_due_goes_through_all_steps_and_shows_on_every_page() {
    let workspace = workspace();
    let served = Served::start(&workspace, BEFORE, QUICK, Arc::default());
    wait_for("the digest", || ended(&workspace, Job::Digest));
    let run = last(&workspace, Job::Digest).expect("a run");
    assert_eq!(run.outcome, Outcome::Done, "{}", run.sentence);
    assert_eq!(run.sentence, "1 source loaded. 1 delivery queued. 0 sent.");
    let key = "My patch//2026-09-07".to_owned();
    assert_eq!(served.noted.queued(), [(key, vec![])]);
    assert!(workspace.path("digest/digest.html").exists());
    assert!(workspace.path("report/load.html").exists());
    shows_itself(&served);
    served.end();
}

fn shows_itself(served: &Served) {
    let (code, page) = served.keeper();
    assert_eq!(code, 200);
    for words in [
        "The service of My patch",
        "7 September 2026, 06:30",
        "All is well.",
        "Next",
    ] {
        assert!(
            page.replace('\u{a0}', " ").contains(words),
            "{words}: {page}"
        );
    }
    assert!(!page.contains("skerrow.example"), "no address: {page}");
    assert!(page.contains("content-security-policy: default-src 'none'"));
    let (code, health) = served.ask("/health");
    let health: Value = serde_json::from_str(body(&health)).expect("JSON");
    assert_eq!((code, &health["status"]), (200, &Value::from("ok")));
    assert_eq!(health["next"]["digest"], "2026-09-14T05:30:00Z");
    let (code, metrics) = served.ask("/metrics");
    assert_eq!(code, 200);
    let numbers = numbers(body(&metrics));
    for (name, value) in [
        ("wingtide_healthy", 1.0),
        ("wingtide_runs_total{job=\"digest\",outcome=\"done\"}", 1.0),
        ("wingtide_deliveries{state=\"sent\"}", 1.0),
    ] {
        let found = numbers.iter().find(|(n, _)| n == name);
        assert_eq!(found.map(|(_, v)| *v), Some(value), "{name} in {numbers:?}");
    }
    let (code, _) = served.ask("/nothing");
    assert_eq!(code, 404);
}

/// The lines of the text format that are no comments: a name with its labels, and a number.
fn numbers(text: &str) -> Vec<(String, f64)> {
    let lines = text
        .lines()
        .filter(|l| !l.is_empty() && !l.starts_with('#'));
    let number = |line: &str| {
        let (name, value) = line.rsplit_once(' ').expect("a name and a number");
        (name.to_owned(), value.parse().expect("a number"))
    };
    lines.map(number).collect()
}

#[test]
fn a_load_that_fails_is_tried_again_and_told_and_the_digest_goes_out_with_what_there_is() {
    let workspace = workspace();
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    std::fs::remove_file(workspace.path("counts.csv")).expect("gone");
    let served = Served::start(&workspace, BEFORE, QUICK, Arc::default());
    wait_for("the digest", || ended(&workspace, Job::Digest));
    let run = last(&workspace, Job::Digest).expect("a run");
    assert_eq!(run.outcome, Outcome::Troubled);
    assert!(run.sentence.contains("counts.csv"), "{}", run.sentence);
    let queued = served.noted.queued();
    let [(_, said)] = queued.as_slice() else {
        panic!("{queued:?}");
    };
    assert!(said[0].starts_with("New counts could not be loaded for this digest."));
    wait_for("the note", || !served.noted.notes().is_empty());
    let note = served.noted.notes()[0].1.clone();
    assert!(
        note.starts_with("My patch: ") && note.contains("counts.csv of source"),
        "{note}"
    );
    assert!(
        note.contains("The counts are stale"),
        "three weeks without a visit: {note}"
    );
    assert_eq!(
        served.ask("/health").0,
        200,
        "a digest with less in it is a digest"
    );
    served.end();
}

#[test]
fn a_digest_that_cannot_be_made_is_told_and_the_service_goes_on() {
    let workspace = workspace();
    std::fs::remove_file(workspace.path("counts.csv")).expect("gone");
    let served = Served::start(&workspace, BEFORE, QUICK, Arc::default());
    wait_for("the run", || ended(&workspace, Job::Digest));
    let run = last(&workspace, Job::Digest).expect("a run");
    assert_eq!(run.outcome, Outcome::Failed);
    assert!(
        run.sentence.contains("nothing is loaded yet"),
        "{}",
        run.sentence
    );
    let (code, health) = served.ask("/health");
    assert_eq!(code, 503);
    assert!(health.contains("The digest of 7 September 2026, 05:30 UTC was not done."));
    assert!(served.keeper().1.contains("Needs a look."));
    wait_for("the note", || !served.noted.notes().is_empty());
    assert!(served.noted.queued().is_empty());
    // what was missing comes back
    workspace.write("counts.csv", counts());
    workspace.run(&["load"]).works();
    assert_eq!(served.ask("/metrics").0, 200);
    served.end();
}

#[test]
fn a_stop_in_the_middle_of_a_run_is_taken_up_at_the_next_start() {
    let workspace = workspace();
    std::fs::remove_file(workspace.path("counts.csv")).expect("gone");
    // a load that failed is tried again after a minute of twelve seconds
    let slow = Duration::from_millis(200);
    let served = Served::start(&workspace, "2026-09-07T05:29:59Z", slow, Arc::default());
    let loads = || last(&workspace, Job::Digest).is_some_and(|run| run.step == "load");
    wait_for("the load", loads);
    served.end();
    let run = last(&workspace, Job::Digest).expect("a run");
    assert_eq!((run.outcome, run.attempts), (Outcome::Interrupted, 1));
    workspace.write("counts.csv", counts());
    let served = Served::start(&workspace, "2026-09-07T09:00:00Z", QUICK, Arc::default());
    wait_for("the digest", || !served.noted.queued().is_empty());
    wait_for("its end", || ended(&workspace, Job::Digest));
    let run = last(&workspace, Job::Digest).expect("a run");
    assert_eq!((run.outcome, run.attempts), (Outcome::Done, 2));
    assert_eq!(served.noted.queued()[0].0, "My patch//2026-09-07");
    assert_eq!(served.noted.queued().len(), 1);
    served.end();
}

/// A stop ends sending with whole messages, and what it had begun is recorded.
#[test]
fn a_stop_waits_for_the_message_under_way() {
    let workspace = workspace();
    let noted = Arc::new(Noted::slow());
    let served = Served::start(&workspace, BEFORE, QUICK, noted);
    wait_for("the digest", || !served.noted.queued().is_empty());
    served.end();
    let run = last(&workspace, Job::Digest).expect("a run");
    assert!(
        run.ended.is_some() && run.outcome != Outcome::UnderWay,
        "{run:?}"
    );
}

#[test]
fn a_service_that_was_killed_in_a_run_begins_it_again_under_the_same_key() {
    let workspace = workspace();
    let due = "2026-09-07T05:30:00Z".parse().expect("an instant");
    {
        let mut conn = tables::open(&workspace.path("")).expect("tables");
        let settings = config::load(&workspace.path("")).expect("settings");
        let timetable = notifier::service::schedule::Timetable::of(&settings);
        let before = BEFORE.parse().expect("an instant");
        assert!(
            runs::begin_next(&mut conn, &timetable, before)
                .expect("none")
                .is_none()
        );
        let begun = runs::begin_next(&mut conn, &timetable, due).expect("due");
        assert_eq!(begun.map(|(_, due)| due.job), Some(Job::Digest));
    }
    let later = "2026-09-08T12:00:00Z";
    let served = Served::start(&workspace, later, QUICK, Arc::default());
    wait_for("the digest", || !served.noted.queued().is_empty());
    wait_for("its end", || ended(&workspace, Job::Digest));
    let keys: Vec<String> = served
        .noted
        .queued()
        .into_iter()
        .map(|(key, _)| key)
        .collect();
    assert_eq!(keys, ["My patch//2026-09-07"]);
    let run = last(&workspace, Job::Digest).expect("a run");
    assert_eq!((run.attempts, run.due.scheduled_for), (2, due));
    wait_for("the note", || !served.noted.notes().is_empty());
    assert!(served.noted.notes()[0].1.contains("without being asked to"));
    served.end();
}

/// Days that take a third of a second each.
#[test]
fn the_keeper_is_told_of_a_load_that_fails_day_after_day_once_a_day_at_most() {
    let workspace = workspace();
    std::fs::remove_file(workspace.path("counts.csv")).expect("gone");
    let second = Duration::from_secs_f64(0.4 / 86_400.0);
    let served = Served::start(&workspace, "2026-09-08T00:00:00Z", second, Arc::default());
    wait_for("a third note", || served.noted.notes().len() >= 3);
    let notes = served.noted.notes();
    for pair in notes.windows(2) {
        assert!(pair[1].0 - pair[0].0 >= TimeDelta::days(1), "{notes:?}");
    }
    served.end();
}

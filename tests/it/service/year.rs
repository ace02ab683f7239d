//! A year of the schedule on a clock of our own: every digest that was scheduled began once,
//! whatever the clock and the downtimes did.

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use config::cron_line::CronLine;
use notifier::service::runs::{self, Outcome};
use notifier::service::schedule::{Job, Timetable};
use notifier::service::tables;
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64;
use rusqlite::Connection;
use std::collections::BTreeMap;
use tempfile::TempDir;

/// 2026 has all changes of the clocks of the zones below (IANA time zone database).
const FIRST: &str = "2026-01-01T00:00:00Z";
const LAST: &str = "2027-01-01T00:00:00Z";
const LOAD: &str = "15 4 * * *";

fn at(text: &str) -> DateTime<Utc> {
    text.parse().expect("an instant")
}

/// The service's tables, its times, and what began.
struct Simulated {
    _root: TempDir,
    tables: Connection,
    timetable: Timetable,
    zone: Tz,
    digest: CronLine,
    began: BTreeMap<(&'static str, DateTime<Utc>), u32>,
}

impl Simulated {
    fn new(zone: Tz, digest: &str) -> Self {
        let settings = format!(
            "[workspace]\nname = \"Skerrow Ness\"\n[service]\ntime_zone = \"{zone}\"\n\
             load = \"{LOAD}\"\ndigest = \"{digest}\"\n{SITE}"
        );
        let root = tempfile::tempdir().expect("a folder");
        let none = |_: &std::path::Path| Err(std::io::ErrorKind::NotFound.into());
        let workspace = config::parse(&settings, root.path(), none).expect("settings");
        Simulated {
            tables: tables::open(root.path()).expect("tables"),
            timetable: Timetable::of(&workspace),
            zone,
            digest: digest.parse().expect("a line"),
            began: BTreeMap::new(),
            _root: root,
        }
    }

    /// What the service's loop does at one look at the clock.
    fn look(&mut self, now: DateTime<Utc>) {
        loop {
            let next = runs::begin_next(&mut self.tables, &self.timetable, now);
            let Some((id, due)) = next.expect("tables") else {
                return;
            };
            assert!(due.scheduled_for <= now, "not before its time");
            *self
                .began
                .entry((due.job.name(), due.scheduled_for))
                .or_default() += 1;
            runs::end(&self.tables, id, Outcome::Done, "", now).expect("tables");
        }
    }

    /// Times of the digest after one instant and up to another.
    fn scheduled(&self, after: &str, until: &str) -> Vec<DateTime<Utc>> {
        self.digest.between(at(after), at(until), self.zone)
    }

    /// The digests that began, each once.
    fn digests(&self) -> Vec<DateTime<Utc>> {
        let digests = self
            .began
            .iter()
            .filter(|((job, _), _)| *job == Job::Digest.name());
        let once = digests.map(|((_, when), times)| {
            assert_eq!(*times, 1, "{when}");
            *when
        });
        once.collect()
    }
}

const SITE: &str = r#"[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
[[species]]
scientific = "Calidris minuta"
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
columns = { date = "Date", species = "Species", count = "Number" }
"#;

/// Zones with changes of an hour on both halves of the globe, and one of half an hour; lines in the
/// middle of the hours that a change leaves out or repeats.
const CASES: [(Tz, &str); 6] = [
    (Tz::Europe__London, "30 6 * * mon"),
    (Tz::Europe__London, "30 1 * * *"),
    (Tz::America__Chicago, "30 2 * * *"),
    (Tz::America__Chicago, "30 1 * * sun"),
    (Tz::Australia__Lord_Howe, "15 2 * * *"),
    (Tz::Australia__Lord_Howe, "45 1 * * sun"),
];

/// The loop looks at every due time, at the least every half-minute; here at random moments within
/// three hours, which is harder.
fn run(simulated: &mut Simulated, from: &str, until: &str, random: &mut Pcg64) {
    let (mut now, until) = (at(from), at(until));
    while now <= until {
        simulated.look(now);
        now += TimeDelta::seconds(random.random_range(1..3 * 3600));
    }
    simulated.look(until);
}

#[test]
fn every_digest_of_a_year_goes_out_once_and_a_week_of_downtime_is_made_up_for_once() {
    let mut random = Pcg64::seed_from_u64(20_260_907);
    for (zone, line) in CASES {
        let mut simulated = Simulated::new(zone, line);
        // the week holds the autumn change in Europe
        let (down, up) = ("2026-10-21T11:00:00Z", "2026-10-28T11:00:00Z");
        run(&mut simulated, FIRST, down, &mut random);
        run(&mut simulated, up, LAST, &mut random);
        let missed = simulated.scheduled(down, up);
        let mut expected = simulated.scheduled(FIRST, down);
        expected.extend(missed.last());
        expected.extend(simulated.scheduled(up, LAST));
        assert!(!missed.is_empty() && expected.len() > 50);
        assert_eq!(simulated.digests(), expected, "{zone} {line}");
        let made_up = runs::last(&simulated.tables, 1000).expect("runs");
        let made_up = made_up
            .iter()
            .find(|r| Some(&r.due.scheduled_for) == missed.last());
        let first = made_up.and_then(|r| r.due.first_missed);
        assert_eq!(first, missed.first().copied().filter(|_| missed.len() > 1));
    }
}

#[test]
fn a_clock_set_back_an_hour_sends_nothing_twice_and_one_set_forward_sends_once() {
    let mut random = Pcg64::seed_from_u64(3);
    for (zone, line) in CASES {
        let mut simulated = Simulated::new(zone, line);
        let (mut real, until) = (at(FIRST), at(LAST));
        while real < until {
            // a clock that is an hour slow, right, or an hour fast, from one look to the next
            let wrong = TimeDelta::hours(random.random_range(-1..=1));
            simulated.look(real + wrong);
            real += TimeDelta::seconds(random.random_range(1..3 * 3600));
        }
        simulated.look(until);
        let digests = simulated.digests();
        let expected = simulated.scheduled(FIRST, LAST);
        assert_eq!(digests, expected, "{zone} {line}");
    }
}

#[test]
fn a_clock_that_ran_years_ahead_does_not_silence_the_service() {
    let mut simulated = Simulated::new(Tz::Europe__London, "30 6 * * mon");
    simulated.look(at("2026-09-01T12:00:00Z"));
    simulated.look(at("2031-09-01T12:00:00Z"));
    simulated.look(at("2026-09-02T12:00:00Z"));
    simulated.look(at("2026-09-07T05:30:00Z"));
    let digests = simulated.digests();
    assert!(digests.contains(&at("2026-09-07T05:30:00Z")), "{digests:?}");
}

#[test]
fn nothing_before_the_first_start_is_made_up_for() {
    let mut simulated = Simulated::new(Tz::Europe__London, "30 6 * * mon");
    simulated.look(at("2026-09-07T05:30:01Z"));
    assert!(simulated.digests().is_empty());
    simulated.look(at("2026-09-14T05:29:59Z"));
    assert!(simulated.digests().is_empty());
    simulated.look(at("2026-09-14T05:30:00Z"));
    assert_eq!(simulated.digests(), [at("2026-09-14T05:30:00Z")]);
}

#[test]
fn a_run_that_was_broken_into_is_begun_again_but_not_for_ever() {
    let mut simulated = Simulated::new(Tz::Europe__London, "30 6 * * mon");
    simulated.look(at("2026-09-06T12:00:00Z"));
    let mut began = Vec::new();
    for minute in 30..40 {
        let now = at(&format!("2026-09-07T05:{minute}:00Z"));
        // each time the service dies in the middle of it
        runs::interrupt_those_under_way(&simulated.tables, now).expect("tables");
        let next = runs::begin_next(&mut simulated.tables, &simulated.timetable, now);
        began.extend(next.expect("tables").map(|(_, due)| due.job));
    }
    let digests = began.iter().filter(|job| **job == Job::Digest).count();
    assert_eq!(digests, 3);
}

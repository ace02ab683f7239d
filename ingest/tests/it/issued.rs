//! Forecasts as they were issued.

use crate::workspace::built;
use chrono::{DateTime, NaiveDate, TimeZone, Utc};
use ingest::store::{IssuedChance, IssuedFrom};

const COUNTS: &str = "Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n";

fn date(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

fn noon(day: u32) -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 9, day, 12, 0, 0).unwrap()
}

fn from(inputs: &str, last_visit: Option<&str>, issued_at: DateTime<Utc>) -> IssuedFrom {
    IssuedFrom {
        site: "long-bank".to_owned(),
        inputs: inputs.to_owned(),
        last_visit: last_visit.map(date),
        issued_at,
    }
}

fn chance(monday: &str, chance_week: f64) -> IssuedChance {
    IssuedChance {
        species: "Calidris alpina".to_owned(),
        monday: date(monday),
        visits_assumed: 3,
        chance_visit: 0.4,
        chance_week,
        by_visits: vec![0.4, 0.6, chance_week],
    }
}

#[test]
fn of_each_week_the_last_forecast_made_beforehand_counts() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    let mut store = built.store();
    let mut keep = |from: IssuedFrom, monday, p| {
        store.keep_issued(&from, &[chance(monday, p)]).unwrap();
    };
    keep(from("none", None, noon(1)), "2026-09-07", 0.5);
    keep(from("a", Some("2026-09-02"), noon(3)), "2026-09-07", 0.6);
    // in the same second, and again from the same counts
    keep(from("b", Some("2026-09-06"), noon(3)), "2026-09-07", 0.7);
    keep(from("b", Some("2026-09-06"), noon(6)), "2026-09-07", 0.75);
    // the week's first visit was known
    keep(from("c", Some("2026-09-07"), noon(7)), "2026-09-07", 0.8);
    keep(from("d", Some("2026-09-20"), noon(21)), "2026-09-14", 0.9);
    keep(from("e", Some("2026-09-20"), noon(21)), "2026-09-21", 0.3);
    assert_eq!(
        store.issued_beforehand("long-bank").unwrap(),
        [chance("2026-09-07", 0.7), chance("2026-09-21", 0.3)]
    );
    assert_eq!(store.issued_beforehand("tern-lagoon").unwrap(), []);
}

#[test]
fn what_older_versions_kept_is_never_scored() {
    let built = built().counts(COUNTS);
    built.load().unwrap();
    let store = built.store();
    let ledger = rusqlite::Connection::open(store.ledger_path()).unwrap();
    ledger
        .execute(
            "INSERT INTO issued (site, species, monday, inputs, issued_at, visits_assumed, \
             chance_visit, chance_week) VALUES ('long-bank', 'Calidris alpina', '2026-09-07', \
             'a', '2026-09-01T12:00:00Z', 3, 0.4, 0.7)",
            [],
        )
        .unwrap();
    assert_eq!(store.issued_beforehand("long-bank").unwrap(), []);
}

//! Clocks that step while a digest goes out: nothing is sent twice, nothing is left for days.

use super::scene::{Scene, Weather};
use crate::program::{Place, Program};
use chrono::{DateTime, TimeDelta, Utc};
use notifier::deliveries::{Hands, SendReport, send_due};
use std::sync::atomic::{AtomicI64, Ordering};

pub fn run(program: &Program, place: &Place, scene: &mut Scene) {
    let date = scene.next(Weather::Rough);
    // the mail server is away, so that all is queued and all waits
    scene.server.greets(Some("421 4.3.2 closing"));
    program.run(place, &["digest", "--send", "--date", &date]);
    scene.server.greets(None);
    let now = Utc::now();
    // a year ahead, then back to yesterday, then on by an hour at every look
    let first = send(place, move |looks| {
        now + TimeDelta::days(365) + TimeDelta::seconds(looks)
    });
    assert!(first.counts.sent > 0, "{first:?}");
    for _ in 0..4 {
        let yesterday = now - TimeDelta::days(1);
        send(place, move |looks| yesterday - TimeDelta::hours(looks));
        send(place, move |looks| now + TimeDelta::hours(looks));
    }
    let found = scene.hold(program, place);
    assert_eq!(found.twice, 0, "{found:?}");
    println!("deliveries: clocks that step by hours, a day and a year: none twice, none left");
}

/// Sends what is due by a clock that tells the time by how often it was looked at.
fn send(place: &Place, clock: impl Fn(i64) -> DateTime<Utc> + Send + Sync + 'static) -> SendReport {
    let workspace = config::load(&place.workspace()).expect("settings");
    let looks = AtomicI64::new(0);
    let hands = Hands::with_clock(move || clock(looks.fetch_add(1, Ordering::Relaxed)));
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    let sent = runtime
        .expect("a runtime")
        .block_on(send_due(&workspace, &hands));
    sent.expect("what is due is sent")
}

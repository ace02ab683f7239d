//! Local dates, coordinates and daily temperatures.

use crate::workspace::*;
use config::meaning::Night;
use config::settings::*;

fn visit_dates(built: &Built, site: &str) -> Vec<String> {
    let history = built.store().history(&built.workspace, site).unwrap();
    history.visits.iter().map(|v| v.date.to_string()).collect()
}

/// London is on UTC+1 in summer; New York on UTC-4.
#[test]
fn moments_in_another_zone_fall_on_the_sites_own_date() {
    let mut built = built().counts(
        "Date,Place,Species,Number\n2025-05-01T23:30:00Z,Long Bank,Dunlin,3\n\
         2025-05-01T23:30:00Z,Tern Lagoon,Dunlin,3\n2025-01-01T23:30:00Z,Long Bank,Dunlin,3\n\
         2025-05-04T23:30,Long Bank,Dunlin,3\n2026-03-02T23:59-04:00,Long Bank,Dunlin,3\n",
    );
    built.workspace.sites[1].time_zone = chrono_tz::America::New_York;
    let report = built.load().unwrap();
    let dates = ["2025-01-01", "2025-05-02", "2025-05-04"];
    assert_eq!(visit_dates(&built, "long-bank"), dates);
    assert_eq!(visit_dates(&built, "tern-lagoon"), ["2025-05-01"]);
    let source = report.source("counts").unwrap();
    assert_eq!(source.refused[0].reason, "in the future");
    let moved = "Rows whose time of day puts them on another local date, or on that of their night, \
                 than the one written: 1.";
    assert!(
        source
            .notes
            .iter()
            .any(|n| n.text == moved && n.line == Some(2))
    );
    // The same file at a site elsewhere is another matter.
    built.workspace.sites[1].time_zone = chrono_tz::Europe::London;
    assert!(!built.load().unwrap().unchanged);
    assert_eq!(visit_dates(&built, "tern-lagoon"), ["2025-05-02"]);
}

#[test]
fn a_night_is_one_visit() {
    let mut built = built().counts(
        "Date,Place,Species,Number\n2025-05-01 22:30,Long Bank,Dunlin,3\n\
         2025-05-02 01:30,Long Bank,Dunlin,4\n",
    );
    for (night, expected) in [
        (Night::Evening, "2025-05-01"),
        (Night::Morning, "2025-05-02"),
    ] {
        built.workspace.sources[0].meaning.night = Some(night);
        built.load().unwrap();
        assert_eq!(visit_dates(&built, "long-bank"), [expected]);
    }
}

#[test]
fn rows_belong_to_the_nearest_site_if_it_is_near() {
    let mut built = built();
    built.write(
        "counts.csv",
        "Date,Lat,Long,Species,Number\n2025-05-01,54.632,-0.411,Dunlin,3\n\
         2025-05-01,\"54,7\", -0.41,Dunlin,4\n2025-05-01,54.66,-0.41,Dunlin,5\n\
         2025-05-01,,-0.41,Dunlin,5\n2025-05-01,54.63 N,-0.41,Dunlin,5\n",
    );
    let columns = CountColumns {
        site: None,
        ..count_columns()
    };
    built.workspace.sites[1].latitude = 54.7;
    let source = built.source("counts", SourceKind::Counts(columns));
    source.meaning.columns.coordinates = Some(("Lat".into(), "Long".into()));
    let report = built.load().unwrap();
    let refused: Vec<String> = report
        .source("counts")
        .unwrap()
        .refused
        .iter()
        .map(|r| r.to_string())
        .collect();
    // 0.03 degrees of latitude are 3.3 km (a minute is 1.855 km at this latitude on WGS 84).
    let expected = [
        "line 4, Lat \"54.66\": 3.3 km from the nearest site, \"long-bank\"; at most 1 km are \
         allowed (within_km)",
        "line 5, Lat \"\": empty latitude or longitude",
        "line 6, Lat \"54.63 N\": not degrees; write latitude (-90 to 90) and longitude (-180 to \
         180) as 54.63 and -0.41",
    ];
    assert_eq!(refused, expected);
    assert_eq!(visit_dates(&built, "tern-lagoon"), ["2025-05-01"]);
    built.workspace.sources[0].meaning.within_km = 4.0;
    assert_eq!(built.load().unwrap().refused(), 2);
}

fn temperature(text: &str, columns: TemperatureColumns) -> (Built, Vec<String>) {
    let mut built = built().counts("Date,Place,Species,Number\n2025-05-01,Long Bank,Dunlin,3\n");
    built.write("air.csv", text);
    built.source("air", SourceKind::Temperature(columns));
    let report = built.load().unwrap();
    let told = report.source("air").unwrap();
    let notes = told.notes.iter().map(|n| n.text.clone());
    let refused = told.refused.iter().map(|r| r.to_string());
    let said = notes.chain(refused).collect();
    (built, said)
}

#[test]
fn minima_and_maxima_in_fahrenheit() {
    let columns = TemperatureColumns {
        date: "day".into(),
        site: None,
        mean: None,
        extremes: Some(("low".into(), "high".into())),
        unit: TemperatureUnit::Fahrenheit,
    };
    let text = "day,low,high\n2025-05-01,32,50\n2025-05-02,50,41\n2025-05-03,41,59\n";
    let (built, said) = temperature(text, columns);
    let expected = [
        "Days without a temperature in gaps of 3 or fewer, filled on a straight line: 1.",
        "line 3, high \"41\": a maximum below the day's minimum",
    ];
    assert_eq!(said, expected);
    let days = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap()
        .temperature;
    let days: Vec<_> = days
        .iter()
        .map(|d| {
            let (min, max) = d.extremes_c.unwrap();
            let round = |n: f64| (n * 100.0).round() / 100.0;
            (round(d.mean_c), round(min), round(max), d.filled)
        })
        .collect();
    let expected = [
        (5.0, 0.0, 10.0, false),
        (7.5, 2.5, 12.5, true),
        (10.0, 5.0, 15.0, false),
    ];
    assert_eq!(days, expected);
}

#[test]
fn short_gaps_are_filled_and_long_ones_stay() {
    let columns = TemperatureColumns {
        date: "day".into(),
        site: None,
        mean: Some("mean".into()),
        extremes: None,
        unit: TemperatureUnit::Celsius,
    };
    let text = "day,mean\n2025-05-01,4\n2025-05-05,8\n2025-05-10,1\n";
    let (mut built, said) = temperature(text, columns.clone());
    assert_eq!(
        said,
        [
            "Days without a temperature in gaps of 3 or fewer, filled on a straight line: 3. Longer \
          gaps, which stay open: 1 (first: 4 days after 2025-05-05)."
        ]
    );
    let means = |built: &Built| -> Vec<f64> {
        let series = built.store().temperature("long-bank").unwrap();
        series.into_iter().map(|(_, mean)| mean).collect()
    };
    assert_eq!(means(&built), [4.0, 5.0, 6.0, 7.0, 8.0, 1.0]);
    // What was measured for all sites goes before what was filled in for this one.
    built.write("everywhere.csv", "day,mean\n2025-05-03,9\n2025-05-05,0\n");
    built.source("everywhere", SourceKind::Temperature(columns));
    built.workspace.sources[1].site = Some("long-bank".into());
    built.load().unwrap();
    assert_eq!(means(&built), [4.0, 5.0, 9.0, 7.0, 8.0, 1.0]);
}

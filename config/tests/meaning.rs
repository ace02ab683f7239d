//! Settings of what rows mean: read as written, and each wrong one told in one sentence.

use config::meaning::{KeepObservers, Night, ObserverRule, OverlapRule, Purpose, WITHIN_KM, Words};
use config::settings::{SourceKind, TemperatureUnit, Workspace};
use std::io;
use std::path::Path;

const BASE: &str = r#"[workspace]
name = "Skerrow Ness"
keep_observers = "initials"
use_targeted = true
[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
[[species]]
scientific = "Calidris minuta"
names = { en = "Little Stint" }
[[species.synonyms]]
name = "Tringa minuta"
until = "1950-12-31"
[[species]]
scientific = "Calidris alpina"
names = { en = "Dunlin" }
synonyms = [{ name = "Tringa minuta", since = "1951-01-01", until = "1960-12-31" }]
[[undecided]]
name = "small wader"
between = ["Little Stint", "Calidris alpina"]
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
date_order = "year-month-day"
purpose = "targeted"
observers = "largest"
within_km = 2
night = "evening"
columns = { date = "Date", latitude = "Lat", longitude = "Long", species = "Species", observer = "Who", purpose = "Why", age = "Age" }
[source.words]
targeted = ["twitch"]
[[source]]
id = "air"
kind = "temperature"
file = "air.csv"
date_order = "year-month-day"
unit = "F"
columns = { date = "Date", min = "Low", max = "High" }
[overlap]
rule = "first"
"#;

fn parse(text: &str) -> Result<Workspace, config::ConfigError> {
    config::parse(text, Path::new("/reserve"), |_: &Path| {
        Err(io::ErrorKind::NotFound.into())
    })
}

#[test]
fn what_is_written_is_read() {
    let workspace = parse(BASE).unwrap_or_else(|e| panic!("{e}"));
    let rules = &workspace.records;
    assert_eq!(
        (rules.keep_observers, rules.use_targeted),
        (KeepObservers::Initials, true)
    );
    assert_eq!(rules.overlap, OverlapRule::First);
    let unsaid = parse(&BASE.replace("[overlap]\nrule = \"first\"\n", "")).unwrap();
    assert_eq!(unsaid.records.overlap, OverlapRule::Largest);
    assert_eq!(
        rules.undecided[0].between,
        ["Calidris minuta", "Calidris alpina"]
    );
    let synonym = &workspace.species[0].synonyms[0];
    let on = |date: &str| synonym.holds_on(date.parse().unwrap());
    assert_eq!((on("1950-12-31"), on("1951-01-01")), (true, false));
    let meaning = &workspace.sources[0].meaning;
    assert_eq!(meaning.purpose, Some(Purpose::Targeted));
    assert_eq!(meaning.observers, Some(ObserverRule::Largest));
    assert_eq!(
        (meaning.within_km, meaning.night),
        (2.0, Some(Night::Evening))
    );
    assert_eq!(meaning.words.targeted, ["twitch"]);
    assert_eq!(meaning.words.yes, Words::default().yes);
    let columns = &meaning.columns;
    assert_eq!(columns.coordinates, Some(("Lat".into(), "Long".into())));
    assert_eq!(
        (columns.purpose.as_deref(), columns.sex.as_deref()),
        (Some("Why"), None)
    );
    let SourceKind::Temperature(air) = &workspace.sources[1].kind else {
        panic!("temperature");
    };
    assert_eq!((air.unit, &air.mean), (TemperatureUnit::Fahrenheit, &None));
    assert_eq!(workspace.sources[1].meaning.within_km, WITHIN_KM);
}

/// What stands in BASE, what a person wrote instead, and what they read.
const WRONG: &[(&str, &str, &str)] = &[
    (
        r#"keep_observers = "initials""#,
        r#"keep_observers = "initial""#,
        r#"wingtide.toml line 3: unknown keep_observers "initial" in [workspace]; expected none, initials or names; did you mean "initials"?"#,
    ),
    (
        "until = \"1950-12-31\"\n",
        "",
        "wingtide.toml line 15: [[species.synonyms]] has neither since nor until; expected one of them, or the name in `also`",
    ),
    (
        r#"until = "1950-12-31""#,
        r#"until = "31.12.1950""#,
        r#"wingtide.toml line 17: until in [[species.synonyms]] is "31.12.1950"; expected a date such as "2014-12-31""#,
    ),
    (
        r#"until = "1950-12-31""#,
        r#"until = "1955-12-31""#,
        r#"wingtide.toml: the synonym "Tringa minuta" means both Calidris minuta and Calidris alpina on some dates; expected dates that do not overlap"#,
    ),
    (
        r#"between = ["Little Stint", "Calidris alpina"]"#,
        r#"between = ["Litle Stint", "Calidris alpina"]"#,
        r#"wingtide.toml line 24, column 12: between in [[undecided]] names "Litle Stint", which is no [[species]]; did you mean "Little Stint"?"#,
    ),
    (
        r#"between = ["Little Stint", "Calidris alpina"]"#,
        r#"between = ["Little Stint"]"#,
        "wingtide.toml line 24: between in [[undecided]] names fewer than two species",
    ),
    (
        r#"name = "small wader""#,
        r#"name = "dunlin""#,
        r#"wingtide.toml line 23: name "dunlin" in [[undecided]] is a name of Calidris alpina already"#,
    ),
    (
        r#"observer = "Who", "#,
        "",
        "wingtide.toml line 31: observers in [[source]] needs observer in its columns; name that column, or leave observers out",
    ),
    (
        "within_km = 2",
        "within_km = 0",
        "wingtide.toml line 32: within_km in [[source]] is 0; expected the greatest distance of a row from its site, km, a number above 0",
    ),
    (
        r#"latitude = "Lat", longitude = "Long""#,
        r#"latitude = "Lat""#,
        "wingtide.toml line 34: columns of [[source]] have one of latitude and longitude; expected both",
    ),
    (
        r#"latitude = "Lat","#,
        r#"latitude = "Lat", site = "Place","#,
        "wingtide.toml line 34: columns of [[source]] have both site and latitude; expected the one that says where a row is from",
    ),
    (
        r#"targeted = ["twitch"]"#,
        r#"targeted = ["Survey"]"#,
        r#"wingtide.toml line 35: "survey" stands for both standard and targeted in [source.words]; expected one of them"#,
    ),
    (
        r#"min = "Low", max = "High""#,
        r#"min = "Low""#,
        "wingtide.toml line 43: columns of [[source]] have one of min and max; expected both",
    ),
    (
        r#"min = "Low", max = "High""#,
        r#"mean_c = "Mean""#,
        "wingtide.toml line 43, column 28: mean_c in columns of [[source]] is in degrees Celsius, and mean or unit says otherwise; expected mean alone",
    ),
    (
        r#", min = "Low", max = "High""#,
        "",
        "wingtide.toml line 43: mean_c is missing in columns of [[source]]; expected the name of the column of daily means in degrees Celsius, or mean, or min and max",
    ),
    (
        r#"unit = "F""#,
        r#"night = "evening""#,
        "wingtide.toml line 42: night in [[source]] belongs to counts and visits alone; leave it out here",
    ),
    (
        r#"rule = "first""#,
        r#"rule = "larger""#,
        r#"wingtide.toml line 45: unknown rule "larger" in [overlap]; expected largest, first or add; did you mean "largest"?"#,
    ),
    (
        r#"rule = "first""#,
        "",
        "wingtide.toml line 44: rule is missing in [overlap]; expected largest, first or add",
    ),
];

#[test]
fn every_wrong_setting_is_told_in_one_sentence() {
    let mut wrong = Vec::new();
    for (right, written, expected) in WRONG {
        assert!(BASE.contains(right), "{right:?} does not stand in the base");
        let said = match parse(&BASE.replacen(right, written, 1)) {
            Ok(_) => "nothing".to_owned(),
            Err(e) => e.to_string(),
        };
        if said != *expected {
            wrong.push(format!(
                "{written}\n  said:     {said}\n  expected: {expected}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

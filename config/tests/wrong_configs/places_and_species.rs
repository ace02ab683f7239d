//! Wrong sites and species.

use super::Wrong;

pub const WRONG: &[Wrong] = &[
    (
        "latitude = 54.63",
        "latitute = 54.63",
        r#"wingtide.toml line 8: unknown key "latitute" in [[site]]; did you mean "latitude"?"#,
    ),
    (
        "latitude = 54.63",
        "latitude = 95",
        "wingtide.toml line 8: latitude in [[site]] is 95; expected degrees north from -90 to 90, such as 54.63",
    ),
    (
        "latitude = 54.63",
        r#"latitude = "54.63 N""#,
        r#"wingtide.toml line 8: latitude in [[site]] is the text "54.63 N"; expected degrees north from -90 to 90, such as 54.63"#,
    ),
    (
        "longitude = -0.41",
        "longitude = -200.5",
        "wingtide.toml line 9: longitude in [[site]] is -200.5; expected degrees east from -180 to 180, such as -0.41",
    ),
    (
        r#"time_zone = "Europe/London""#,
        r#"time_zone = "Europe/Lodnon""#,
        r#"wingtide.toml line 10: unknown time_zone "Europe/Lodnon" in [[site]]; expected an IANA time zone such as "Europe/London"; did you mean "Europe/London"?"#,
    ),
    (
        r#"region = "western-palearctic""#,
        r#"region = "western-paleartic""#,
        r#"wingtide.toml line 11: unknown region "western-paleartic" in [[site]]; expected western-palearctic, nearctic, neotropics, afrotropics, south-asia, east-asia or australasia; did you mean "western-palearctic"?"#,
    ),
    (
        r#"id = "long-bank""#,
        r#"id = "long bank""#,
        r#"wingtide.toml line 6: id in [[site]] is "long bank"; expected a short name of letters, digits, - and _, such as "long-bank"
wingtide.toml line 33, column 23: unknown site "long-bank" in site_names of [[source]]; expected the id of a [[site]]
wingtide.toml line 50, column 10: unknown site "long-bank" in sites of [digest]; expected the id of a [[site]]"#,
    ),
    (
        r#"id = "tern-lagoon""#,
        r#"id = "long-bank""#,
        r#"wingtide.toml line 15: id "long-bank" of [[site]] is taken in line 6"#,
    ),
    (
        r#"id = "tern-lagoon""#,
        r#"id = "keeper""#,
        r#"wingtide.toml line 15: id "keeper" of [[site]] is the address of another page of the service; choose another id"#,
    ),
    (
        "standard_effort = 60",
        "standard_effort = 0",
        "wingtide.toml line 12: standard_effort in [[site]] is 0; expected the effort of a standard visit, a number above 0",
    ),
    (
        "standard_effort = 60",
        r#"gaps = ["2011-2"]"#,
        r#"wingtide.toml line 12, column 9: "2011-2" among gaps of [[site]] is no half-year; expected one such as "2011-H1" (January to June) or "2011-H2" (July to December)"#,
    ),
    (
        "standard_effort = 60",
        "visited = [2011]",
        r#"wingtide.toml line 12, column 12: visited in [[site]] is the number 2011; expected half-years visited though nothing was recorded, such as ["2011-H1"] for January to June 2011"#,
    ),
    (
        "standard_effort = 60",
        r#"gaps = ["2011-H2", "2011-H2"]"#,
        r#"wingtide.toml line 12, column 20: "2011-H2" stands twice in gaps of [[site]]"#,
    ),
    (
        "standard_effort = 60\n",
        "visited = [\"2010-H1\", \"2011-H2\"]\ngaps = [\"2011-H2\"]\n",
        r#"wingtide.toml line 12, column 23: "2011-H2" stands in both gaps and visited of [[site]]; a half-year is either a gap or was visited"#,
    ),
    (
        r#"["01-20", "06-20"]"#,
        r#"["01-20", "02-30"]"#,
        r#"wingtide.toml line 13, column 40: "02-30" among the cuts of [[site]] is no date; expected month and day of a common year such as "06-20""#,
    ),
    (
        r#"["01-20", "06-20"]"#,
        r#"["01-20", "01-20"]"#,
        r#"wingtide.toml line 13, column 40: "01-20" stands twice among the cuts of one species in [[site]]"#,
    ),
    (
        r#"{ "Calidris alpina" = ["#,
        r#"{ "Calidris alpinus" = ["#,
        r#"wingtide.toml line 13, column 10: cuts in [[site]] are for "Calidris alpinus"; expected the scientific name of a [[species]]; did you mean "Calidris alpina"?"#,
    ),
    (
        r#"scientific = "Calidris minuta""#,
        r#"scientific = "calidris Minuta""#,
        r#"wingtide.toml line 22: scientific in [[species]] is "calidris Minuta"; expected genus and epithet such as "Calidris minuta"; write "Calidris minuta""#,
    ),
    (
        r#"scientific = "Calidris minuta""#,
        r#"scientific = "Little Stint x""#,
        r#"wingtide.toml line 22: scientific in [[species]] is "Little Stint x"; expected genus and epithet such as "Calidris minuta""#,
    ),
    (
        r#"en = "Dunlin""#,
        r#"en = "lit  stint""#,
        r#"wingtide.toml line 27, column 16: the name "lit  stint" of Calidris alpina is already a name of Calidris minuta in line 22"#,
    ),
    (
        r#"scientific = "Calidris alpina""#,
        r#"scientific = "Calidris minuta""#,
        r#"wingtide.toml line 13, column 10: cuts in [[site]] are for "Calidris alpina"; expected the scientific name of a [[species]]; did you mean "Calidris minuta"?
wingtide.toml line 26: Calidris minuta is a [[species]] already in line 22"#,
    ),
    (
        r#"en = "Dunlin""#,
        r#"English = "Dunlin""#,
        r#"wingtide.toml line 27, column 11: language "English" in names of [[species]]; expected a tag such as "en" or "de""#,
    ),
];

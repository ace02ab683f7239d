//! Wrong look-alikes, digests and the workspace itself, and what is no TOML.

use super::Wrong;

pub const WRONG: &[Wrong] = &[
    (
        r#""pale-terns"]"#,
        r#""pale-turns"]"#,
        r#"wingtide.toml line 44, column 28: unknown look-alike set "pale-turns" in use of [look_alikes]; expected the id of a shipped set, which "wingtide set" lists, or of one of your own; did you mean "pale-terns"?"#,
    ),
    (
        r#""pale-terns"]"#,
        r#""small-sandpipers"]"#,
        r#"wingtide.toml line 44, column 28: look-alike set "small-sandpipers" stands twice in use of [look_alikes]"#,
    ),
    (
        r#"["Oenanthe oenanthe", "Plectrophenax nivalis"]"#,
        r#"["Oenanthe oenanthe", "snow bunting 3"]"#,
        r#"wingtide.toml line 48, column 33: members in [[look_alikes.set]] is "snow bunting 3"; expected genus and epithet such as "Calidris minuta""#,
    ),
    (
        r#"["Oenanthe oenanthe", "Plectrophenax nivalis"]"#,
        r#"["Oenanthe oenanthe"]"#,
        "wingtide.toml line 48: members of [[look_alikes.set]] are too few; expected a list of two scientific names or more",
    ),
    (
        r#"id = "dunes"
title = "Dunes"
members = ["Oenanthe oenanthe", "Plectrophenax nivalis"]"#,
        r#"file = "my-set.toml""#,
        r#"wingtide.toml line 46: file "my-set.toml" of [[look_alikes.set]] is not there"#,
    ),
    (
        "visits_assumed = 3",
        "visits_assumed = 0",
        "wingtide.toml line 4: visits_assumed in [workspace] is 0; expected a whole number of visits a week from 1 to 50",
    ),
    (
        "visits_assumed = 3",
        "visits_assumed = 2.5",
        "wingtide.toml line 4: visits_assumed in [workspace] is the number 2.5; expected a whole number of visits a week from 1 to 50",
    ),
    (
        r#"language = "en""#,
        r#"language = "English""#,
        r#"wingtide.toml line 3: language in [workspace] is "English"; expected a language tag such as "en" or "de""#,
    ),
    (
        r#"name = "Skerrow Ness"
"#,
        "",
        "wingtide.toml line 1: name is missing in [workspace]; expected the name of the whole, shown on the digest",
    ),
    (
        "[workspace]\n",
        "[workspaces]\n",
        r#"wingtide.toml line 1, column 2: unknown key "workspaces" in the file; did you mean "workspace"?"#,
    ),
    (
        r#"sites = ["long-bank"]"#,
        r#"sites = ["long-bonk"]"#,
        r#"wingtide.toml line 50, column 10: unknown site "long-bonk" in sites of [digest]; expected the id of a [[site]]; did you mean "long-bank"?"#,
    ),
    (
        r#"from = "Wingtide <counts@skerrow.example>""#,
        r#"from = "Wingtide""#,
        r#"wingtide.toml line 51: from in [digest] is "Wingtide"; expected one mail address such as "Wingtide <counts@example.org>""#,
    ),
    (
        r#"from = "Wingtide <counts@skerrow.example>""#,
        r#"title = """Two
lines""""#,
        "wingtide.toml line 51: title in [digest] is not on one line; expected the digest's title",
    ),
    (
        "stale_after_days = 21",
        "stale_after_days = 4000",
        "wingtide.toml line 52: stale_after_days in [digest] is 4000; expected a whole number of days from 1 to 3660",
    ),
    (
        "[digest]",
        "[backtest]\nmondays = [\"04-01..05-31\", \"04-31..05-31\"]\n[digest]",
        r#"wingtide.toml line 50, column 28: mondays in [backtest] is "04-31..05-31"; expected a list of stretches of the year, such as ["03-01..06-05", "08-15..11-30"]"#,
    ),
    (
        "[digest]",
        "[backtest]\nmondays = []\n[digest]",
        r#"wingtide.toml line 50: mondays in [backtest] is empty; expected a list of stretches of the year, such as ["03-01..06-05", "08-15..11-30"]"#,
    ),
    (
        r#"name = "Long Bank""#,
        r#"name = "Long Bank"#,
        r#"wingtide.toml line 7, column 18: this is not TOML: invalid basic string, expected `"`"#,
    ),
    (
        r#"name = "Long Bank""#,
        r#"name = "Long Bank"
name = "Bank""#,
        "wingtide.toml line 8, column 1: name stands already above; expected it once",
    ),
    (
        r#"[[site]]
id = "long-bank""#,
        r#"[site]
id = "long-bank""#,
        "wingtide.toml line 14, column 3: site stands already above; expected it once",
    ),
];

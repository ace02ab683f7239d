//! Counts that end before the day asked about: nothing is told of what nobody looked at, least of all
//! that birds are missing.

use super::{ABSENT, Told, paragraph, told};
use harness::night_migrants;
use harness::places;
use harness::program::Workspace;
use serde_json::Value;
use std::sync::LazyLock;

/// The last day of the counts, and a day six weeks on.
const LAST: &str = "2011-09-20";
const LATER: &str = "2011-11-01";

/// What is told of counts that end on the last day.
struct Cut {
    /// Site by site: as known on the last day, six weeks on, and of the season looked back on.
    sites: Vec<[Told; 3]>,
    digest: String,
}

/// Both tables up to the last day: both begin their rows with the date.
static CUT: LazyLock<Option<Cut>> = LazyLock::new(|| {
    let workspace = night_migrants::workspace()?;
    for table in ["records.csv", "visits.csv"] {
        let whole = std::fs::read_to_string(workspace.path(table)).expect("the table");
        let kept = whole.lines().enumerate();
        let kept = kept.filter(|(i, line)| *i == 0 || &line[..LAST.len()] <= LAST);
        let kept: Vec<&str> = kept.map(|(_, line)| line).collect();
        workspace.write(table, kept.join("\n") + "\n");
    }
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let of_site = |site| {
        [
            [site, "--date", LAST],
            [site, "--date", LATER],
            [site, "--season", "2011-autumn"],
        ]
        .map(|asked| told(&workspace, &asked))
    };
    Some(Cut {
        sites: ["MP", "CHI"].into_iter().map(of_site).collect(),
        digest: digest(&workspace),
    })
});

fn digest(workspace: &Workspace) -> String {
    let out = workspace.path("digest");
    let out = out.to_str().expect("a plain path");
    workspace
        .run(&["digest", "--date", LATER, "--out", out])
        .works();
    std::fs::read_to_string(workspace.path("digest/digest.txt")).expect("the digest")
}

fn cut() -> Option<&'static Cut> {
    if CUT.is_none() {
        places::skipped(ABSENT);
    }
    CUT.as_ref()
}

fn passages(told: &Told) -> &Vec<Value> {
    told.json["passages"].as_array().expect("passages")
}

/// The same passage in another report.
fn same<'t>(told: &'t Told, p: &Value) -> Option<&'t Value> {
    let is = |t: &&Value| t["species"] == p["species"] && t["passage"] == p["passage"];
    passages(told).iter().find(is)
}

fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn six_weeks_without_a_visit_tell_what_was_known_after_the_last_one() {
    let Some(cut) = cut() else { return };
    let (mut compared, mut missed) = (0, 0);
    for [then, later, _] in &cut.sites {
        let text = flowing(&later.text);
        for said in [
            "Counts go to 20 September 2011; nobody looked in the 42 days since, and nothing is told of \
             them",
            "in other seasons 9 of 10 pauses between visits are of 7 days at most",
        ] {
            assert!(text.contains(said), "{text}");
        }
        assert!(
            !flowing(&then.text).contains("nobody looked"),
            "{}",
            then.text
        );
        for p in passages(later) {
            assert!(p["unknown_days"].as_i64() > Some(7), "{p}");
            assert!(p["counts_until"].as_str() <= Some(LAST), "{p}");
            missed += usize::from(p["untold"] == "not-looked");
            let Some(before) = same(then, p) else {
                continue;
            };
            for key in [
                "visits",
                "birds",
                "usual_birds",
                "usual_share",
                "share",
                "days_late",
            ] {
                let untold = p["untold"] == "not-looked";
                assert!(p[key] == before[key] || untold, "{key}: {p} {before}");
            }
            assert_eq!(p["first"], before["first"], "{p}");
            compared += 1;
        }
        assert!(paragraph::sentences_of(later) > 0);
        assert!(!later.page.contains(">over<"), "{}", later.page);
    }
    assert!(compared >= 5 && missed >= 1, "{compared} {missed}");
}

#[test]
fn a_season_looked_back_on_ends_with_its_visits() {
    let Some(cut) = cut() else { return };
    for [then, _, told] in &cut.sites {
        let text = flowing(&told.text);
        let said = "Counts go to 20 September 2011; nobody looked in the ";
        let (_, days) = text.split_once(said).unwrap_or_else(|| panic!("{text}"));
        let left = " days that were left of the season, and nothing is told of them";
        let (days, _) = days.split_once(left).unwrap_or_else(|| panic!("{text}"));
        // not to the day of asking, years later
        let days: i64 = days.parse().expect("a number");
        assert!(
            (8..=102).contains(&days),
            "{days} days up to the end of the year"
        );
        for p in passages(told) {
            let not_looked = p["untold"] == "not-looked";
            // no later season is known, so that all others are the earlier ones
            if let Some(before) = same(then, p).filter(|_| !not_looked) {
                assert_eq!(p["share"], before["share"], "{p}");
            }
            if not_looked {
                let name = p["species"].as_str().expect("a name");
                let said = format!("- {name}, autumn: nothing can be told: it may be about from ");
                assert!(text.contains(&said), "{text}");
            }
        }
        assert!(paragraph::sentences_of(told) > 0);
    }
}

#[test]
fn a_digest_says_how_far_the_counts_go() {
    let Some(cut) = cut() else { return };
    let text = flowing(&cut.digest);
    let said = "Counts go to 20 September 2011; nobody looked since, so ";
    assert!(text.contains(said), "{text}");
    assert!(!text.contains("not a bird"), "{text}");
}

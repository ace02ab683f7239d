//! Look-alike sets on the command line.

use harness::program::{Workspace, typed};

/// A right set of two members; the second mark is needed.
const PAIR: &str = r#"id = "pair"
title = "A pair"
source = "ours"
review = "ours"
[[member]]
species = "Calidris minuta"
plumages = [{ region = "western-palearctic", plumage = "juvenile", months = [8, 9] }]
[[member]]
species = "Calidris alpina"
plumages = [{ region = "western-palearctic", plumage = "juvenile", months = [7, 8, 9] }]
[[mark]]
part = "bill"
trust = "structure"
[[mark.shows]]
members = ["Calidris minuta"]
text = "Short."
[[mark.shows]]
members = ["Calidris alpina"]
text = "Long."
[[mark]]
part = "call"
trust = "voice"
[[mark.shows]]
members = ["Calidris minuta"]
text = "Thin."
[[mark.shows]]
members = ["Calidris alpina"]
text = "Harsh."
"#;

fn checked(text: &str) -> (u8, String, String) {
    let workspace = Workspace::empty().with("pair.toml", text);
    let file = workspace.path("pair.toml");
    let file = file.to_str().expect("a plain path");
    let ran = typed(&["set", "--check", file]);
    let plain = |said: String| said.replace(file, "pair.toml");
    (ran.code, plain(ran.out), plain(ran.err))
}

#[test]
fn a_set_that_separates_its_members_holds() {
    let (code, out, err) = checked(PAIR);
    assert_eq!(code, 0, "{err}");
    assert_eq!(
        out,
        "pair.toml holds: 2 members, 2 marks, and every two members that meet are separated\n"
    );
    assert!(err.contains("pair.toml: the mark \"bill\" names no trap\n"));
}

#[test]
fn a_pair_that_is_not_separated_stops_it() {
    let (code, out, err) = checked(&PAIR.replace("voice", "light"));
    assert_eq!((code, out.as_str()), (1, ""));
    assert!(
        err.contains(
            "error: pair.toml: Calidris minuta (juvenile) and Calidris alpina (juvenile) meet in \
             western-palearctic in August and September, and only the mark \"bill\" separates them;"
        ),
        "{err}"
    );
}

#[test]
fn a_set_that_does_not_read_is_told_by_line() {
    let (code, _, err) = checked(&PAIR.replace("voice", "voyce"));
    assert_eq!(code, 1);
    let told = "pair.toml line 22: unknown trust \"voyce\" in [[mark]]; expected structure, pattern, \
        voice, behaviour or light; did you mean \"voice\"?";
    assert!(err.contains(told), "{err}");
    let missing = typed(&["set", "--check", "nowhere.toml"]).fails();
    assert!(
        missing.contains("nowhere.toml: this file is not there"),
        "{missing}"
    );
}

#[test]
fn every_set_is_listed_with_or_without_a_workspace() {
    let shipped = config::look_alikes::shipped().expect("the library holds");
    let empty = Workspace::empty();
    let listed = empty.run(&["set"]).works();
    for set in shipped {
        assert!(
            listed
                .lines()
                .any(|l| l.starts_with(&set.id) && l.contains(&set.title))
        );
    }
}

//! Which marks are chosen.

use super::digests::{CURLEW, DUNLIN, LITTLE, TEMMINCK, mark, sandpipers};
use crate::digest::choose;
use crate::guidance::types::SetGuidance;
use config::look_alikes::Trust;

fn parts(set: &SetGuidance) -> Vec<&str> {
    choose::marks(set)
        .iter()
        .map(|c| c.mark.part.as_str())
        .collect()
}

#[test]
fn a_mark_that_separates_only_absent_birds_is_left_out() {
    let set = sandpipers([0.9, 0.6, 0.5, 0.01], 0.5);
    assert_eq!(parts(&set), ["bill", "rump", "call"]);
    let bill = &choose::marks(&set)[0];
    assert_eq!(
        bill.shows[0].0,
        [LITTLE],
        "the absent Temminck's Stint is not named"
    );
    let set = sandpipers([0.9, 0.6, 0.5, 0.02], 0.5);
    assert_eq!(
        parts(&set),
        ["bill", "wing tip and tail tip at rest", "rump", "call"]
    );
}

#[test]
fn trust_comes_before_the_number_of_pairs() {
    let mut set = sandpipers([0.9; 4], 0.5);
    set.marks = vec![
        mark(
            "call",
            Trust::Voice,
            &[
                (&[LITTLE], "a"),
                (&[DUNLIN], "b"),
                (&[CURLEW], "c"),
                (&[TEMMINCK], "d"),
            ],
        ),
        mark(
            "legs",
            Trust::Structure,
            &[(&[LITTLE], "a"), (&[DUNLIN], "b")],
        ),
        mark(
            "bill",
            Trust::Structure,
            &[(&[LITTLE], "a"), (&[DUNLIN, CURLEW], "b")],
        ),
    ];
    assert_eq!(parts(&set), ["bill", "legs", "call"]);
}

#[test]
fn no_pair_goes_without_a_mark_while_there_is_room() {
    let mut set = sandpipers([0.9; 4], 0.5);
    let shape = |n: &str| mark(n, Trust::Structure, &[(&[LITTLE], "a"), (&[DUNLIN], "b")]);
    set.marks = ["a", "b", "c", "d", "e", "f"].map(shape).to_vec();
    set.marks.push(mark(
        "tail",
        Trust::Behaviour,
        &[(&[CURLEW], "a"), (&[TEMMINCK], "b")],
    ));
    assert_eq!(parts(&set), ["a", "b", "c", "d", "tail"]);
}

#[test]
fn long_marks_do_not_fill_more_than_a_screen() {
    let mut set = sandpipers([0.9; 4], 0.5);
    let text = "x".repeat(430);
    let long = |n: &str| {
        mark(
            n,
            Trust::Structure,
            &[(&[LITTLE], text.as_str()), (&[DUNLIN], "b")],
        )
    };
    set.marks = ["a", "b", "c"].map(long).to_vec();
    set.marks.push(mark(
        "short",
        Trust::Voice,
        &[(&[LITTLE], "a"), (&[DUNLIN], "b")],
    ));
    assert_eq!(parts(&set), ["a", "b"]);
}

#[test]
fn a_member_in_two_groups_is_not_separated_from_its_company() {
    let mut set = sandpipers([0.9, 0.9, 0.0, 0.0], 0.5);
    set.marks = vec![mark(
        "bill",
        Trust::Structure,
        &[(&[LITTLE, DUNLIN], "a"), (&[DUNLIN], "b")],
    )];
    assert!(parts(&set).is_empty());
}

#[test]
fn light_marks_of_absent_birds_are_not_named() {
    let set = sandpipers([0.9, 0.6, 0.5, 0.01], 0.5);
    assert_eq!(choose::not_to_rely_on(&set), ["colour of the legs"]);
}

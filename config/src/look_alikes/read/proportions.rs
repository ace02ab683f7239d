//! `[member.proportions]`: ratios for line drawings.

use crate::look_alikes::{Proportions, TailShape};
use crate::raw::{Key, Section};
use std::ops::RangeInclusive;

const KEYS: &[Key] = &[
    Key(
        "bill_length",
        "length of the bill over that of the head, 0.1 to 6",
    ),
    Key(
        "bill_depth",
        "depth of the bill at its base over its length, 0.02 to 1.5",
    ),
    Key(
        "bill_curve",
        "how far the tip lies below the straight line over the bill's length, -0.4 to 0.6",
    ),
    Key(
        "bill_hook",
        "how far the tip hooks down over the depth at the base, 0 to 1",
    ),
    Key(
        "bill_blunt",
        "depth of the bill near its tip over that at the base, 0 to 1",
    ),
    Key(
        "primary_projection",
        "primaries beyond the tertials over the tertials that show, 0 to 3",
    ),
    Key(
        "wing_beyond_tail",
        "wing tips beyond the tail tip over the length of the tail, -1 to 1",
    ),
    Key(
        "tail_length",
        "length of the tail over that of the body, 0.1 to 3",
    ),
    Key(
        "tail_step",
        "depth of fork or step of the tail over its length, 0 to 0.9",
    ),
    Key("tail_shape", "square, forked, rounded or wedge"),
    Key(
        "leg_length",
        "leg below the belly over the depth of the body, 0 to 4",
    ),
    Key(
        "hind_claw",
        "length of the hind claw over that of the hind toe, 0.1 to 3",
    ),
    Key(
        "hind_claw_curve",
        "how far the hind claw's tip lies below the straight line over its length, 0 to 0.6",
    ),
];

/// The proportions of a member; None where there are none.
pub(super) fn read(member: &Section<'_>) -> Option<Proportions> {
    let section = member.section("proportions", KEYS)?;
    let ratio = |key: &str, range: RangeInclusive<f64>| {
        let number = section.number(key)?;
        if !range.contains(number.get_ref()) {
            section.refuse_value(key, &number);
        }
        Some(number.into_inner())
    };
    if section.has("tail_shape") && !section.has("tail_step") {
        section.need("tail_step");
    }
    if section.has("bill_length") != section.has("bill_depth") {
        for key in ["bill_length", "bill_depth"] {
            section.need(key);
        }
    }
    Some(Proportions {
        bill_length: ratio("bill_length", 0.1..=6.0),
        bill_depth: ratio("bill_depth", 0.02..=1.5),
        bill_curve: ratio("bill_curve", -0.4..=0.6),
        bill_hook: ratio("bill_hook", 0.0..=1.0),
        bill_blunt: ratio("bill_blunt", 0.0..=1.0),
        primary_projection: ratio("primary_projection", 0.0..=3.0),
        wing_beyond_tail: ratio("wing_beyond_tail", -1.0..=1.0),
        tail_length: ratio("tail_length", 0.1..=3.0),
        tail_step: ratio("tail_step", 0.0..=0.9),
        tail_shape: section.choice("tail_shape", &TailShape::NAMES),
        leg_length: ratio("leg_length", 0.0..=4.0),
        hind_claw: ratio("hind_claw", 0.1..=3.0),
        hind_claw_curve: ratio("hind_claw_curve", 0.0..=0.6),
    })
}

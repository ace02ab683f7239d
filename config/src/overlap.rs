//! `[overlap]`: what a visit comes to that several counts sources tell of.

use crate::meaning::OverlapRule;
use crate::raw::{Key, Section};

const KEYS: &[Key] = &[Key("rule", "largest, first or add")];

const RULES: [(&str, OverlapRule); 3] = [
    ("largest", OverlapRule::Largest),
    ("first", OverlapRule::First),
    ("add", OverlapRule::Add),
];

/// The rule of the file, or the default.
pub(crate) fn read(top: &Section<'_>) -> OverlapRule {
    let section = top.section("overlap", KEYS);
    let rule = section.and_then(|s| s.need_choice("rule", &RULES));
    rule.unwrap_or_default()
}

//! One topic of the check book: its code and its rules.

use super::case::{Case, Found};

/// Answers a check: what we find for its inputs.
pub type Answer = fn(&Case) -> Found;

/// One topic of the check book.
pub struct Topic {
    /// As in its file's name.
    pub number: &'static str,
    /// Code by id prefix.
    pub wired: &'static [(&'static str, Answer)],
    /// Prefixes, or whole ids, whose code is yet to come.
    pub not_yet_wired: &'static [&'static str],
    /// Tolerance keys beyond `abs`, `rel`, `mod` and `note`.
    pub keys: &'static [&'static str],
    /// Expected fields with the key that governs each, where the names differ; `*` ends a prefix.
    pub governs: &'static [(&'static str, &'static str)],
    /// Tolerances of our own for fields that a check states none for.
    pub ours: &'static [(&'static str, f64)],
    /// Fields whose relative tolerance is of their largest entry.
    pub by_largest: &'static [&'static str],
    /// Expected fields that say something about how the values were made; nothing to compute.
    pub information: &'static [&'static str],
}

/// Nothing wired and no rules, to start from.
pub const NOTHING: Topic = Topic {
    number: "",
    wired: &[],
    not_yet_wired: &[],
    keys: &[],
    governs: &[],
    ours: &[],
    by_largest: &[],
    information: &[],
};

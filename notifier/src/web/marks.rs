//! The few marks of a set that a week's page tells.

use crate::digest::choose::{self, Chosen};
use crate::guidance::types::SetGuidance;
use crate::words;
use serde::Serialize;

/// A mark.
#[derive(Serialize)]
pub(super) struct MarkView {
    part: String,
    /// Its kind, and the plumages that it is bound to.
    kind: String,
    shows: Vec<(String, String)>,
}

/// The most trusted first.
pub(super) fn marks(set: &SetGuidance) -> Vec<MarkView> {
    choose::marks(set).iter().map(mark).collect()
}

fn mark(chosen: &Chosen) -> MarkView {
    let kind = words::trust(chosen.mark.trust);
    let shows = chosen.shows.iter();
    MarkView {
        part: words::sentence(&chosen.mark.part),
        kind: match words::plumages(&chosen.mark.plumages) {
            Some(plumages) => format!("{kind}; {plumages}"),
            None => kind.to_owned(),
        },
        shows: shows
            .map(|(who, what)| (words::list(who), words::stop(what)))
            .collect(),
    }
}

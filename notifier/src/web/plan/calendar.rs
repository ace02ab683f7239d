//! Planned visits as a calendar that can be followed: an entry keeps its UID when it moves.

use crate::plan::calendar::{Row, calendar};
use crate::plan::kept::Entry;
use crate::web::render::{Making, Refusal};
use std::borrow::Cow;

/// The calendar of a site, or of all; one without an entry where nothing is kept.
///
/// # Errors
/// [`Refusal::Absent`] for a site that is not shown, [`Refusal::Broken`] where the kept plan cannot
/// be read: an empty calendar would take all dates away from those who follow it.
pub(in crate::web) fn feed(making: &Making, site: Option<&str>) -> Result<String, Refusal> {
    let site = site.map(|id| making.site(id)).transpose()?;
    let snapshot = making.snapshot;
    let plans = snapshot.plans.as_ref();
    let plans = plans.ok_or_else(|| Refusal::broken("the kept plan cannot be read"))?;
    let row = |entry: &'_ Entry| {
        let shown = snapshot.site(&entry.site)?;
        Some((entry.clone(), shown))
    };
    let wanted = plans.entries.iter();
    let wanted = wanted.filter(|e| site.is_none_or(|s| s.site.id == e.site));
    let rows: Vec<_> = wanted.filter_map(row).collect();
    let rows: Vec<Row> = rows
        .iter()
        .map(|(entry, shown)| Row {
            entry: Cow::Borrowed(entry),
            place: &shown.site.name,
            cautions: shown.site.cautions.as_deref(),
        })
        .collect();
    let name = site.map_or(&snapshot.workspace.name, |s| &s.site.name);
    Ok(calendar(name, snapshot.workspace.about.as_deref(), &rows))
}

//! The unit of efforts, as far as the names of their columns tell.

use config::settings::{SourceKind, Workspace};

const MINUTES: &[&str] = &["min", "mins", "minute", "minutes", "minuten", "minuter"];
const HOURS: &[&str] = &["h", "hr", "hrs", "hour", "hours", "stunden", "heures"];
/// The loader turns an archive's efforts into minutes.
const OF_ARCHIVES: &str = "samplingEffort";

/// The unit of every source with efforts; None where one does not say it or two differ.
pub(super) fn of(workspace: &Workspace) -> Option<&'static str> {
    let columns = workspace
        .sources
        .iter()
        .filter_map(|source| match &source.kind {
            SourceKind::Counts(c) => c.effort.as_deref(),
            SourceKind::Visits(v) => v.effort.as_deref(),
            SourceKind::Temperature(_) => None,
        });
    let mut units = columns.map(unit);
    let first = units.next()??;
    units.all(|unit| unit == Some(first)).then_some(first)
}

fn unit(column: &str) -> Option<&'static str> {
    let words: Vec<String> = column
        .split(|c: char| !c.is_alphabetic())
        .map(str::to_lowercase)
        .collect();
    let any = |names: &[&str]| words.iter().any(|w| names.contains(&w.as_str()));
    if column == OF_ARCHIVES || any(MINUTES) {
        return Some("minutes");
    }
    any(HOURS).then_some("hours")
}

#[cfg(test)]
mod tests {
    use super::unit;

    #[test]
    fn names_of_columns() {
        assert_eq!(unit("Minutes"), Some("minutes"));
        assert_eq!(unit("effort (h)"), Some("hours"));
        assert_eq!(unit("effort_minutes"), Some("minutes"));
        assert_eq!(unit("Effort"), None);
    }
}

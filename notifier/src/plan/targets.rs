//! What is looked for: species, look-alike sets, or all that was ever recorded.

use crate::guidance::SiteView;
use config::nearest::nearest;
use config::settings::Workspace;

/// A name that means no species or set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unknown {
    /// One sentence.
    pub message: String,
    /// The nearest name.
    pub near: Option<String>,
}

/// Scientific names of the targets, each once, in the order of the sites' species. Without any
/// name, all that was ever recorded at the sites.
///
/// # Errors
/// The first name that means nothing, with the nearest that does.
pub fn named(
    workspace: &Workspace,
    sites: &[&SiteView],
    names: &[String],
) -> Result<Vec<String>, Unknown> {
    let recorded = || {
        let mut all: Vec<String> = Vec::new();
        for view in sites {
            let found = view.series.iter().filter(|(_, s)| s.birds() > 0);
            all.extend(found.map(|(name, _)| name.clone()));
        }
        all.sort();
        all.dedup();
        all
    };
    if names.is_empty() {
        return Ok(recorded());
    }
    let mut targets: Vec<String> = Vec::new();
    for name in names {
        let more = match (name.as_str(), name.strip_prefix("set:")) {
            ("all", _) => recorded(),
            (_, Some(id)) => members(workspace, id)?,
            _ => vec![species(workspace, &recorded(), name)?],
        };
        targets.extend(more);
    }
    let mut seen = std::collections::BTreeSet::new();
    targets.retain(|t| seen.insert(t.clone()));
    Ok(targets)
}

fn members(workspace: &Workspace, id: &str) -> Result<Vec<String>, Unknown> {
    let ids = || workspace.look_alikes.iter().map(|s| s.id.as_str());
    match workspace.look_alikes.iter().find(|s| s.id == id) {
        Some(set) => Ok(set.members.iter().map(|m| m.species.clone()).collect()),
        None => Err(Unknown {
            message: format!(
                "there is no set \"{id}\"; the workspace has {}",
                ids().collect::<Vec<_>>().join(", ")
            ),
            near: nearest(id, ids()).map(|near| format!("set:{near}")),
        }),
    }
}

fn species(workspace: &Workspace, recorded: &[String], name: &str) -> Result<String, Unknown> {
    if let Some(known) = workspace.resolve_species(name) {
        return Ok(known.scientific.clone());
    }
    if let Some(known) = recorded.iter().find(|r| r.eq_ignore_ascii_case(name)) {
        return Ok(known.clone());
    }
    let listed = workspace.species.iter().flat_map(|s| s.all_names());
    let near = nearest(name, listed.chain(recorded.iter().map(String::as_str)));
    Err(Unknown {
        message: format!(
            "no species goes by \"{name}\"; expected a species, set:ID of a look-alike set, or all"
        ),
        near: near.map(str::to_owned),
    })
}

//! What is looked for: species, look-alike sets, or all that was ever recorded, and how much each
//! counts.

use super::Target;
use super::choosing::{Choice, PlanSite};
use super::ground::Ground;
use crate::guidance::SiteView;
use config::nearest::{nearest, slip_of};
use config::settings::Workspace;
use forecast::plan::sure::visits_needed;
use std::ops::RangeInclusive;

/// Below this chance on the best date visits are not worth counting.
const HARDLY: f64 = 0.001;
/// What a target may count at the least and at the most. A choice: beyond it the others, or the target
/// itself, as good as vanish.
const WEIGHTS: RangeInclusive<f64> = 0.01..=100.0;

/// A species that is looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Scientific name.
    pub species: String,
    /// How much finding it counts; 1 where nobody says otherwise.
    pub weight: f64,
}

/// A name that means no species or set, or a weight that is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unknown {
    /// One sentence.
    pub message: String,
    /// The nearest name.
    pub near: Option<String>,
}

/// What was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Targets {
    /// Each species once, in the order of their first naming.
    pub wanted: Vec<Wanted>,
    /// Recorded names that "all" leaves out as mere slips of listed ones: both names.
    pub slips: Vec<(String, String)>,
}

/// The targets by their names, each with "=" and a weight behind it where it counts more or less
/// than 1; what is named again has the last weight that was written. Without any name, all that was
/// ever recorded at the sites.
///
/// # Errors
/// The first name that means nothing, with the nearest that does; a weight that is none.
pub fn named(
    workspace: &Workspace,
    sites: &[&SiteView],
    names: &[String],
) -> Result<Targets, Unknown> {
    let recorded = recorded(sites);
    let (slips, sound): (Vec<_>, Vec<_>) = recorded
        .into_iter()
        .partition(|name| listed_near(workspace, name).is_some());
    let all = ["all".to_owned()];
    let names = if names.is_empty() { &all } else { names };
    let mut targets = Targets {
        wanted: Vec::new(),
        slips: Vec::new(),
    };
    for name in names {
        let (name, weight) = weighed(name)?;
        let species = match (name, name.strip_prefix("set:")) {
            ("all", _) => {
                let near = |slip: &String| Some((slip.clone(), listed_near(workspace, slip)?));
                targets.slips = slips.iter().filter_map(near).collect();
                sound.clone()
            }
            (_, Some(id)) => members(workspace, id)?,
            _ => vec![species(workspace, (&sound, &slips), name)?],
        };
        for species in species {
            targets.count(species, weight);
        }
    }
    Ok(targets)
}

impl Targets {
    fn count(&mut self, species: String, weight: Option<f64>) {
        match self.wanted.iter_mut().find(|w| w.species == species) {
            // a name without a weight takes none away
            Some(known) => known.weight = weight.unwrap_or(known.weight),
            None => self.wanted.push(Wanted {
                species,
                weight: weight.unwrap_or(1.0),
            }),
        }
    }
}

/// Species ever found at any of the sites.
fn recorded(sites: &[&SiteView]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for view in sites {
        let found = view.series.iter().filter(|(_, s)| s.birds() > 0);
        all.extend(found.map(|(name, _)| name.clone()));
    }
    all.sort();
    all.dedup();
    all
}

/// The listed name that a name which is not listed is a mere slip of.
fn listed_near(workspace: &Workspace, name: &str) -> Option<String> {
    if workspace.resolve_species(name).is_some() {
        return None;
    }
    let listed = workspace.species.iter().flat_map(|s| s.all_names());
    slip_of(name, listed).map(str::to_owned)
}

/// "Dunlin=2" as a name and a weight; none where none is written.
fn weighed(text: &str) -> Result<(&str, Option<f64>), Unknown> {
    let Some((name, weight)) = text.rsplit_once('=') else {
        return Ok((text.trim(), None));
    };
    let known: Option<f64> = weight.trim().parse().ok();
    match known.filter(|w| WEIGHTS.contains(w)) {
        Some(weight) => Ok((name.trim(), Some(weight))),
        None => Err(Unknown {
            message: format!(
                "\"{text}\" has the weight \"{weight}\"; expected a number from {} to {}, such as \
                 \"{}=2\"",
                WEIGHTS.start(),
                WEIGHTS.end(),
                name.trim()
            ),
            near: None,
        }),
    }
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

/// Names as recorded are those that may be meant, and those that look like slips of listed ones.
fn species(
    workspace: &Workspace,
    (recorded, slips): (&[String], &[String]),
    name: &str,
) -> Result<String, Unknown> {
    if let Some(known) = workspace.resolve_species(name) {
        return Ok(known.scientific.clone());
    }
    if let Some(known) = recorded.iter().find(|r| r.eq_ignore_ascii_case(name)) {
        return Ok(known.clone());
    }
    if slips.iter().any(|r| r.eq_ignore_ascii_case(name)) {
        return Err(Unknown {
            message: format!(
                "\"{name}\" was counted, but is not listed and looks like a slip; list it as a \
                 [[species]] in wingtide.toml if it is meant"
            ),
            near: listed_near(workspace, name),
        });
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

/// The targets with all that the plan says of them.
pub(super) fn told(
    sites: &[PlanSite],
    wanted: &[Wanted],
    ground: &Ground,
    choice: &Choice,
) -> Vec<Target> {
    let chances = ground.reach.chances(&choice.places);
    let target = |(i, wanted): (usize, &Wanted)| {
        let best = ground.single.iter().map(|s| s[i]).fold(0.0, f64::max);
        let species = &wanted.species;
        Target {
            species: species.clone(),
            name: sites[0].view.shown_name(species),
            sensitive: is_sensitive(sites[0].view.workspace, species),
            weight: wanted.weight,
            found: ground.found[i],
            chance: chances[i].unwrap_or(0.0),
            needed: needed(best),
            few_records: ground.few_records[i],
            out_of_reach: choice.out_of_reach.contains(&i),
        }
    };
    wanted.iter().enumerate().map(target).collect()
}

fn is_sensitive(workspace: &Workspace, species: &str) -> bool {
    let mut known = workspace.species.iter();
    known.any(|s| s.scientific == species && s.sensitive.is_some())
}

fn needed(best: f64) -> Option<[u32; 3]> {
    if best < HARDLY {
        return None;
    }
    // one visit at the least, however sure a single one makes it
    let visits = |sure| visits_needed(best, sure).map_or(1, |n| n.ceil().max(1.0) as u32);
    Some([0.8, 0.9, 0.95].map(visits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_stands_behind_the_name() {
        assert_eq!(weighed("Dunlin"), Ok(("Dunlin", None)));
        assert_eq!(weighed("Dunlin=2"), Ok(("Dunlin", Some(2.0))));
        assert_eq!(
            weighed("set:pale-terns = 0.5"),
            Ok(("set:pale-terns", Some(0.5)))
        );
        for wrong in [
            "Dunlin=",
            "Dunlin=0",
            "Dunlin=-1",
            "Dunlin=two",
            "Dunlin=inf",
            "Dunlin=101",
            "Dunlin=0.009",
            "Dunlin=1e-300",
        ] {
            let said = weighed(wrong).expect_err(wrong).message;
            assert!(
                said.contains("expected a number from 0.01 to 100"),
                "{said}"
            );
        }
    }

    #[test]
    fn what_is_named_again_has_the_last_weight_that_was_written() {
        let mut targets = Targets {
            wanted: Vec::new(),
            slips: Vec::new(),
        };
        let mut weights = |named: &[(&str, Option<f64>)]| -> Vec<f64> {
            for (species, weight) in named {
                targets.count((*species).to_owned(), *weight);
            }
            targets.wanted.iter().map(|w| w.weight).collect()
        };
        assert_eq!(
            weights(&[("a", None), ("b", None), ("a", Some(3.0))]),
            [3.0, 1.0]
        );
        assert_eq!(
            weights(&[("a", None), ("b", None)]),
            [3.0, 1.0],
            "as a set names them"
        );
        assert_eq!(weights(&[("a", Some(2.0))]), [2.0, 1.0]);
    }
}

//! Targets of which finds alone are known, so that no chance can be planned with.

use super::choosing::PlanSite;
use super::ground::{candidates, found};
use super::site::Known;
use super::targets::Wanted;
use super::{PlanError, Request};
use crate::columns::wrap;
use crate::words::{self, list};
use forecast::plan::Candidate;
use serde_json::{Value, json};

/// A target of which no chance is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Untold {
    /// Scientific name.
    pub species: String,
    /// Name shown.
    pub name: String,
    /// On none of the dates that may be chosen is a chance told; else on some.
    pub everywhere: bool,
}

/// The targets that can be planned for, and those of which no chance is told on some of the dates
/// that may be chosen.
///
/// # Errors
/// [`PlanError::FindsAlone`] where no target is left.
pub fn parted(
    request: &Request,
    sites: &[PlanSite],
    wanted: Vec<Wanted>,
) -> Result<(Vec<Wanted>, Vec<Untold>), PlanError> {
    let known: Vec<Known> = sites
        .iter()
        .map(|s| Known::before(&s.view, request.today))
        .collect();
    let (dates, _) = candidates(request, sites);
    let mut untold = Vec::new();
    let mut told = Vec::new();
    for target in wanted {
        let species = &target.species;
        // what was found already is planned for no more
        let everywhere = match found(request, sites, species) {
            Some(_) => None,
            None => without_chance(&known, &dates, species),
        };
        if let Some(everywhere) = everywhere {
            untold.push(Untold {
                species: species.clone(),
                name: sites[0].view.shown_name(species),
                everywhere,
            });
        }
        if everywhere != Some(true) {
            told.push(target);
        }
    }
    if told.is_empty() && !untold.is_empty() {
        let names: Vec<&str> = untold.iter().map(|u| u.name.as_str()).collect();
        return Err(PlanError::FindsAlone(list(&names)));
    }
    Ok((told, untold))
}

/// Is on no date a chance of it told, or on some not? None where on each one is, or where it was
/// never recorded.
fn without_chance(known: &[Known], dates: &[Candidate], species: &str) -> Option<bool> {
    let here = dates.iter().filter(|c| known[c.site].found(species));
    let told: Vec<bool> = here.map(|c| known[c.site].tells(species, c.date)).collect();
    let (any, all) = (told.contains(&true), !told.contains(&false));
    (!all).then_some(!any)
}

/// What is said of them below the plan.
pub fn text(untold: &[Untold], width: usize) -> String {
    let names = |everywhere: bool| -> Vec<&str> {
        let those = untold.iter().filter(|u| u.everywhere == everywhere);
        those.map(|u| u.name.as_str()).collect()
    };
    let (nowhere, partly) = (names(true), names(false));
    let mut said = Vec::new();
    if !nowhere.is_empty() {
        said.push(format!(
            "Not planned for: {}, as {}{}.",
            list(&nowhere),
            words::FINDS_ALONE,
            words::WRITE_ALL_DOWN
        ));
    }
    if !partly.is_empty() {
        said.push(format!(
            "Planned for as if they were not there on some of these dates, or at some of these sites: \
             {}, since there {}.",
            list(&partly),
            words::FINDS_ALONE
        ));
    }
    let wrapped = said.iter().map(|words| wrap(words, "", "  ", width) + "\n");
    wrapped.collect()
}

/// The same for programs.
pub fn document(untold: &[Untold]) -> Value {
    let one = |u: &Untold| {
        json!({
            "species": u.species,
            "name": u.name,
            "on": if u.everywhere { "all-dates" } else { "some-dates" },
        })
    };
    untold.iter().map(one).collect()
}

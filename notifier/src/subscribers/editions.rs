//! The digest as subscribers get it: in the languages and ways of writing dates that any of them
//! chose, over what everybody may see; and what of an edition is one subscriber's.

use super::openings::Openings;
use super::{Choices, Frequency, SubscribersError, rows};
use crate::chart::ChartError;
use crate::compose;
use crate::dates::{self, DateStyle};
use crate::digest::{Digest, Notice, SiteDigest};
use crate::guidance::SiteView;
use crate::service::tables;
use crate::web::aliases::Aliases;
use crate::web::{ShownSite, Snapshot, SnapshotError, shown};
use chrono::NaiveDate;
use config::settings::{Site, Workspace};
use rusqlite::Connection;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A language of species names with a way of writing dates.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tongue {
    /// BCP 47.
    pub language: String,
    /// How dates are written.
    pub dates: DateStyle,
}

impl Tongue {
    fn of(choices: &Choices, own: &str) -> Self {
        Tongue {
            language: choices.language.clone().unwrap_or_else(|| own.to_owned()),
            dates: choices.dates,
        }
    }
}

/// A digest in every tongue that is wanted.
#[derive(Debug, Clone, Default)]
pub struct Editions {
    /// The workspace's language.
    own: String,
    all: BTreeMap<Tongue, Digest>,
    /// By site, where anybody asks for them.
    openings: BTreeMap<String, Openings>,
}

/// Editions that cannot be made.
#[derive(Debug, thiserror::Error)]
pub enum EditionsError {
    /// The subscribers cannot be read.
    #[error(transparent)]
    Subscribers(#[from] SubscribersError),
    /// What everybody may see cannot be read.
    #[error(transparent)]
    Snapshot(#[from] SnapshotError),
    /// A chart cannot be drawn.
    #[error(transparent)]
    Chart(#[from] ChartError),
}

/// What the subscribers want among them.
#[derive(Debug, Default)]
struct Wanted {
    tongues: BTreeSet<Tongue>,
    openings: bool,
}

impl Wanted {
    fn of(conn: &Connection, own: &str) -> Result<Self, SubscribersError> {
        let mut wanted = Wanted::default();
        for subscriber in rows::mailed(conn)? {
            wanted.tongues.insert(Tongue::of(&subscriber.choices, own));
            wanted.openings |= subscriber.choices.frequency == Frequency::Openings;
        }
        Ok(wanted)
    }
}

impl Editions {
    /// The editions of a date's digest for all who are on the list now; none where nobody is. What
    /// readers must know of the data stands in each.
    ///
    /// # Errors
    /// [`EditionsError`] where the tables, the store or a chart fails.
    pub fn compose(
        dir: &Path,
        workspace: &Workspace,
        (date, notices): (NaiveDate, &[Notice]),
    ) -> Result<Self, EditionsError> {
        let own = &workspace.language;
        let conn = tables::open(&workspace.root).map_err(SubscribersError::from)?;
        let wanted = Wanted::of(&conn, own)?;
        drop(conn);
        if wanted.tongues.is_empty() {
            return Ok(Editions::default());
        }
        let snapshot = Snapshot::read(dir)?;
        let aliases = Aliases::of(workspace).map_err(SubscribersError::from)?;
        let covered = covered(workspace, &aliases);
        let sites = snapshot.sites.iter();
        let sites: Vec<&ShownSite> = sites.filter(|s| covered.contains(&s.site.id)).collect();
        let mut told: Vec<Notice> = notices.iter().cloned().map(Notice::for_everybody).collect();
        // of several sources with copies of one day
        told.dedup();
        let mut all = BTreeMap::new();
        for tongue in wanted.tongues {
            let edition = Digest {
                notices: told.clone(),
                ..edition(&snapshot.workspace, &sites, &tongue, date)?
            };
            all.insert(tongue, edition);
        }
        let of = |view: &SiteView| (view.site.id.clone(), Openings::of(view, date));
        let openings = match wanted.openings {
            true => views(&sites, &snapshot.workspace).iter().map(of).collect(),
            false => BTreeMap::new(),
        };
        Ok(Editions {
            own: own.clone(),
            all,
            openings,
        })
    }

    /// What is this subscriber's: None where they are told of openings alone and there is none, or
    /// nobody knew of them when the editions were made.
    pub fn of(&self, choices: &Choices) -> Option<Personal<'_>> {
        let tongue = Tongue::of(choices, &self.own);
        let digest = self.all.get(&tongue)?;
        let sites: Vec<&str> = digest
            .sites
            .iter()
            .map(|s| s.guidance.site.as_str())
            .filter(|id| choices.wants_site(id))
            .collect();
        let opens = choices.frequency == Frequency::Openings;
        let begins = |id: &&&str| {
            let site = self.openings.get(**id);
            site.is_some_and(|openings| openings.concern(choices))
        };
        if opens && !sites.iter().any(|id| begins(&id)) {
            return None;
        }
        let dates = tongue.dates;
        let form = serde_json::json!([
            sites,
            choices.sets,
            choices.species,
            opens,
            tongue.language,
            dates
        ]);
        Some(Personal {
            editions: self,
            digest,
            dates,
            is_empty: sites.is_empty(),
            form: format!("subscribers {form}"),
        })
    }
}

fn views<'a>(sites: &[&'a ShownSite], settings: &'a Workspace) -> Vec<SiteView<'a>> {
    sites.iter().filter_map(|s| s.view(settings)).collect()
}

/// The digest in a language and a way of writing dates.
fn edition(
    shown: &Workspace,
    sites: &[&ShownSite],
    tongue: &Tongue,
    date: NaiveDate,
) -> Result<Digest, ChartError> {
    let settings = Workspace {
        language: tongue.language.clone(),
        ..shown.clone()
    };
    dates::with(tongue.dates, || {
        compose::digest(&settings, &views(sites, &settings), date)
    })
}

/// Ids, as shown, of the sites that the digest covers.
pub(super) fn covered(workspace: &Workspace, aliases: &Aliases) -> BTreeSet<String> {
    let named = &workspace.digest.sites;
    let shown = shown::sites(workspace, aliases).into_iter();
    let covered = shown.filter(|(own, _)| named.is_empty() || named.iter().any(|n| n == own));
    covered.map(|(_, site): (&str, Site)| site.id).collect()
}

/// What one subscriber gets, and all who chose the same.
pub struct Personal<'a> {
    editions: &'a Editions,
    digest: &'a Digest,
    /// The way of writing dates in which it is to be rendered.
    pub dates: DateStyle,
    /// None of the sites that they want is in it.
    pub is_empty: bool,
    /// The same for all who get the same.
    pub form: String,
}

impl Personal<'_> {
    /// The digest cut down to what they chose.
    pub fn digest(&self, choices: &Choices) -> Digest {
        let mut own = self.digest.of_sites(|id| choices.wants_site(id));
        for site in &mut own.sites {
            cut(site, choices);
        }
        if choices.frequency == Frequency::Openings {
            own.notices.extend(self.opens(&own, choices));
        }
        own
    }

    /// Why it comes this week.
    fn opens(&self, own: &Digest, choices: &Choices) -> Option<Notice> {
        let (mut windows, mut overlaps) = (Vec::new(), Vec::new());
        let add = |all: &mut Vec<String>, name: &str| {
            if !all.iter().any(|known| known == name) {
                all.push(name.to_owned());
            }
        };
        for site in &own.sites {
            let week = &site.guidance;
            let Some(openings) = self.editions.openings.get(&week.site) else {
                continue;
            };
            let members = || {
                week.sets
                    .iter()
                    .flat_map(|s| &s.members)
                    .chain(&week.others)
            };
            for species in openings.windows(choices) {
                let member = members().find(|m| m.species == species);
                add(&mut windows, member.map_or(species, |m| &m.name));
            }
            for id in openings.overlaps(choices) {
                let set = week.sets.iter().find(|s| s.id == id);
                add(&mut overlaps, set.map_or(id, |s| &s.title));
            }
        }
        let any = !windows.is_empty() || !overlaps.is_empty();
        any.then_some(Notice::Opens { windows, overlaps })
    }
}

/// A site's part without the sets and species that were not chosen, and without what is said of them
/// alone.
fn cut(site: &mut SiteDigest, choices: &Choices) {
    if choices.wants_all() {
        return;
    }
    let week = &mut site.guidance;
    week.sets
        .retain(|set| choices.wants_set(&set.id, set.members.iter().map(|m| m.species.as_str())));
    week.others.retain(|m| choices.wants_species(&m.species));
    let members = week
        .sets
        .iter()
        .flat_map(|s| &s.members)
        .chain(&week.others);
    let kept: Vec<(&str, &str)> = members
        .map(|m| (m.species.as_str(), m.name.as_str()))
        .collect();
    let is_kept = |species: &str| kept.iter().any(|(s, _)| *s == species);
    let tells_of_kept = |text: &str| kept.iter().any(|(_, name)| text.contains(name));
    week.findings.few.retain(|few| is_kept(&few.species));
    week.findings.changes.retain(|text| tells_of_kept(text));
    if let Some(temperature) = &mut week.findings.temperature {
        temperature.links.retain(|link| is_kept(&link.species));
    }
    let sets = &week.sets;
    site.figures.retain(|f| sets.iter().any(|s| s.id == f.set));
    site.notices.retain_mut(|notice| match notice {
        Notice::TooFewRecords(names) | Notice::FailedFit { species: names, .. } => {
            names.retain(|name| tells_of_kept(name));
            !names.is_empty()
        }
        _ => true,
    });
}

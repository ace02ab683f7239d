//! What a sheet for others is made from: the workspace as everybody may see it, since who hands a
//! sheet out does not know where it ends.

use super::{Failure, Streams};
use crate::guidance::SiteView;
use crate::web::aliases::Aliases;
use crate::web::{ShownSite, Snapshot, shown};
use crate::whole_file;
use config::look_alikes::LookAlikeSet;
use config::nearest::nearest;
use config::settings::{Site, Workspace};
use std::path::Path;

/// The workspace as everybody may see it.
pub(super) struct Shown {
    pub(super) snapshot: Snapshot,
    /// The keeper's id of each site of the snapshot.
    own_ids: Vec<String>,
    aliases: Aliases,
}

impl Shown {
    pub(super) fn read(dir: &Path) -> Result<Self, Failure> {
        let snapshot = Snapshot::read(dir)?;
        let workspace = config::load(dir)?;
        let aliases = Aliases::of(&workspace)?;
        let own_ids = shown::sites(&workspace, &aliases).into_iter();
        Ok(Shown {
            own_ids: own_ids.map(|(own, _)| own.to_owned()).collect(),
            snapshot,
            aliases,
        })
    }

    /// The site that the keeper calls so.
    pub(super) fn site(&self, own: &Site) -> Result<&ShownSite, Failure> {
        let place = self.own_ids.iter().position(|id| *id == own.id);
        let found = place.and_then(|place| self.snapshot.sites.get(place));
        found.ok_or_else(|| {
            let id = &own.id;
            Failure::new(format!(
                "site \"{id}\" is withheld in wingtide.toml, and a sheet that is handed out may go anywhere"
            ))
        })
    }

    /// What guidance works from there.
    pub(super) fn view<'a>(&'a self, site: &'a ShownSite) -> Result<SiteView<'a>, Failure> {
        let view = site.view(&self.snapshot.workspace);
        view.ok_or_else(|| {
            Failure::new("its curves have not been fitted yet").hint("run: wingtide fit")
        })
    }

    /// A set of the workspace of which two members or more were counted at the site and may be
    /// shown.
    pub(super) fn set<'a>(
        &'a self,
        own: &Workspace,
        view: &SiteView,
        id: &str,
    ) -> Result<&'a LookAlikeSet, Failure> {
        let known = own.look_alikes.iter().find(|s| s.id == id);
        let known = known.ok_or_else(|| unknown(own, id))?;
        let shown_as = shown::set_id(known, own, &self.aliases);
        let mut shown = self.snapshot.workspace.look_alikes.iter();
        let set = shown.find(|s| s.id == shown_as).ok_or_else(|| {
            let why = "sensitive species are left out, and fewer than two members remain";
            Failure::new(format!("the set \"{id}\" cannot be handed out: {why}"))
        })?;
        let found = set.members.iter().filter(|m| view.found_here(&m.species));
        match found.count() >= 2 {
            true => Ok(set),
            false => {
                let site = &view.site.name;
                let message = format!(
                    "fewer than two members of the set \"{id}\" that may be shown were counted at {site}"
                );
                Err(Failure::new(message))
            }
        }
    }
}

impl Shown {
    /// The id under which a set is shown, at that site or, where none is named, at any.
    pub(super) fn set_anywhere(
        &self,
        own: &Workspace,
        site: Option<&ShownSite>,
        id: &str,
    ) -> Result<String, Failure> {
        let sites = self.snapshot.sites.iter();
        let sites = sites.filter(|s| site.is_none_or(|only| only.site.id == s.site.id));
        let mut last = unknown(own, id);
        for site in sites {
            let view = self.view(site);
            match view.and_then(|view| Ok(self.set(own, &view, id)?.id.clone())) {
                Ok(shown_as) => return Ok(shown_as),
                Err(why) => last = why,
            }
        }
        Err(last)
    }
}

fn unknown(own: &Workspace, id: &str) -> Failure {
    let known = || own.look_alikes.iter().map(|s| s.id.as_str());
    let all: Vec<&str> = known().collect();
    let all = all.join(", ");
    let failure = Failure::new(format!("the workspace uses no set \"{id}\"; it has {all}"));
    match nearest(id, known()) {
        Some(near) => failure.hint(format!("did you mean \"{near}\"?")),
        None => failure,
    }
}

/// Writes a file whole into a folder, which is made where it is missing, and tells its path.
pub(super) fn write(
    folder: &Path,
    name: &str,
    bytes: &[u8],
    streams: &mut Streams,
) -> Result<(), Failure> {
    let path = folder.join(name);
    let made = std::fs::create_dir_all(folder).and_then(|()| whole_file::write(&path, bytes));
    made.map_err(|why| Failure::new(format!("{} cannot be written: {why}", path.display())))?;
    writeln!(streams.out, "{}", path.display())?;
    Ok(())
}

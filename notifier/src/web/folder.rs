//! The same pages and feeds as a folder of files that opens from a disk.

use super::address::{Addresses, Place, filed, slug};
use super::ask::{Ask, Weight, YearFile};
use super::render::{Made, Refusal, render};
use super::set::is_shown;
use super::snapshot::{ShownSite, Snapshot};
use super::week::written_weeks;
use super::{this_season, year};
use chrono::{DateTime, Utc};
use forecast::calendar::IsoWeek;
use ingest::passing::PassingFolder;
use std::collections::BTreeSet;
use std::io;
use std::path::{Component, Path, PathBuf};

/// Lists the folder's files; its first line tells that they are ours to write over.
const LIST: &str = "pages.txt";
const FIRST_LINE: &str = "Pages made by Wingtide";
/// How the folder begins in which files are written aside.
const ASIDE: &str = ".wingtide-";

/// Pages that cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// The folder holds something else.
    #[error("{} holds something else than pages of an earlier run; name a new folder", .0.display())]
    NotOurs(PathBuf),
    /// The disk.
    #[error("{} cannot be written: {cause}", .path.display())]
    Disk {
        /// What.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// A page; the log says why.
    #[error("the page {0} cannot be made")]
    Page(String),
}

fn failed(path: &Path) -> impl Fn(io::Error) -> FolderError {
    let path = path.to_owned();
    move |cause| FolderError::Disk {
        path: path.clone(),
        cause,
    }
}

/// Writes all pages and feeds, takes away those of an earlier run that are no longer there, and
/// gives the paths of the files, the first page first.
///
/// # Errors
/// [`FolderError`]; until all pages are made and written aside the folder stays as it was.
pub fn write(
    snapshot: &Snapshot,
    out: &Path,
    now: DateTime<Utc>,
) -> Result<Vec<PathBuf>, FolderError> {
    let pages = made(snapshot, now)?;
    std::fs::create_dir_all(out).map_err(failed(out))?;
    let aside = PassingFolder::begin(out, ASIDE).map_err(failed(out))?;
    let earlier = earlier(out, &aside)?;
    for (name, made) in &pages {
        let path = aside.path().join(name);
        let written = folder_of(&path).and_then(|()| std::fs::write(&path, &made.body));
        written.map_err(failed(&out.join(name)))?;
    }
    let names: BTreeSet<&str> = pages.iter().map(|(name, _)| name.as_str()).collect();
    for gone in earlier.iter().filter(|name| !names.contains(name.as_str())) {
        take_away(out, gone)?;
    }
    let list: Vec<&str> = [FIRST_LINE].into_iter().chain(names).collect();
    let list_path = out.join(LIST);
    std::fs::write(&list_path, list.join("\n") + "\n").map_err(failed(&list_path))?;
    let mut paths = Vec::new();
    for (name, _) in &pages {
        let path = out.join(name);
        let moved = folder_of(&path).and_then(|()| std::fs::rename(aside.path().join(name), &path));
        moved.map_err(failed(&path))?;
        paths.push(path);
    }
    Ok(paths)
}

fn folder_of(path: &Path) -> io::Result<()> {
    path.parent().map_or(Ok(()), std::fs::create_dir_all)
}

/// The files of an earlier run; none in an empty folder.
fn earlier(out: &Path, aside: &PassingFolder) -> Result<Vec<String>, FolderError> {
    let mut entries = std::fs::read_dir(out).map_err(failed(out))?;
    let aside = aside.path().file_name();
    if entries.all(|entry| entry.is_ok_and(|e| Some(&*e.file_name()) == aside)) {
        return Ok(Vec::new());
    }
    let list = std::fs::read_to_string(out.join(LIST)).unwrap_or_default();
    let mut lines = list.lines();
    if lines.next() != Some(FIRST_LINE) {
        return Err(FolderError::NotOurs(out.to_owned()));
    }
    let within = |name: &&str| {
        let mut parts = Path::new(name).components();
        parts.all(|part| matches!(part, Component::Normal(_)))
    };
    Ok(lines.filter(within).map(str::to_owned).collect())
}

/// Removes a file, and its folder where nothing else is in it.
fn take_away(out: &Path, name: &str) -> Result<(), FolderError> {
    let path = out.join(name);
    match std::fs::remove_file(&path) {
        Err(cause) if cause.kind() != io::ErrorKind::NotFound => Err(failed(&path)(cause)),
        _ => {
            let mut folder = path.parent();
            while let Some(inner) = folder.filter(|f| *f != out) {
                // one with other files stays
                if std::fs::remove_dir(inner).is_err() {
                    break;
                }
                folder = inner.parent();
            }
            Ok(())
        }
    }
}

/// Every page under its file's name.
fn made(snapshot: &Snapshot, now: DateTime<Utc>) -> Result<Vec<(String, Made)>, FolderError> {
    let mut pages = Vec::new();
    let mut make = |ask: &Ask, place: &Place| {
        let name = filed(place);
        let addresses = Addresses::Folder(name.matches('/').count());
        let made = render(snapshot, ask, &addresses, now);
        let made = made.map_err(|_: Refusal| FolderError::Page(name.clone()))?;
        pages.push((name, made));
        Ok(())
    };
    make(&Ask::Home, &Place::Home)?;
    make(&Ask::Style, &Place::Style)?;
    make(&Ask::HandoutStyle, &Place::HandoutStyle)?;
    for weight in [Weight::Regular, Weight::Bold] {
        make(&Ask::Letters(weight), &Place::Letters(weight))?;
    }
    if snapshot.has_plan(None) {
        make(&Ask::Plan(None), &Place::Plan(None))?;
        make(&Ask::PlanCalendar(None), &Place::PlanCalendar(None))?;
        make(&Ask::SheetStyle, &Place::SheetStyle)?;
    }
    for site in &snapshot.sites {
        of_site(snapshot, site, now, &mut make)?;
    }
    Ok(pages)
}

fn of_site(
    snapshot: &Snapshot,
    site: &ShownSite,
    now: DateTime<Utc>,
    make: &mut impl FnMut(&Ask, &Place) -> Result<(), FolderError>,
) -> Result<(), FolderError> {
    let id = site.site.id.as_str();
    let own = || id.to_owned();
    make(&Ask::Week(own(), None), &Place::Site(id))?;
    let past = this_season::filed(snapshot, site, now).into_iter();
    for season in std::iter::once(None).chain(past.map(Some)) {
        make(&Ask::Season(own(), season), &Place::Season(id, season))?;
    }
    make(&Ask::Year(own()), &Place::Year(id))?;
    let sheets =
        year::sheets(snapshot, site).map_err(|_| FolderError::Page(format!("{id}/year")))?;
    let pngs = (1..=sheets).map(YearFile::Png);
    for file in pngs.chain((sheets > 0).then_some(YearFile::Pdf)) {
        make(&Ask::YearFile(own(), file), &Place::YearFile(id, file))?;
    }
    make(&Ask::Feed(own()), &Place::Feed(id))?;
    make(&Ask::Calendar(own()), &Place::Calendar(id))?;
    planned(snapshot, id, make)?;
    let today = site.today(now);
    let others = written_weeks(today).into_iter();
    for week in others.filter(|week| *week != IsoWeek::of(today)) {
        let ask = Ask::Week(own(), Some(week.monday()));
        make(&ask, &Place::Week(id, week))?;
    }
    sets_and_species(snapshot, site, make)
}

fn planned(
    snapshot: &Snapshot,
    id: &str,
    make: &mut impl FnMut(&Ask, &Place) -> Result<(), FolderError>,
) -> Result<(), FolderError> {
    let own = || id.to_owned();
    if snapshot.has_plan(Some(id)) {
        make(&Ask::Plan(Some(own())), &Place::Plan(Some(id)))?;
        let calendar = Ask::PlanCalendar(Some(own()));
        make(&calendar, &Place::PlanCalendar(Some(id)))?;
    }
    if snapshot.has_sheets(id) {
        make(&Ask::Sheets(own()), &Place::Sheets(id))?;
    }
    Ok(())
}

fn sets_and_species(
    snapshot: &Snapshot,
    site: &ShownSite,
    make: &mut impl FnMut(&Ask, &Place) -> Result<(), FolderError>,
) -> Result<(), FolderError> {
    let id = site.site.id.as_str();
    let own = || id.to_owned();
    let Some(view) = site.view(&snapshot.workspace) else {
        return Ok(());
    };
    let sets = view.workspace.look_alikes.iter();
    for set in sets.filter(|set| is_shown(&view, set)) {
        make(&Ask::Set(own(), set.id.clone()), &Place::Set(id, &set.id))?;
        let handout = Ask::Handout(own(), set.id.clone());
        make(&handout, &Place::Handout(id, &set.id))?;
    }
    for species in view.series.keys() {
        let slug = slug(species);
        make(
            &Ask::Species(own(), slug.clone()),
            &Place::Species(id, &slug),
        )?;
    }
    Ok(())
}

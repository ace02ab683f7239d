//! `wingtide practice`

use super::args::Practice as PracticeArgs;
use super::handed_out::{self, Shown};
use super::session::{Session, today_utc};
use super::{Failure, Streams};
use crate::practice::sheet::Sheet;
use crate::practice::{Told, Wanted, draw, seed_of, told};
use std::path::Path;

/// Folder of sheets in the workspace.
const FOLDER: &str = "handouts";

/// Writes birds drawn by lot as a page to work through, with the key.
pub fn run(dir: &Path, args: &PracticeArgs, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let shown = Shown::read(dir)?;
    let site = match &args.site {
        Some(id) => Some(shown.site(session.site(Some(id))?)?),
        None => None,
    };
    let set = match &args.set {
        Some(set) => Some(shown.set_anywhere(&session.workspace, site, set)?),
        None => None,
    };
    let wanted = Wanted {
        site: site.map(|s| s.site.id.clone()),
        set,
    };
    let first = args.seed.unwrap_or_else(|| seed_of(today_utc()));
    let public = session.workspace.service.public_pages();
    let sheet = Sheet {
        workspace: session.workspace.name.clone(),
        birds: birds(&shown, &wanted, args.birds, first)?,
        key: !args.without_key,
        address: public.map(|url| address(url, &wanted)),
    };
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => session.workspace.root.join(FOLDER),
    };
    let name = name(&wanted, first, args);
    handed_out::write(&folder, &name, sheet.html()?.as_bytes(), streams)
}

/// Of all that makes one sheet differ from another, so that none takes another's place.
fn name(wanted: &Wanted, first: u64, args: &PracticeArgs) -> String {
    let last = first + u64::from(args.birds) - 1;
    let seeds = match last == first {
        true => first.to_string(),
        false => format!("{first}-to-{last}"),
    };
    let set = wanted.set.iter().map(|set| format!("-{set}"));
    let site = wanted.site.iter().map(|site| format!("-at-{site}"));
    let drawn_from: String = set.chain(site).collect();
    let key = if args.without_key { "-without-key" } else { "" };
    format!("practice-birds-{seeds}{drawn_from}{key}.html")
}

fn birds(shown: &Shown, wanted: &Wanted, number: u32, first: u64) -> Result<Vec<Told>, Failure> {
    let seeds = first..first + u64::from(number);
    let drawn = seeds.map(|seed| draw(&shown.snapshot, wanted, seed).map(|e| told(&e)));
    drawn.collect::<Option<Vec<_>>>().ok_or_else(|| {
        Failure::new("there is no day on which two members of a set were counted and have marks")
            .hint("name another site or set, or run: wingtide fit")
    })
}

/// The address of the service's practice, up to the seed.
fn address(url: &url::Url, wanted: &Wanted) -> String {
    let mut address = url.clone();
    let path = format!("{}/practice", url.path().trim_end_matches('/'));
    address.set_path(&path);
    let named = [("site", &wanted.site), ("set", &wanted.set)];
    for (key, value) in named {
        if let Some(value) = value {
            address.query_pairs_mut().append_pair(key, value);
        }
    }
    address.query_pairs_mut().append_pair("seed", "");
    address.into()
}

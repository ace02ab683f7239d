//! `wingtide year`

use super::args::{PaperSize, Year as YearArgs};
use super::session::Session;
use super::{Failure, Streams, handed_out};
use crate::guidance::SiteView;
use crate::printed::{self, Paper, PrintFile};
use crate::words;
use crate::year::{About, Year};
use chrono::Utc;
use std::path::{Path, PathBuf};

/// Folder of sheets in the workspace.
const FOLDER: &str = "handouts";

/// Writes a site's year as a chart to hang on a wall.
pub fn run(dir: &Path, args: &YearArgs, streams: &mut Streams) -> Result<(), Failure> {
    let out = args.out.as_deref().map(PrintFile::new).transpose()?;
    let session = Session::open(dir)?;
    let own = session.site(args.site.as_deref())?;
    let loaded = session.fitted_site(own)?;
    loaded.warn(streams.err)?;
    if args.with_sensitive {
        return write(&loaded.view(), args, out, streams);
    }
    let shown = handed_out::Shown::read(dir)?;
    let site = shown.site(own)?;
    write(&shown.view(site)?, args, out, streams)
}

fn write(
    view: &SiteView,
    args: &YearArgs,
    out: Option<PrintFile>,
    streams: &mut Streams,
) -> Result<(), Failure> {
    let now = Utc::now();
    let about = About {
        made: now,
        licence: args.licence.clone(),
        own_use: args.with_sensitive,
    };
    let year = Year::of(view, &about)?;
    let sides = year.sides(match args.paper {
        PaperSize::A3 => Paper::A3,
        PaperSize::A2 => Paper::A2,
    })?;
    let out = match out {
        Some(out) => out,
        None => PrintFile::new(&in_workspace(view, args.with_sensitive)?)?,
    };
    let about = printed::About {
        title: year.title(),
        language: words::LANGUAGE.to_owned(),
        author: Some(view.workspace.name.clone()),
        made: now,
    };
    for path in out.write(&sides, &about)? {
        writeln!(streams.out, "{}", path.display())?;
    }
    if sides.len() > 1 {
        let sheets = words::plain_spaces(&words::count_of(sides.len(), "sheet", "sheets"));
        streams.remark(&format!(
            "{sheets}: on fewer, letters would be too small to read."
        ))?;
    }
    Ok(())
}

/// The usual place, its folder made where it is missing.
fn in_workspace(view: &SiteView, own_use: bool) -> Result<PathBuf, Failure> {
    let folder = view.workspace.root.join(FOLDER);
    std::fs::create_dir_all(&folder)
        .map_err(|why| Failure::new(format!("{} cannot be made: {why}", folder.display())))?;
    // the sheet that is passed on keeps its name to itself
    let own = if own_use { "-own-use" } else { "" };
    Ok(folder.join(format!("year-{}{own}.pdf", view.site.id)))
}

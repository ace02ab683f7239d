//! `wingtide handout`

use super::args::Handout as HandoutArgs;
use super::session::{Session, today};
use super::{Failure, Streams, handed_out};
use crate::handout::browser;
use crate::handout::{About, Dress, Handout};
use config::settings::Workspace;
use std::path::Path;
use std::time::Duration;

/// Folder of handouts in the workspace.
const FOLDER: &str = "handouts";
/// A page of two sides is printed in two or three seconds; a slow machine may take longer.
const LONGEST: Duration = Duration::from_secs(60);

/// Writes a set at a site as two sides to hand out.
pub fn run(dir: &Path, args: &HandoutArgs, streams: &mut Streams) -> Result<(), Failure> {
    let session = Session::open(dir)?;
    let own = session.site(args.site.as_deref())?;
    session.fitted_site(own)?.warn(streams.err)?;
    let shown = handed_out::Shown::read(dir)?;
    let site = shown.site(own)?;
    let view = shown.view(site)?;
    let set = shown.set(&session.workspace, &view, &args.set)?;
    let about = About {
        licence: args.licence.clone().or(view.workspace.licence.clone()),
        whole: whole(&session.workspace, &site.site.id, &set.id),
        date: today(&site.site),
    };
    let handout = Handout::of(&view, set, &about)?;
    let html = handout.html(&Dress::Alone)?;
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => view.workspace.root.join(FOLDER),
    };
    let name = format!("{}-{}", set.id, site.site.id);
    let pdf = match args.pdf {
        true => Some(pdf(args, &handout, &html, streams)?),
        false => None,
    };
    handed_out::write(&folder, &format!("{name}.html"), html.as_bytes(), streams)?;
    if let Some(pdf) = pdf {
        handed_out::write(&folder, &format!("{name}.pdf"), &pdf, streams)?;
    }
    Ok(())
}

/// Where all of a set is told, to those who have the paper and nothing else.
fn whole(workspace: &Workspace, site: &str, set: &str) -> String {
    match workspace.service.public_pages() {
        Some(url) => format!("{}/{site}/set/{set}", url.as_str().trim_end_matches('/')),
        None => "ask the keeper of the counts".to_owned(),
    }
}

/// By a browser where one is found, else by ourselves; both make the same two sides.
fn pdf(
    args: &HandoutArgs,
    handout: &Handout,
    html: &str,
    streams: &mut Streams,
) -> Result<Vec<u8>, Failure> {
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let browser = browser::found(&paths).filter(|_| !args.without_browser);
    let printed = browser.map(|browser| browser::print(&browser, html, LONGEST));
    match printed {
        Some(Ok(pdf)) => return Ok(pdf),
        Some(Err(why)) => writeln!(streams.err, "note: made without a browser, as {why}")?,
        None => {}
    }
    Ok(handout.pdf(chrono::Utc::now())?)
}

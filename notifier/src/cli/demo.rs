//! `wingtide demo [DIR]`

use super::args::Demo;
use super::session::Session;
use super::{Failure, Streams, digest, fit, load};
use crate::compose;
use crate::demo::{DEMO_DATE, FIRST_LINE, FIRST_YEAR, LAST_YEAR, generate, write};
use crate::guidance;
use crate::week::{Detail, render_week};
use std::path::PathBuf;

/// The site whose guidance ends the demo.
const SHOWN: &str = "long-bank";

/// Invents a reserve, loads and fits it, writes the digest and shows the week.
pub fn run(args: &Demo, streams: &mut Streams) -> Result<(), Failure> {
    let files = generate(args.seed, FIRST_YEAR, LAST_YEAR)?;
    let again = args.dir.join(config::FILE_NAME).exists();
    let mut paths = write(&args.dir, &files)?;
    writeln!(streams.err, "{FIRST_LINE}")?;
    if again {
        let dir = args.dir.display();
        streams.remark(&format!(
            "The earlier demo in {dir} was replaced; files of other names were left alone."
        ))?;
    }
    let report = load::load(&args.dir, streams)?;
    streams.remark(&format!(
        "Loaded {} records; the full report: wingtide --dir {} load",
        records(&report),
        args.dir.display()
    ))?;
    let mut session = Session::open(&args.dir)?;
    fit::fit(&mut session, streams)?;
    let written = digest::make(
        &mut session,
        Some(DEMO_DATE),
        &args.dir.join("digest"),
        streams.err,
    )?;
    paths.extend([written.html, written.text, written.mail]);
    let loaded = session.fitted_site(session.site(Some(SHOWN))?)?;
    let week = guidance::week(&loaded.view(), DEMO_DATE);
    let notices = compose::notices(&loaded.view(), DEMO_DATE);
    write!(
        streams.out,
        "{}",
        render_week(&week, &notices, Detail::Few, streams.width, streams.colour)
    )?;
    show_paths(&paths, args, streams)
}

fn records(report: &ingest::LoadReport) -> u64 {
    report.sites.iter().map(|s| s.records).sum()
}

fn show_paths(paths: &[PathBuf], args: &Demo, streams: &mut Streams) -> Result<(), Failure> {
    writeln!(streams.out, "\nFiles:")?;
    for path in paths {
        writeln!(streams.out, "  {}", path.display())?;
    }
    writeln!(
        streams.out,
        "\nNext, open digest.html in a browser, or look around:"
    )?;
    for command in [
        "week --site tern-lagoon --date 2026-07-15",
        "windows --site dune-wood",
        "year --site long-bank",
        "plan --from 2026-09-10 --to 2026-10-31",
        "load",
        "serve",
    ] {
        writeln!(
            streams.out,
            "  wingtide --dir {} {command}",
            args.dir.display()
        )?;
    }
    Ok(())
}

//! Every set that ships, wherever it is described, all members counted: two sides hold it.

use super::read;
use chrono::{NaiveDate, Utc};
use config::look_alikes::{LookAlikeSet, shipped};
use harness::places::skipped;
use harness::program::Workspace;
use notifier::handout::{About, Dress, Handout, browser};
use notifier::web::Snapshot;
use std::fmt::Write;
use std::time::Duration;

/// A site for each region, at which every member of every set was seen a few times.
fn everywhere(sets: &[LookAlikeSet]) -> Workspace {
    let ids: Vec<String> = sets.iter().map(|s| format!("{:?}", s.id)).collect();
    let mut settings = format!(
        "[workspace]\nname = \"Skerrow Ness\"\nkeeper = \"A. Warden\"\n[look_alikes]\nuse = [{}]\n\
         [[source]]\nid = \"counts\"\nkind = \"counts\"\nfile = \"counts.csv\"\nfully_reported = true\n\
         date_order = \"year-month-day\"\n\
         columns = {{ date = \"Date\", site = \"Site\", species = \"Bird\", count = \"Number\" }}\n",
        ids.join(", ")
    );
    let mut counts = "Date,Site,Bird,Number\n".to_owned();
    let mut regions: Vec<&str> = { sets.iter() }
        .flat_map(|s| s.regions())
        .map(|r| r.0.as_str())
        .collect();
    regions.sort_unstable();
    regions.dedup();
    for region in regions {
        let _ = write!(
            settings,
            "\n[[site]]\nid = \"{region}\"\nname = \"Station of the {region}\"\nlatitude = 50.0\n\
             longitude = 0.0\ntime_zone = \"Europe/London\"\nregion = \"{region}\"\n"
        );
        let mut members: Vec<&str> = { sets.iter() }
            .flat_map(|s| &s.members)
            .map(|m| m.species.as_str())
            .collect();
        members.sort_unstable();
        members.dedup();
        for (day, member) in members.iter().enumerate() {
            let _ = writeln!(counts, "2024-05-{:02},{region},{member},1", 1 + day % 28);
        }
    }
    let workspace = Workspace::empty()
        .with("wingtide.toml", settings)
        .with("counts.csv", counts);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

/// The lowest line of a page, millimetres.
fn lowest(svg: &str) -> f64 {
    let lines = svg.split("<text ").skip(1);
    let y = lines.filter_map(|l| {
        l.split("y=\"")
            .nth(1)?
            .split('"')
            .next()?
            .parse::<f64>()
            .ok()
    });
    y.fold(0.0, f64::max)
}

#[test]
fn every_set_fits_in_letters_that_can_be_read() {
    let sets = shipped().expect("sets");
    let workspace = everywhere(&sets);
    let snapshot = Snapshot::read(&workspace.path("")).expect("a workspace");
    let about = About {
        licence: None,
        whole: "the page of the set".to_owned(),
        date: NaiveDate::from_ymd_opt(2026, 9, 1).expect("a date"),
    };
    let (mut sides, mut joined) = (0, String::new());
    let mut shortened = None;
    for site in &snapshot.sites {
        let view = site.view(&snapshot.workspace).expect("counts");
        let sets = snapshot.workspace.look_alikes.iter();
        for set in sets.filter(|s| s.regions().contains(&site.site.region)) {
            let handout = Handout::of(&view, set, &about);
            let handout = handout.unwrap_or_else(|e| panic!("{}: {e}", set.id));
            for page in handout.pages().expect("pages") {
                assert!(lowest(&page) <= 285.0, "{}: {}", set.id, lowest(&page));
            }
            if sides == 0 {
                let pdf = handout.pdf(Utc::now()).expect("a PDF");
                assert!(pdf.starts_with(b"%PDF-"));
            }
            let page = handout.html(&Dress::Alone).expect("a page");
            if page.contains(LEFT_OUT) {
                shortened = Some((site.site.id.clone(), set.id.clone()));
            }
            if joined.is_empty() {
                joined.push_str(page.split("<section").next().expect("a head"));
            }
            let body = page.split_once("<section").expect("sides").1;
            let body = body.split("</main>").next().expect("sides");
            let _ = write!(joined, "<section{body}");
            sides += 2;
        }
    }
    assert!(sides >= 2 * sets.len(), "{sides}");
    joined.push_str("</main></body></html>\n");
    fits_a_browser(&joined, sides);
    let (site, set) = shortened.expect("a set of which something is left out");
    paper_names_what_its_reader_can_reach(&workspace, &site, &set);
}

const LEFT_OUT: &str = "Left out for want of room:";

/// Pupils have no program to run.
fn paper_names_what_its_reader_can_reach(workspace: &Workspace, site: &str, set: &str) {
    let rest = || {
        let path = workspace.run(&["handout", set, "--site", site]).works();
        let page = std::fs::read_to_string(path.trim_end()).expect("a page");
        let (_, rest) = page.split_once(LEFT_OUT).expect("something left out");
        rest.split("</p>").next().expect("its end").to_owned()
    };
    let bare = rest();
    assert!(
        bare.ends_with("all of it: ask the keeper of the counts."),
        "{bare}"
    );
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let service = "[service]\npublic_url = \"https://birds.skerrow.example\"\n";
    workspace.write("wingtide.toml", format!("{settings}\n{service}"));
    let served = rest();
    let page = format!("all of it: https://birds.skerrow.example/{site}/set/{set}.");
    assert!(served.ends_with(&page), "{served}");
    workspace.write(
        "wingtide.toml",
        format!("{settings}\n{service}pages = false\n"),
    );
    assert_eq!(rest(), bare, "no page is served");
}

/// With sides as high as their words make them, none goes on over a further page.
fn fits_a_browser(joined: &str, sides: usize) {
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let Some(chromium) = browser::found(&paths) else {
        return skipped("no browser: chromium");
    };
    let free = joined.replace("height: 273mm; ", "");
    assert_ne!(free, joined, "the style sheet has another height");
    let longest = Duration::from_secs(300);
    let pdf = browser::print(&chromium, &free, longest).expect("a PDF");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("all.pdf");
    std::fs::write(&path, pdf).expect("written");
    let Some((pages, _)) = read(&path) else {
        return skipped("Poppler's pdfinfo and pdftotext are absent");
    };
    assert_eq!(pages, sides);
}

//! Ten million counts: the rate of loading them beside that at which polars alone reads and groups
//! the same file, an unchanged load, a load of five thousand more, and what commands take on them.
//!
//! Every measurement is a process of its own, so that none hides the memory of another; the two
//! sides take turns, and the middle of three is told.

mod children;
mod survey;

use children::Child;
use std::path::Path;
use std::time::Duration;

/// Turns of each side.
const TURNS: usize = 3;

/// Longer than a file must have lain untouched for its looks to be trusted.
const UNTOUCHED: Duration = Duration::from_secs(3);

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    match &args[..] {
        [role, folder] if role == children::LOAD => return children::load(Path::new(folder)),
        [role, folder] if role == children::READ => return children::read(Path::new(folder)),
        _ => {}
    }
    let rows = std::env::var("ROWS").map_or(survey::ROWS, |rows| rows.parse().expect("a number"));
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = survey::write(folder.path(), rows);
    println!("{rows} rows, {} MiB, 1 in 1000 of them dirty", bytes >> 20);
    std::thread::sleep(UNTOUCHED);
    rates(folder.path(), rows);
    on_top(folder.path());
}

/// Both sides on the same file.
fn rates(folder: &Path, rows: usize) {
    let polars = children::build_polars();
    let (mut theirs, mut ours) = (Vec::new(), Vec::new());
    for turn in 0..TURNS {
        theirs.push(Child::run(&polars, &[&folder.join("counts.csv")]));
        theirs[turn].tell("polars alone");
        survey::clear(folder);
        ours.push(Child::of_this(children::LOAD, folder));
        ours[turn].tell("wingtide");
    }
    let (theirs, ours) = (Child::middle(theirs), Child::middle(ours));
    let rate = |child: &Child| rows as f64 / child.seconds / 1e6;
    println!(
        "polars alone reads and groups {:.2} million rows a second ({:.2} s), peak {:.0} MiB",
        rate(&theirs),
        theirs.seconds,
        theirs.peak_mib
    );
    println!(
        "wingtide loads {:.2} million rows a second ({:.2} s), peak {:.0} MiB: {:.2} of the rate",
        rate(&ours),
        ours.seconds,
        ours.peak_mib,
        theirs.seconds / ours.seconds
    );
}

/// What is done with a store that holds the rows.
fn on_top(folder: &Path) {
    Child::of_this(children::LOAD, folder).tell("unchanged");
    Child::of_this(children::READ, folder).tell("history of a site");
    children::program(folder, &["load"]);
    children::program(folder, &["load"]);
    survey::write_more(folder);
    std::thread::sleep(UNTOUCHED);
    Child::of_this(children::LOAD, folder).tell("5000 rows more");
    children::program(folder, &["load"]);
    children::program(folder, &["batches"]);
}

//! Drills: the program stopped at any moment, and on disks without room.
//!
//! `cargo test --release --workspace --test drill -- loads --kills 200 --seed 1` is the whole drill
//! of loads, `-- deliveries --kills 100 --seed 1` that of sending digests. Run with the other tests it
//! does a twentieth of each.

mod deliveries;
mod loads;
mod moments;
mod program;
mod small_disk;

use clap::Parser;
use std::process::ExitCode;

#[derive(Debug, Parser)]
#[command(name = "drill")]
enum Drill {
    /// `wingtide` killed at random moments of what changes its store, and run on full disks
    Loads(loads::Args),
    /// Digests to many readers: a foul mail server, kills, clocks that step, disks that fill
    Deliveries(deliveries::Args),
}

fn main() -> ExitCode {
    if let Some(code) = program::as_the_program() {
        return code;
    }
    let args: Vec<String> = std::env::args().skip(1).collect();
    match args.first().map(String::as_str) {
        Some("loads" | "deliveries") => match Drill::parse() {
            Drill::Loads(args) => loads::run(&args),
            Drill::Deliveries(args) => deliveries::run(&args),
        },
        _ => among_tests(&args),
    }
    ExitCode::SUCCESS
}

/// Called with all other tests, whose runner hands its own arguments to every one: those that
/// begin with a dash, and parts of the names of tests that are wanted.
fn among_tests(args: &[String]) {
    if args.iter().any(|a| a == "--list") {
        println!("loads: test\ndeliveries: test");
        return;
    }
    let words: Vec<&String> = args.iter().filter(|a| !a.starts_with('-')).collect();
    let is_wanted =
        |name: &str| words.is_empty() || words.iter().any(|w| name.contains(w.as_str()));
    if is_wanted("drill::loads") {
        loads::run(&loads::Args::twentieth());
    }
    if is_wanted("drill::deliveries") {
        deliveries::run(&deliveries::Args::twentieth());
    }
}

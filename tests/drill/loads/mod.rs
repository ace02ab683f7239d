//! What changes a store, killed at random moments and run on disks that fill: the store opens
//! afterwards, says what it said before or what it says after, nothing is left behind, and the
//! command done again leads to where it would have led.

mod full_disks;
mod kills;
mod scene;
mod state;

use crate::program::Program;
use scene::Scene;
use std::path::PathBuf;

/// How much of it.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Times that a command is killed
    #[arg(long, default_value_t = 200)]
    kills: usize,
    /// Seed of the moments
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// The program's own file; this drill is the program where left out
    #[arg(long, value_name = "FILE")]
    program: Option<PathBuf>,
    /// Only commands whose name holds this
    #[arg(long, value_name = "WORDS", default_value = "")]
    only: String,
    /// Fill disks under one command alone
    #[arg(long)]
    one_disk: bool,
}

impl Args {
    /// What is done with all other tests.
    pub fn twentieth() -> Self {
        Args {
            kills: 10,
            seed: 1,
            program: None,
            only: String::new(),
            one_disk: true,
        }
    }
}

/// Does it; stops at the first thing that is not as it should be.
pub fn run(args: &Args) {
    let program = Program::new(args.program.as_deref());
    let mut scene = Scene::build(&program);
    scene.steps.retain(|step| step.name.contains(&args.only));
    assert!(
        !scene.steps.is_empty(),
        "no command is called {}",
        args.only
    );
    kills::run(&program, &scene, args.kills, args.seed);
    let disks = match args.one_disk {
        true => 1..2,
        false => 0..scene.steps.len(),
    };
    let range = disks.start.min(scene.steps.len() - 1)..disks.end.min(scene.steps.len());
    full_disks::run(&program, &scene.steps[range]);
}

//! Digests to many readers: a server that refuses, stalls, hangs up and puts off; the program
//! killed at random moments of a send; clocks that step; a disk that fills. Every reader who is not
//! refused for good gets each digest; second copies have the same Message-ID, are told of, and are
//! at most one for each session that was open.

mod clocks;
mod disks;
mod scene;

use crate::program::{Place, Program};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;
use scene::{SESSIONS, Scene, Weather};
use std::path::PathBuf;
use std::time::Duration;

/// How much of it.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Times that a send is killed
    #[arg(long, default_value_t = 100)]
    kills: usize,
    /// Readers of each digest
    #[arg(long, default_value_t = 1000)]
    readers: usize,
    /// Seed of the moments
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// The program's own file; this drill is the program where left out
    #[arg(long, value_name = "FILE")]
    program: Option<PathBuf>,
}

impl Args {
    /// What is done with all other tests.
    pub fn twentieth() -> Self {
        Args {
            kills: 5,
            readers: 1000,
            seed: 1,
            program: None,
        }
    }
}

/// Does it; stops at the first thing that is not as it should be.
pub fn run(args: &Args) {
    let program = Program::new(args.program.as_deref());
    let home = tempfile::tempdir().expect("a folder");
    let place = Place::new(&home.path().join("main"));
    let mut scene = Scene::new(args.readers);
    scene.build(&program, &place, 3);
    foul(&program, &place, &mut scene);
    let took = kills(&program, &place, &mut scene, args);
    clocks::run(&program, &place, &mut scene);
    disks::run(&program, (&place, home.path()), took, &mut scene);
}

/// Nothing is killed, so nothing arrives twice, whatever the server does.
fn foul(program: &Program, place: &Place, scene: &mut Scene) {
    let date = scene.next(Weather::Foul);
    program.run(place, &["digest", "--send", "--date", &date]);
    scene.to_the_end(program, place);
    let found = scene.hold(program, place);
    assert_eq!(found.twice, 0, "{found:?}");
    println!(
        "deliveries: a foul server: {} readers, {} refused for good, none twice",
        scene.readers, found.refused
    );
}

/// Gives how long a send takes that nothing disturbs.
fn kills(program: &Program, place: &Place, scene: &mut Scene, args: &Args) -> Duration {
    let date = scene.next(Weather::Rough);
    let took = program
        .run(place, &["digest", "--send", "--date", &date])
        .took;
    scene.to_the_end(program, place);
    scene.hold(program, place);
    let mut random = Pcg64Mcg::seed_from_u64(args.seed);
    let (mut under_way, mut twice, mut most, mut in_doubt) = (0, 0, 0, 0);
    for kill in 0..args.kills {
        let date = scene.next(Weather::Rough);
        let send = ["digest", "--send", "--date", &date];
        let moment = took.mul_f64(random.random_range(0.0..1.05));
        under_way += usize::from(program.kill(place, &send, moment));
        let again = program.run(place, &send);
        assert!(again.worked, "kill {kill} after {moment:?}: {}", again.err);
        scene.to_the_end(program, place);
        let found = scene.hold(program, place);
        assert!(
            found.twice <= SESSIONS,
            "kill {kill} after {moment:?}: {found:?}"
        );
        twice += found.twice;
        most = most.max(found.twice);
        in_doubt += found.in_doubt;
    }
    println!(
        "deliveries: {} kills of a send of {:.1} s to {} readers, {under_way} of them under way: \
         {twice} second copies, at most {most} a kill with {SESSIONS} sessions, {in_doubt} told of \
         as in doubt",
        args.kills,
        Duration::as_secs_f64(&took),
        args.readers,
    );
    took
}

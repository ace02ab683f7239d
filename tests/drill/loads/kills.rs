//! Each command killed at random moments.

use super::scene::{Scene, Step};
use super::state::State;
use crate::moments::Moments;
use crate::program::{Place, Program};

/// What became of the kills of one command.
#[derive(Default)]
struct Tally {
    kills: usize,
    /// Killed while it ran; the others had ended.
    running: usize,
    before: usize,
    after: usize,
}

/// Kills so many times, each command in its turn.
pub fn run(program: &Program, scene: &Scene, kills: usize, seed: u64) {
    let mut moments = Moments::new(seed);
    let mut tallies: Vec<Tally> = scene.steps.iter().map(|_| Tally::default()).collect();
    for number in 0..kills {
        let which = number % scene.steps.len();
        let tally = &mut tallies[which];
        kill(program, &scene.steps[which], number, &mut moments, tally);
    }
    let sum = |of: fn(&Tally) -> usize| tallies.iter().map(of).sum::<usize>();
    println!(
        "loads: {} kills with seed {seed}, {} of a program that ran: {} stores as before, {} as after",
        sum(|t| t.kills),
        sum(|t| t.running),
        sum(|t| t.before),
        sum(|t| t.after)
    );
    for (step, tally) in scene.steps.iter().zip(&tallies) {
        println!(
            "  {}: {} kills within {} ms, {} of a program that ran, {} as before, {} as after",
            step.name,
            tally.kills,
            step.took.as_millis(),
            tally.running,
            tally.before,
            tally.after
        );
    }
}

fn kill(program: &Program, step: &Step, number: usize, moments: &mut Moments, tally: &mut Tally) {
    let folder = tempfile::tempdir().expect("a folder of our own");
    let place = Place::copy(folder.path(), &step.template);
    let moment = moments.within(step.took);
    let running = program.kill(&place, &step.args(), moment);
    let what = format!("kill {number}, {}, after {moment:?}", step.name);
    tally.kills += 1;
    tally.running += usize::from(running);
    let state = State::of(program, &place);
    let is_after = state == step.after;
    assert!(
        is_after || state == step.before,
        "{what}: the store says neither what it said before nor what it says after: {state:?}"
    );
    match is_after {
        true => tally.after += 1,
        false => tally.before += 1,
    }
    done_again(program, step, &place, is_after, &what);
}

/// The command done again leads to where it would have led, and nothing is left behind.
pub fn done_again(program: &Program, step: &Step, place: &Place, is_after: bool, what: &str) {
    let said = if is_after { step.again() } else { Some("") };
    if let Some(said) = said {
        let ran = program.run(place, &step.args());
        let works = ran.worked == said.is_empty() && ran.err.contains(said);
        assert!(works, "{what}: not to be done again: {}", ran.err);
    }
    assert_eq!(State::of(program, place), step.after, "{what}, done again");
    assert_eq!(place.names(), step.names, "{what}: files left behind");
}

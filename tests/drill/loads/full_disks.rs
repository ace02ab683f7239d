//! Each command on disks that fill, from no room at all up to enough.

use super::kills::done_again;
use super::scene::Step;
use super::state::State;
use crate::program::{Place, Program, walk};
use crate::small_disk::SmallDisk;

/// A page of memory, in which small disks give room, KiB.
const PAGE_KIB: u64 = 4;

/// More room than any of the commands needs, KiB.
const ENOUGH_KIB: u64 = 64 << 10;

/// Fills disks under each of the commands.
pub fn run(program: &Program, steps: &[Step]) {
    for step in steps {
        let (mut before, mut after, mut room) = (0, 0, 0);
        // what it takes, then a page more, two, four and so on
        while !on_a_disk_with(program, step, room, &mut before, &mut after) {
            room = (2 * room).max(PAGE_KIB);
            assert!(room < ENOUGH_KIB, "{}: it never has room enough", step.name);
        }
        println!(
            "full disks: {}: {before} stores as before, {after} as after, enough with {room} KiB",
            step.name
        );
    }
}

/// Does the command work on a disk with so much room left? Where it does not, it says why, and the
/// store opens as before or after.
fn on_a_disk_with(
    program: &Program,
    step: &Step,
    room: u64,
    before: &mut usize,
    after: &mut usize,
) -> bool {
    let folder = tempfile::tempdir().expect("a folder of our own");
    let disk = SmallDisk::at(folder.path(), taken(step) + room);
    let place = Place::copy(folder.path(), &step.template);
    let kib = if disk.is_mounted() { 0 } else { room };
    let ran = disk.program(program, kib).run(&place, &step.args());
    let what = format!("{} with {room} KiB of room", step.name);
    if ran.worked {
        assert_eq!(State::of(program, &place), step.after, "{what}");
        return true;
    }
    let told = ran.err.replace('\n', " ");
    let clear = ["the disk is full", "make room", "mend that"];
    assert!(
        clear.iter().filter(|words| told.contains(**words)).count() > 1,
        "{what}: not told clearly: {told}"
    );
    if step.is_older {
        disk.grow(ENOUGH_KIB); // opening it needs room
    }
    let state = State::of(program, &place);
    let is_after = state == step.after;
    assert!(is_after || state == step.before, "{what}: {state:?}");
    *before += usize::from(!is_after);
    *after += usize::from(is_after);
    disk.grow(ENOUGH_KIB);
    done_again(program, step, &place, is_after, &what);
    false
}

/// Room that the workspace takes as it stands before, KiB.
fn taken(step: &Step) -> u64 {
    let mut pages = 0;
    walk(&step.template, &mut |path| {
        let bytes = path.metadata().map_or(0, |about| about.len());
        pages += bytes.div_ceil(PAGE_KIB << 10).max(1);
    });
    // the disk's own folder, and those of the workspace and of what is written in passing
    (pages + 3) * PAGE_KIB
}

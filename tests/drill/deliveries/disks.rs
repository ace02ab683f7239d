//! A disk that fills while a digest goes out.

use super::scene::{SESSIONS, Scene, Weather};
use crate::program::{Place, Program, walk};
use crate::small_disk::SmallDisk;
use std::io::Write;
use std::path::Path;
use std::time::Duration;

/// Room beside the reserve with its store, which grows with the digests sent before, for the log of
/// a send.
const ROOM_KIB: u64 = 16 << 10;

pub fn run(program: &Program, (of, home): (&Place, &Path), took: Duration, scene: &mut Scene) {
    let root = home.join("small");
    std::fs::create_dir(&root).expect("a folder");
    let disk = SmallDisk::at(&root, kib(&of.workspace()) + ROOM_KIB);
    if !disk.is_mounted() {
        harness::places::skipped("no small disk can be mounted, so none was filled under a send");
        return;
    }
    let place = Place::copy(&root, &of.workspace());
    let mut told = 0;
    for (after, back_after) in [(0.4, Some(2.0)), (0.7, None), (0.2, None)] {
        let date = scene.next(Weather::Rough);
        let send = ["digest", "--send", "--date", &date];
        let child = program.start(&place, &send);
        std::thread::sleep(took.mul_f64(after));
        let filler = fill(&root);
        if let Some(seconds) = back_after {
            std::thread::sleep(Duration::from_secs_f64(seconds));
            std::fs::remove_file(&filler).expect("the room is given back");
        }
        let ended = child.wait_with_output().expect("it ends");
        let ended = String::from_utf8_lossy(&ended.stderr).into_owned();
        told += usize::from(ended.contains("the disk is full"));
        // it may have been given back already
        let _ = std::fs::remove_file(&filler);
        let again = program.run(&place, &send);
        assert!(again.worked, "{}", again.err);
        scene.to_the_end(program, &place);
        let found = scene.hold(program, &place);
        assert!(found.twice <= SESSIONS, "{found:?}");
    }
    println!("deliveries: 3 disks filled under a send, {told} told of: nothing lost");
}

/// What a folder takes, each file in whole pages.
fn kib(folder: &Path) -> u64 {
    let mut kib = 0;
    walk(folder, &mut |path| {
        let bytes = std::fs::metadata(path).expect("it is there").len();
        kib += bytes.div_ceil(4096).max(1) * 4;
    });
    kib
}

/// A file that takes all the room there is.
fn fill(root: &Path) -> std::path::PathBuf {
    let path = root.join("filler");
    let mut file = std::fs::File::create(&path).expect("a file");
    let block = [7; 4096];
    while file.write_all(&block).is_ok() {}
    path
}

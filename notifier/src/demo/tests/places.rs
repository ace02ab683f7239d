//! Writing the demo to a folder, and keeping off other people's.

use super::*;
use std::fs;

fn small() -> DemoFiles {
    generate(1, 2020, 2020).unwrap()
}

#[test]
fn a_new_folder_gets_all_files_and_nothing_else() {
    let place = tempfile::tempdir().unwrap();
    let dir = place.path().join("deep/demo");
    let files = small();
    let paths = write(&dir, &files).unwrap();
    for (path, (name, text)) in paths.iter().zip(files.named()) {
        assert_eq!(*path, dir.join(name));
        assert_eq!(fs::read_to_string(path).unwrap(), text);
    }
    assert_eq!(fs::read_dir(&dir).unwrap().count(), paths.len());
}

#[test]
fn a_demo_is_written_anew_and_other_files_in_it_stay() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), &small()).unwrap();
    fs::write(dir.path().join("notes.txt"), "mine").unwrap();
    fs::write(dir.path().join("counts.csv"), "spoilt").unwrap();
    write(dir.path(), &small()).unwrap();
    let read = |name: &str| fs::read_to_string(dir.path().join(name)).unwrap();
    assert_eq!(read("counts.csv"), small().counts);
    assert_eq!(read("notes.txt"), "mine");
}

#[test]
fn a_folder_with_somebodys_work_is_refused_and_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    for (name, text) in [("counts.csv", "mine"), ("README.txt", "My counts\n")] {
        fs::write(dir.path().join(name), text).unwrap();
    }
    let refused = write(dir.path(), &small()).unwrap_err();
    assert!(matches!(refused, DemoError::NotADemo(_)));
    assert!(
        refused
            .to_string()
            .starts_with(&dir.path().display().to_string())
    );
    assert_eq!(
        fs::read_to_string(dir.path().join("counts.csv")).unwrap(),
        "mine"
    );
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 2);
}

#[test]
fn a_file_in_the_folders_place_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("demo");
    fs::write(&file, "mine").unwrap();
    let refused = write(&file, &small()).unwrap_err();
    assert!(matches!(refused, DemoError::NotAFolder(_)), "{refused}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn a_failed_attempt_leaves_no_half_of_a_demo() {
    let dir = tempfile::tempdir().unwrap();
    // A folder where the last file has to be staged makes the disk refuse half-way.
    write(dir.path(), &small()).unwrap();
    let before = fs::read_to_string(dir.path().join("counts.csv")).unwrap();
    fs::create_dir(dir.path().join("truth.csv.part")).unwrap();
    let refused = write(dir.path(), &generate(2, 2020, 2020).unwrap()).unwrap_err();
    assert!(matches!(refused, DemoError::Disk { .. }), "{refused}");
    assert_eq!(
        fs::read_to_string(dir.path().join("counts.csv")).unwrap(),
        before
    );
    assert!(!dir.path().join("README.txt.part").exists());
}

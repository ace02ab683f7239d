//! The unit and the container file: what they start is what the program understands.

use harness::places::{repository, skipped};
use harness::program::typed;
use harness::readme::{blocks, section};
use std::process::Command;

fn deploy(name: &str) -> String {
    let path = repository().join("config/deploy").join(name);
    std::fs::read_to_string(path).expect("it is there")
}

/// Values of a key of the unit, in order.
fn values(unit: &str, key: &str) -> Vec<String> {
    let lines = unit
        .lines()
        .filter_map(|l| l.strip_prefix(key)?.strip_prefix('='));
    lines.map(str::to_owned).collect()
}

/// The command line is understood: in a folder that is no workspace, that is what is wrong.
fn is_understood(args: &[&str]) {
    let nowhere = tempfile::tempdir().expect("a folder");
    let nowhere = nowhere.path().to_str().expect("a plain path");
    let dir = args.iter().position(|a| *a == "--dir").expect("--dir") + 1;
    let mut args = args.to_vec();
    args[dir] = nowhere;
    let ran = typed(&args);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(ran.err.contains("there is no such file in"), "{}", ran.err);
}

#[test]
fn the_unit_starts_what_the_program_understands_and_lets_it_write_its_workspace_alone() {
    let unit = deploy("wingtide.service");
    let [start] = &values(&unit, "ExecStart")[..] else {
        panic!("one command");
    };
    let words: Vec<&str> = start.split(' ').collect();
    assert_eq!(words[0], "/usr/local/bin/wingtide");
    is_understood(&words[1..]);
    assert!(words.ends_with(&["serve"]));
    let workspace = words[words.iter().position(|w| *w == "--dir").expect("--dir") + 1];
    assert_eq!(values(&unit, "ReadWritePaths"), [workspace]);
    assert_eq!(values(&unit, "ProtectSystem"), ["strict"]);
    assert_eq!(values(&unit, "CapabilityBoundingSet"), [""]);
    assert_ne!(values(&unit, "User"), ["root"]);
    // a stop that waits for a step must not be cut short
    let patience: u32 = values(&unit, "TimeoutStopSec")[0].parse().expect("seconds");
    assert!(
        patience > 3 * 20,
        "the step, the mails and the pages under way"
    );
}

#[test]
fn systemd_finds_nothing_wrong_with_the_unit() {
    if Command::new("systemd-analyze")
        .arg("--version")
        .output()
        .is_err()
    {
        return skipped("the unit: there is no systemd-analyze on this machine");
    }
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("wingtide.service");
    // the program need not be installed for its unit to be right
    let program = std::env::current_exe().expect("this program");
    let unit = deploy("wingtide.service");
    let unit = unit.replace(
        "/usr/local/bin/wingtide",
        program.to_str().expect("a plain path"),
    );
    std::fs::write(&path, unit).expect("a unit");
    let verify = Command::new("systemd-analyze")
        .args(["verify", "--man=no"])
        .arg(&path)
        .output();
    let verify = verify.expect("systemd-analyze");
    let said = String::from_utf8_lossy(&verify.stderr);
    let ours: Vec<&str> = said
        .lines()
        .filter(|l| l.contains("wingtide.service"))
        .collect();
    assert!(ours.is_empty(), "{ours:?}");
}

#[test]
fn the_container_starts_what_the_program_understands_and_not_as_root() {
    let file = deploy("Containerfile");
    let list = |word: &str| -> Vec<String> {
        let line = file
            .lines()
            .find_map(|l| l.strip_prefix(word))
            .expect("the line");
        serde_json::from_str(line.trim()).expect("a list")
    };
    let (entry, command) = (list("ENTRYPOINT"), list("CMD"));
    let words: Vec<&str> = entry.iter().chain(&command).map(String::as_str).collect();
    assert_eq!(words[0], "wingtide");
    is_understood(&words[1..]);
    let user = file
        .lines()
        .find_map(|l| l.strip_prefix("USER "))
        .expect("a user");
    assert!(user.parse::<u32>().is_ok_and(|id| id > 0), "{user}");
    assert!(file.lines().any(|l| l == "VOLUME /workspace"));
}

#[test]
fn the_settings_that_the_readme_shows_are_understood() {
    let shown = blocks(&section("Run it as a service"), "toml").concat();
    let settings = format!("{}{shown}", super::scene::settings());
    let none = |_: &std::path::Path| Err(std::io::ErrorKind::NotFound.into());
    let workspace = config::parse(&settings, std::path::Path::new("/reserve"), none);
    let service = workspace.expect("settings").service;
    assert_eq!(service.digest.to_string(), "30 6 * * mon");
    assert_eq!(service.time_zone, Some(chrono_tz::Tz::Europe__London));
}

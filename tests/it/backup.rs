//! A workspace packed while others work on it, and taken out again.

use crate::service::scene::{counts, settings, workspace};
use harness::program::{Ran, Workspace, typed, wingtide};
use notifier::service::tables;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

/// A look-alike set of the workspace's own.
const OWN_SET: &str = "\n[look_alikes]\n[[look_alikes.set]]\nid = \"mine\"\ntitle = \"Mine\"\n\
    members = [\"Calidris minuta\", \"Calidris alpina\"]\n";

fn loaded() -> Workspace {
    let workspace = workspace().with("wingtide.toml", settings() + OWN_SET);
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    workspace
}

fn backup(workspace: &Workspace, to: &Path) -> Ran {
    workspace.run(&["backup", to.to_str().expect("a plain path")])
}

fn restore(archive: &Path, into: &Path) -> Ran {
    let [archive, into] = [archive, into].map(|p| p.to_str().expect("a plain path"));
    typed(&["restore", archive, "--into", into])
}

/// What a workspace answers.
fn told(dir: &Path) -> [Value; 3] {
    let week = ["week", "--date", "2026-09-09", "--json"];
    let commands = [&["batches", "--json"][..], &["windows", "--json"], &week];
    commands.map(|args| {
        let mut told = wingtide(dir, args).json();
        // the ledger's copy has no gaps
        if let Some(disk) = told.get_mut("disk") {
            disk["ledger"] = Value::Null;
        }
        told
    })
}

/// What an archive holds, by name.
type Parts = BTreeMap<String, Vec<u8>>;

fn parts(archive: &Path) -> Parts {
    let mut zip = ZipArchive::new(File::open(archive).expect("a file")).expect("an archive");
    let names = zip.file_names().map(|n| n.expect("a name").into_owned());
    let names: Vec<String> = names.collect();
    let part = |name: String| {
        let mut bytes = Vec::new();
        let mut file = zip.by_name(&name).expect("a part");
        file.read_to_end(&mut bytes).expect("its bytes");
        (name.clone(), bytes)
    };
    names.into_iter().map(part).collect()
}

fn write_parts(archive: &Path, parts: &Parts) {
    let mut zip = ZipWriter::new(File::create(archive).expect("a file"));
    for (name, bytes) in parts {
        zip.start_file(name, SimpleFileOptions::default())
            .expect("a part");
        zip.write_all(bytes).expect("its bytes");
    }
    zip.finish().expect("an archive");
}

#[test]
fn what_is_restored_answers_as_what_was_packed() {
    let workspace = loaded();
    let conn = tables::open(&workspace.path("")).expect("tables");
    conn.execute(
        "INSERT INTO troubles (at, sentence) VALUES ('2026-09-07T05:30:00Z', 'x')",
        [],
    )
    .expect("a row");
    let elsewhere = tempfile::tempdir().expect("a folder");
    let archive = elsewhere.path().join("skerrow.zip");
    backup(&workspace, &archive).works();
    let into = elsewhere.path().join("restored");
    let ran = restore(&archive, &into);
    assert!(ran.err.contains("Put back: "), "{}", ran.err);
    ran.works();
    assert_eq!(told(&into), told(&workspace.path("")));
    let settings = |dir: &Path| std::fs::read(dir.join("wingtide.toml")).expect("settings");
    assert_eq!(settings(&into), settings(&workspace.path("")));
    let restored = tables::open(&into).expect("tables");
    let rows = restored.query_row("SELECT count(*) FROM troubles", [], |row| row.get(0));
    assert_eq!(rows, Ok(1_i64));
    // with its sources put back it goes on
    std::fs::copy(workspace.path("counts.csv"), into.join("counts.csv")).expect("put back");
    let again = wingtide(&into, &["load", "--json"]).json();
    assert_eq!(again["unchanged"], true);
    let left = std::fs::read_dir(elsewhere.path())
        .expect("a folder")
        .count();
    assert_eq!(left, 2, "nothing else is left behind");
}

#[test]
#[cfg(unix)]
fn an_archive_is_for_its_owner_alone_and_its_folder_for_all() {
    use std::os::unix::fs::PermissionsExt;
    let workspace = loaded();
    let elsewhere = tempfile::tempdir().expect("a folder");
    let archive = elsewhere.path().join("skerrow.zip");
    backup(&workspace, &archive).works();
    let mode = |path: &Path| path.metadata().expect("a file").permissions().mode() & 0o777;
    assert_eq!(mode(&archive), 0o600);
    let into = elsewhere.path().join("restored");
    restore(&archive, &into).works();
    assert_eq!(mode(&into.join("wingtide-store/ledger.sqlite")), 0o600);
    let usual = elsewhere.path().join("usual");
    std::fs::create_dir(&usual).expect("a folder");
    assert_eq!(mode(&into), mode(&usual));
}

/// Loads that replace one another, each with another number of rows, while backups are made: every
/// archive holds one of them, whole.
#[test]
fn a_backup_during_loads_holds_one_of_them() {
    let workspace = loaded();
    let elsewhere = tempfile::tempdir().expect("a folder");
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for extra in 1.. {
                if done.load(Ordering::Relaxed) {
                    break;
                }
                let more = format!("{}30/09/2025,Dunlin,{extra}\n", counts());
                workspace.write("counts.csv", more);
                workspace.run(&["load"]).works();
            }
        });
        for number in 0..8 {
            let archive = elsewhere.path().join(format!("{number}.zip"));
            let ran = backup(&workspace, &archive);
            let into = elsewhere.path().join(format!("restored-{number}"));
            let listed = (ran.code == 0).then(|| {
                restore(&archive, &into).works();
                wingtide(
                    &into,
                    &[
                        "export",
                        "--format",
                        "csv",
                        "--out",
                        into.join("out").to_str().expect("a path"),
                    ],
                )
            });
            if listed.as_ref().is_none_or(|l| l.code != 0) || number == 7 {
                done.store(true, Ordering::Relaxed);
            }
            let listed = listed.unwrap_or_else(|| panic!("{}", ran.err));
            assert_eq!(listed.code, 0, "{}", listed.err);
        }
    });
}

#[test]
fn nothing_is_overwritten() {
    let workspace = loaded();
    let elsewhere = tempfile::tempdir().expect("a folder");
    let archive = elsewhere.path().join("skerrow.zip");
    backup(&workspace, &archive).works();
    let before = std::fs::read(&archive).expect("the archive");
    let said = backup(&workspace, &archive).fails();
    assert!(said.contains("is there already"), "{said}");
    assert_eq!(std::fs::read(&archive).expect("the archive"), before);
    let store = workspace.store();
    let said = restore(&archive, &workspace.path("")).fails();
    assert!(said.contains("is not empty"), "{said}");
    assert_eq!(workspace.store(), store);
    // an empty folder is as good as none
    let empty = elsewhere.path().join("empty");
    std::fs::create_dir(&empty).expect("a folder");
    restore(&archive, &empty).works();
}

#[test]
fn an_archive_that_is_not_what_was_packed_restores_nothing() {
    let workspace = loaded();
    let elsewhere = tempfile::tempdir().expect("a folder");
    let archive = elsewhere.path().join("skerrow.zip");
    backup(&workspace, &archive).works();
    let whole = parts(&archive);
    let spoilt = elsewhere.path().join("spoilt.zip");
    let into = elsewhere.path().join("restored");
    let refused = |change: &dyn Fn(&mut Parts), words: &str| {
        let mut parts = whole.clone();
        change(&mut parts);
        write_parts(&spoilt, &parts);
        let said = restore(&spoilt, &into).fails();
        assert!(said.contains(words), "{words}: {said}");
        assert!(!into.exists(), "{words}");
    };
    let ledger = "wingtide-store/ledger.sqlite";
    refused(
        &|p| p.get_mut(ledger).expect("the ledger")[200] ^= 1,
        "is not what was packed",
    );
    refused(
        &|p| p.get_mut(ledger).expect("the ledger").push(0),
        "is not what was packed",
    );
    refused(&|p| drop(p.remove(ledger)), "is missing");
    refused(
        &|p| drop(p.insert("more.txt".into(), vec![1])),
        "is not in the manifest",
    );
    refused(
        &|p| drop(p.remove("manifest.json")),
        "is no backup of a workspace",
    );
    let manifest = |from: &'static str, to: &'static str| {
        move |parts: &mut Parts| {
            let text = parts.get_mut("manifest.json").expect("the manifest");
            *text = String::from_utf8_lossy(text).replace(from, to).into_bytes();
        }
    };
    refused(
        &manifest("wingtide-store/ledger.sqlite", "../ledger.sqlite"),
        "leads out of",
    );
    refused(
        &manifest("\"form\": 1", "\"form\": 2"),
        "made by a newer Wingtide",
    );
    std::fs::write(&spoilt, "no archive").expect("a file");
    let said = restore(&spoilt, &into).fails();
    assert!(said.contains("is no backup of a workspace"), "{said}");
}

//! What every command shows keeps to 80 columns, data and words alike; JSON and the log of the
//! service are no screens.

use harness::program::{Ran, Workspace, typed};
use unicode_width::UnicodeWidthStr;

const COLUMNS: usize = 80;

/// On the demo, in an order in which each finds what it needs; DIR stands for a folder of its own.
const COMMANDS: [&str; 30] = [
    "demo DIR/reserve",
    "load",
    "load --again",
    "fit",
    "windows",
    "curve --site long-bank --species Dunlin",
    "week --site long-bank --date 2026-09-09 --record",
    "week --site long-bank --date 2026-06-01 --all",
    "week --site dune-wood --date 2026-02-02 --without-pending",
    "season --site long-bank --date 2026-09-09 --all --chart DIR/season.svg --page DIR/season.html",
    "season --site dune-wood --season 2010-autumn --all",
    "set",
    "set small-sandpipers",
    "set large-gulls --region western-palearctic --date 2026-09-09",
    "handout small-sandpipers --site long-bank --out DIR/handouts",
    "year --site long-bank --out DIR/year.svg",
    "practice --birds 2 --out DIR/handouts",
    "plan --from 2026-08-01 --to 2026-10-31 --date 2026-08-01 --rain 3 --keep",
    "digest --date 2026-09-09 --out DIR/digest",
    "deliveries",
    "second-look --since 2015-01-01",
    "second-look --answers",
    "backtest --from 2025 --to 2025 --site dune-wood --chart DIR/backtest.svg",
    "batches",
    "batches 2",
    "erase-observer --all",
    "backup DIR/reserve.zip",
    "restore DIR/reserve.zip --into DIR/again",
    "export --format csv --out DIR/passed-on",
    "undo 2",
];

/// Lines as they are where the program runs beside the `folder` that it names.
fn hold(command: &str, ran: &Ran, folder: &str) {
    for line in ran.out.lines().chain(ran.err.lines()) {
        let line = line.replace(folder, "");
        let width = line.width();
        assert!(width <= COLUMNS, "{command}: {width} columns: {line}");
    }
}

#[test]
fn every_command_keeps_to_the_screen() {
    let workspace = Workspace::empty();
    let own = workspace.path("");
    let own = own.to_str().expect("a plain path").trim_end_matches('/');
    let reserve = format!("{own}/reserve");
    for command in COMMANDS {
        let words = command.split(' ').map(|w| w.replace("DIR", own));
        let words: Vec<String> = ["--dir".to_owned(), reserve.clone()]
            .into_iter()
            .chain(words)
            .collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let ran = typed(&words);
        assert_eq!(ran.code, 0, "{command}: {}", ran.err);
        assert!(
            !(ran.out.is_empty() && ran.err.is_empty()),
            "{command} says nothing"
        );
        hold(command, &ran, &format!("{own}/"));
    }
}

#[test]
fn every_help_keeps_to_the_screen() {
    let help = typed(&["--help"]);
    let (_, list) = help.out.split_once("Commands:\n").expect("a list");
    let list = list.lines().take_while(|l| !l.is_empty());
    let names = list.filter_map(|l| l.strip_prefix("  ").filter(|l| !l.starts_with(' ')));
    let names: Vec<&str> = names.filter_map(|l| l.split(' ').next()).collect();
    assert!(names.len() > 20, "{names:?}");
    hold("--help", &help, "\n");
    for name in names.into_iter().filter(|n| *n != "help") {
        let ran = typed(&[name, "--help"]);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
        hold(name, &ran, "\n");
    }
    let answer = typed(&["second-look", "answer", "--help"]);
    assert_eq!(answer.code, 0, "{}", answer.err);
    hold("second-look answer", &answer, "\n");
}

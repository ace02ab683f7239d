//! The processes that are measured, and what they say of themselves.

use chrono::Utc;
use ingest::Store;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

/// Loads the workspace.
pub const LOAD: &str = "measure-load";
/// Reads the history of a site.
pub const READ: &str = "measure-read";

/// A process that came to its end.
pub struct Child {
    /// Time of what it was to do, without its start.
    pub seconds: f64,
    /// The most memory that it held.
    pub peak_mib: f64,
    /// What else it says.
    said: String,
}

impl Child {
    /// This program in another role.
    pub fn of_this(role: &str, folder: &Path) -> Self {
        let own = std::env::current_exe().expect("a path");
        Child::run(&own, &[Path::new(role), folder])
    }

    /// A program that prints its seconds, its peak in KiB and whatever else it has to say.
    pub fn run(program: &Path, args: &[&Path]) -> Self {
        let mut command = Command::new(program);
        let output = command.args(args).stderr(Stdio::inherit()).output();
        let output = output.expect("a process");
        assert!(output.status.success(), "{program:?}: {}", output.status);
        let text = String::from_utf8(output.stdout).expect("text");
        let mut parts = text.trim().splitn(3, ' ');
        let mut number = || parts.next().and_then(|n| n.parse().ok()).expect("a number");
        let (seconds, peak_kib): (f64, f64) = (number(), number());
        Child {
            seconds,
            peak_mib: peak_kib / 1024.0,
            said: parts.next().unwrap_or_default().to_owned(),
        }
    }

    /// Prints it.
    pub fn tell(&self, what: &str) {
        println!(
            "  {what}: {:.2} s, peak {:.0} MiB; {}",
            self.seconds, self.peak_mib, self.said
        );
    }

    /// The one of middle length.
    pub fn middle(mut children: Vec<Child>) -> Child {
        children.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
        children.swap_remove(children.len() / 2)
    }
}

/// As a child: loads the workspace.
pub fn load(folder: &Path) {
    let start = Instant::now();
    let workspace = config::load(folder).expect("a workspace");
    let report = ingest::load(&workspace, folder, Utc::now(), &mut |_| {}).expect("a report");
    let seconds = start.elapsed().as_secs_f64();
    let repaired: u64 = report.sources.iter().map(|s| s.repaired).sum();
    said(
        seconds,
        &format!(
            "{} taken, {repaired} of them repaired, {} refused, unchanged: {}",
            report.records(),
            report.refused(),
            report.unchanged
        ),
    );
}

/// As a child: reads the history of a site.
pub fn read(folder: &Path) {
    let start = Instant::now();
    let workspace = config::load(folder).expect("a workspace");
    let store = Store::open_existing(folder).expect("a store");
    let history = store.history(&workspace, "site-7").expect("a history");
    let seconds = start.elapsed().as_secs_f64();
    let (visits, species) = (history.visits.len(), history.species.len());
    said(seconds, &format!("{visits} visits, {species} species"));
}

fn said(seconds: f64, more: &str) {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kib = peak.and_then(|p| p.split_whitespace().next());
    println!("{seconds} {} {more}", kib.unwrap_or("0")); // where there is no such file: not known
}

/// Runs a command of the program and prints how long it took.
pub fn program(folder: &Path, args: &[&str]) {
    let start = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_wingtide"))
        .arg("--dir")
        .arg(folder)
        .args(args)
        .output()
        .expect("a process");
    let seconds = start.elapsed().as_secs_f64();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    println!("  wingtide {}: {seconds:.2} s", args.join(" "));
}

/// Builds the other side, which needs a part of polars that the program does without.
pub fn build_polars() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let manifest = here.join("benches/ten_million/polars_alone/Cargo.toml");
    let target = here.join("../target/polars-alone");
    let built = Command::new(env!("CARGO"))
        .args(["build", "--release", "--locked", "--manifest-path"])
        .arg(manifest)
        .arg("--target-dir")
        .arg(&target)
        .status()
        .expect("cargo");
    assert!(built.success());
    target.join("release/polars-alone")
}

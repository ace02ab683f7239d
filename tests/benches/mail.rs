//! `cargo bench --workspace --bench mail [-- READERS]`: 10,000 personal digests of 60 kB and more,
//! composed, recorded and handed to Postfix's `smtp-sink` by 10 sessions, beside what its
//! `smtp-source` reaches against the same sink with mails of the same size by as many sessions. The
//! sides take turns, three times; medians count. What is sent is sent in a process of its own, whose
//! largest memory is told.

use chrono::Utc;
use harness::reserve::{counts, settings};
use notifier::deliveries::rows::{self, Which};
use notifier::deliveries::{Hands, send_due};
use notifier::service::tables;
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const READERS: usize = 10_000;
const SESSIONS: usize = 10;
const ROUNDS: usize = 3;
/// Set to the workspace where this process is the one that sends.
const SEND: &str = "WINGTIDE_BENCH_SENDS";

fn main() {
    if let Some(root) = std::env::var_os(SEND) {
        return send(Path::new(&root));
    }
    let number = std::env::args().find_map(|a| a.parse().ok());
    let readers = number.unwrap_or(READERS);
    let Some(sink) = Sink::start() else {
        println!("smtp-sink or smtp-source is absent (they come with Postfix): nothing measured");
        return;
    };
    let home = tempfile::tempdir().expect("a folder");
    prepare(home.path(), sink.port, readers);
    let bytes = length_of_a_mail(home.path());
    println!("{readers} mails of {bytes} bytes, {SESSIONS} sessions, medians of {ROUNDS} rounds");
    let (mut source, mut ours, mut memory) = (Vec::new(), Vec::new(), 0);
    for _ in 0..ROUNDS {
        let kept = smtp_source(sink.port, readers, bytes, &["-d"]);
        let opened = smtp_source(sink.port, readers, bytes, &[]);
        source.push(kept.max(opened));
        let (rate, kib) = send_by_child(home.path(), readers);
        ours.push(rate);
        memory = memory.max(kib);
    }
    let (source, ours) = (median(source), median(ours));
    println!("smtp-source: {source:.0} mails a second");
    println!(
        "wingtide: {ours:.0} mails a second, {:.0} % of it",
        100.0 * ours / source
    );
    println!("largest memory: {} MB", memory / 1000);
}

fn median(mut rates: Vec<f64>) -> f64 {
    rates.sort_by(f64::total_cmp);
    rates[rates.len() / 2]
}

struct Sink {
    child: Child,
    port: u16,
}

impl Drop for Sink {
    fn drop(&mut self) {
        // nothing is left to be done where it ended by itself
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Sink {
    fn start() -> Option<Self> {
        let listener = TcpListener::bind("127.0.0.1:0").expect("a port is free");
        let port = listener.local_addr().expect("it has an address").port();
        drop(listener);
        // root has to become somebody else
        let child = Command::new("smtp-sink")
            .args(["-u", "nobody", &format!("127.0.0.1:{port}"), "1000"])
            .stderr(Stdio::null())
            .spawn()
            .ok()?;
        let patience = Instant::now() + Duration::from_secs(10);
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(Instant::now() < patience, "smtp-sink does not listen");
            std::thread::sleep(Duration::from_millis(20));
        }
        Some(Sink { child, port })
    }
}

/// Mails a second.
fn smtp_source(port: u16, number: usize, bytes: usize, more: &[&str]) -> f64 {
    let begun = Instant::now();
    let done = Command::new("smtp-source")
        .args(more)
        .args(["-s", &SESSIONS.to_string(), "-m", &number.to_string()])
        .args(["-l", &bytes.to_string(), "-f", "counts@skerrow.example"])
        .args(["-t", "reader@skerrow.example", &format!("127.0.0.1:{port}")])
        .status();
    assert!(done.is_ok_and(|s| s.success()), "smtp-source works");
    number as f64 / begun.elapsed().as_secs_f64()
}

/// One site, whose chart and texts come to some 70 kB as they are sent.
const SITES: [(&str, &str); 1] = [("long-bank", "Long Bank")];

/// A reserve with a digest that is queued for all its readers.
fn prepare(root: &Path, port: u16, readers: usize) {
    let write = |port: u16| {
        let mail = format!(
            "\n[mail]\nserver = \"127.0.0.1\"\nport = {port}\nsecurity = \"none\"\n\
             sessions = {SESSIONS}\n\n[service]\npublic_url = \"https://birds.skerrow.example\"\n"
        );
        let reader = |i| {
            format!("[[recipient]]\nmail = \"reader-{i}@skerrow.example\"\nname = \"Reader {i}\"\n")
        };
        let readers: String = (0..readers).map(reader).collect();
        let text = settings(&SITES) + &mail + &readers;
        std::fs::write(root.join("wingtide.toml"), text).expect("written");
    };
    // nobody listens there, so that all is queued and waits
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port is free");
    let nobody = listener.local_addr().expect("it has an address").port();
    drop(listener);
    write(nobody);
    std::fs::write(root.join("counts.csv"), counts(&SITES)).expect("written");
    let run = |args: &[&str]| harness::program::wingtide(root, args);
    run(&["load"]).works();
    run(&["fit"]).works();
    run(&["digest", "--send", "--date", "2024-09-04"]);
    write(port);
}

/// By the file of the same digest, which lacks no more than the reader's own lines.
fn length_of_a_mail(root: &Path) -> usize {
    let out: PathBuf = root.join("digest");
    let to = out.to_str().expect("a plain path");
    harness::program::wingtide(root, &["digest", "--date", "2024-09-04", "--out", to]).works();
    let eml = std::fs::metadata(out.join("digest.eml"));
    eml.expect("the mail").len() as usize
}

/// Everything afresh, in a process of its own: mails a second, and the largest memory, KiB.
fn send_by_child(root: &Path, readers: usize) -> (f64, usize) {
    let conn = tables::open(root).expect("tables");
    let sql = "UPDATE deliveries SET state = 'waiting'";
    conn.execute(sql, []).expect("all wait");
    let all = Which {
        digest: None,
        recipient: None,
        state: None,
    };
    let now = Utc::now().timestamp();
    assert_eq!(rows::retry(&conn, all, now).expect("rows"), readers);
    drop(conn);
    let own = std::env::current_exe().expect("a bench knows its own path");
    let done = Command::new(own).env(SEND, root).output().expect("it runs");
    let said = String::from_utf8(done.stdout).expect("numbers");
    let mut words = said.split_whitespace();
    let mut number = || words.next().and_then(|w| w.parse::<f64>().ok());
    let (Some(seconds), Some(kib)) = (number(), number()) else {
        panic!("{said}{}", String::from_utf8_lossy(&done.stderr));
    };
    (readers as f64 / seconds, kib as usize)
}

/// Sends what waits; prints seconds and the largest memory (VmHWM), KiB.
fn send(root: &Path) {
    let workspace = config::load(root).expect("settings");
    let wanted = workspace.recipients.len();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    let runtime = runtime.expect("a runtime");
    let begun = Instant::now();
    let report = runtime.block_on(send_due(&workspace, &Hands::with_clock(Utc::now)));
    let seconds = begun.elapsed().as_secs_f64();
    let report = report.expect("it is sent");
    assert_eq!(report.counts.sent, wanted, "{report:?}");
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux");
    let peak = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kib = peak
        .and_then(|p| p.split_whitespace().next())
        .expect("its memory");
    println!("{seconds} {kib}");
}

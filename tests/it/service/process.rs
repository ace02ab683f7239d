//! `wingtide serve` as a process: started, asked, stopped by a signal, killed, started again.

use super::scene::{ask, body, wait_for, workspace};
use harness::program::Workspace;
use notifier::cli::{Streams, run};
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::process::{Child, Command, Stdio};

const DIR: &str = "WINGTIDE_TEST_SERVE_DIR";

/// Not a test of its own: what the tests below start as another process.
#[test]
#[ignore = "a process that others start"]
fn as_a_process() {
    let Some(dir) = std::env::var_os(DIR) else {
        return;
    };
    let dir = dir.to_str().expect("a plain path");
    let mut streams = Streams {
        input: &mut std::io::empty(),
        out: &mut std::io::stdout(),
        err: &mut std::io::stderr(),
        progress: false,
        width: 80,
        colour: false,
    };
    let args = ["wingtide", "--dir", dir, "serve", "--listen", "127.0.0.1:0"];
    std::process::exit(i32::from(run(args, &mut streams)));
}

/// A started service; killed where a test fails.
struct Process {
    child: Child,
    address: SocketAddr,
}

impl Process {
    fn start(workspace: &Workspace) -> Self {
        let program = std::env::current_exe().expect("this program");
        let mut child = Command::new(program)
            .args([
                "--exact",
                "service::process::as_a_process",
                "--ignored",
                "--nocapture",
            ])
            .env(DIR, workspace.path(""))
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("a process");
        let mut lines = BufReader::new(child.stderr.take().expect("its words")).lines();
        let page = lines.find_map(|line| {
            let line = line.expect("a line");
            let (_, page) = line.split_once("the status page is at http://")?;
            Some(page.trim_end_matches("/keeper").to_owned())
        });
        // what else it says is taken, so that it never waits for a reader
        std::thread::spawn(move || lines.for_each(drop));
        let address = page.expect("an address").parse().expect("an address");
        Process { child, address }
    }

    fn signal(&self, signal: &str) {
        let line = format!("kill {signal} {}", self.child.id());
        let sent = Command::new("sh").args(["-c", &line]).status();
        assert!(sent.expect("a shell").success());
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        // one that has ended needs none
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn it_answers_keeps_others_out_and_ends_when_it_is_told_to() {
    let workspace = workspace();
    let mut first = Process::start(&workspace);
    let (code, health) = ask(first.address, "/health");
    assert_eq!(code, 200, "{}", body(&health));
    let said = workspace.run(&["serve", "--listen", "127.0.0.1:0"]).fails();
    let held = format!(
        "error: another Wingtide serves this workspace already (process {}, since ",
        first.child.id()
    );
    assert!(said.starts_with(&held), "{said}");
    let archive = workspace.path("while-it-runs.zip");
    let archive = archive.to_str().expect("a plain path");
    workspace.run(&["backup", archive]).works();
    first.signal("-TERM");
    let ended = first.child.wait().expect("an end");
    assert!(ended.success(), "{ended}");
    assert!(
        !workspace.path("wingtide-store/service.sqlite-wal").exists(),
        "closed"
    );
}

#[test]
fn after_a_kill_the_next_one_starts_at_once() {
    let workspace = workspace();
    let mut first = Process::start(&workspace);
    first.signal("-KILL");
    first.child.wait().expect("an end");
    let second = Process::start(&workspace);
    wait_for("health", || ask(second.address, "/health").0 == 200);
    // the pages are read beside the schedule, and are there a moment later
    wait_for("pages", || ask(second.address, "/").0 == 200);
}

#[test]
fn a_port_that_is_taken_is_said() {
    let workspace = workspace();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = taken.local_addr().expect("an address").to_string();
    let said = workspace.run(&["serve", "--listen", &address]).fails();
    let expected = format!("error: the status page cannot be served at {address}: ");
    assert!(
        said.starts_with(&expected) && said.contains("--listen"),
        "{said}"
    );
}

/// However large the store is, the start does not wait for it: one that nobody could read is no
/// hindrance.
#[test]
fn nothing_of_the_store_is_read_at_the_start() {
    let workspace = workspace();
    workspace.run(&["load"]).works();
    workspace.write("wingtide-store/ledger.sqlite", [b'x'; 4096]);
    let process = Process::start(&workspace);
    assert_eq!(ask(process.address, "/health").0, 200);
}

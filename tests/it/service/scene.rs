//! A small workspace, the service on a clock that runs fast, and ways out that only note what they
//! are given.

use chrono::{DateTime, TimeDelta, Utc};
use config::settings::Workspace as Settings;
use harness::program::Workspace;
use harness::written;
use notifier::deliveries::Outgoing;
use notifier::service::deliver::{Clock, Deliver, Later, Sent};
use notifier::service::retry::Fault;
use notifier::service::stop::Stop;
use notifier::service::{Hands, Service};
use rusqlite::Connection;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::{Arc, Mutex, OnceLock};
use std::time::{Duration, Instant};

const SOURCE: &str = r#"
[[source]]
id = "notebook"
kind = "counts"
file = "counts.csv"
date_order = "day-month-year"
site = "old-pans"
fully_reported = true
columns = { date = "Date", species = "Bird", count = "Number" }
"#;

pub fn settings() -> String {
    let keeper = "keeper = \"A. Warden <warden@skerrow.example>\"\n".to_owned();
    let birds = [
        written::species("Calidris minuta", "Little Stint"),
        written::species("Calidris alpina", "Dunlin"),
    ];
    let site = written::site("old-pans", "Old Pans");
    let workspace = written::workspace("My patch");
    [workspace, keeper, site, birds.concat(), SOURCE.to_owned()].concat()
}

/// Three autumns, a visit every other day, invented.
pub fn counts() -> String {
    let mut rows = "Date,Bird,Number\n".to_owned();
    for year in 2023..=2025 {
        for day in (1..30).step_by(2) {
            rows += &format!("{day:02}/09/{year},Dunlin,{}\n", 40 + day * 3);
            if day % 3 == 0 {
                rows += &format!("{day:02}/09/{year},Little Stint,{}\n", 1 + day / 9);
            }
        }
    }
    rows
}

pub fn workspace() -> Workspace {
    Workspace::empty()
        .with("wingtide.toml", settings())
        .with("counts.csv", counts())
}

/// What the service handed out.
#[derive(Default)]
pub struct Noted {
    queued: Mutex<Vec<(String, Vec<String>)>>,
    notes: Mutex<Vec<(DateTime<Utc>, String)>>,
    /// Sending takes until the service stops.
    slow: bool,
}

impl Noted {
    /// Whose sending takes until the service stops.
    pub fn slow() -> Self {
        Noted {
            slow: true,
            ..Noted::default()
        }
    }

    pub fn queued(&self) -> Vec<(String, Vec<String>)> {
        self.queued.lock().expect("no panic").clone()
    }

    pub fn notes(&self) -> Vec<(DateTime<Utc>, String)> {
        self.notes.lock().expect("no panic").clone()
    }
}

impl Deliver for Noted {
    fn queue(
        &self,
        _: &mut Connection,
        _: &Settings,
        outgoing: Outgoing<'_>,
        _: DateTime<Utc>,
    ) -> Result<usize, Fault> {
        let Outgoing { digest, key, .. } = outgoing;
        let said = digest.notices.iter().map(|n| n.words()).collect();
        let mut queued = self.queued.lock().expect("no panic");
        if queued.iter().any(|(known, _)| known == key) {
            return Ok(0);
        }
        queued.push((key.to_owned(), said));
        Ok(1)
    }

    fn send_due<'a>(
        &'a self,
        _: &'a Settings,
        _: &'a Clock,
        stop: &'a Stop,
    ) -> Later<'a, Result<Sent, Fault>> {
        Box::pin(async move {
            if self.slow && !self.queued().is_empty() {
                stop.wait().await;
            }
            Ok(Sent::default())
        })
    }

    fn tell_keeper<'a>(
        &'a self,
        _: &'a Settings,
        (subject, text): (&'a str, &'a str),
        now: DateTime<Utc>,
    ) -> Later<'a, Result<(), String>> {
        let note = (now, format!("{subject}\n\n{text}"));
        self.notes.lock().expect("no panic").push(note);
        Box::pin(async { Ok(()) })
    }

    fn by_state(&self, _: &Connection) -> Result<Vec<(&'static str, usize)>, Fault> {
        Ok(vec![("sent", self.queued().len())])
    }
}

/// A service that runs in threads of its own.
pub struct Served {
    pub address: SocketAddr,
    token: String,
    pub noted: Arc<Noted>,
    stop: Stop,
    runtime: tokio::runtime::Runtime,
    ended: tokio::task::JoinHandle<std::io::Result<()>>,
}

impl Served {
    /// Its clock begins at `from` when it is first looked at, so that a machine under load, slow to
    /// start, lets nothing pass that is due just behind it; a second of it takes `second`.
    pub fn start(workspace: &Workspace, from: &str, second: Duration, noted: Arc<Noted>) -> Self {
        let from: DateTime<Utc> = from.parse().expect("an instant");
        let began = OnceLock::new();
        let clock: Clock = Arc::new(move || {
            let seconds =
                began.get_or_init(Instant::now).elapsed().as_secs_f64() / second.as_secs_f64();
            from + TimeDelta::milliseconds((1000.0 * seconds) as i64)
        });
        let hands = Hands {
            clock,
            deliver: Arc::clone(&noted) as Arc<dyn Deliver>,
            second,
        };
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_all()
            .build()
            .expect("a runtime");
        let dir = workspace.path("");
        let settings = config::load(&dir).expect("settings");
        let stop = Stop::default();
        let listener = runtime.block_on(tokio::net::TcpListener::bind("127.0.0.1:0"));
        let listener = listener.expect("a port");
        let address = listener.local_addr().expect("an address");
        let service = Service::open(&dir, &settings, address, hands, stop.clone());
        let service = service.expect("tables");
        let token = dir.join(ingest::STORE_FOLDER).join("keeper.token");
        let token = std::fs::read_to_string(token).expect("the keeper's token");
        let ended = runtime.spawn(service.serve(listener, axum::Router::new()));
        Served {
            address,
            token: token.trim().to_owned(),
            noted,
            stop,
            runtime,
            ended,
        }
    }

    pub fn ask(&self, path: &str) -> (u16, String) {
        ask(self.address, path)
    }

    /// The keeper's page, with the token.
    pub fn keeper(&self) -> (u16, String) {
        let head = format!("Authorization: Bearer {}\r\n", self.token);
        ask_with(self.address, "/keeper", &head)
    }

    pub fn end(self) {
        self.stop.now();
        let ended = self.runtime.block_on(self.ended);
        ended.expect("no panic").expect("served");
    }
}

/// A page of a server on this machine: its status and all of its answer.
pub fn ask(address: SocketAddr, path: &str) -> (u16, String) {
    ask_with(address, path, "")
}

/// The same with more fields, each ended by CR LF.
fn ask_with(address: SocketAddr, path: &str, head: &str) -> (u16, String) {
    let mut stream = TcpStream::connect(address).expect("the service answers");
    let request =
        format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n{head}\r\n");
    stream.write_all(request.as_bytes()).expect("a question");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("an answer");
    let code = answer.split(' ').nth(1).and_then(|code| code.parse().ok());
    (code.expect("a status"), answer)
}

/// The body of an answer, which may come in chunks.
pub fn body(answer: &str) -> &str {
    answer.split_once("\r\n\r\n").expect("a body").1
}

/// Waits for what comes in the end; the bound only keeps a broken test from hanging.
pub fn wait_for(what: &str, mut seen: impl FnMut() -> bool) {
    let began = Instant::now();
    while !seen() {
        assert!(began.elapsed() < Duration::from_secs(300), "{what}");
        std::thread::sleep(Duration::from_millis(5));
    }
}

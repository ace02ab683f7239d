//! How quickly pages come: the service's pages of the demo on a port of this machine, asked for the
//! week's page 500 times a second for 20 seconds, each question at its own time whether those before
//! it are answered or not. `SECONDS=5` and `RATE=1000` ask otherwise.
//!
//! A wait is counted from the moment at which the question was due, so that a server which stalls
//! is not spared the questions that it kept from being asked.

use chrono::{DateTime, Utc};
use harness::program::typed;
use notifier::web::{Web, router};
use std::error::Error;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};

/// Connections that questions are spread over.
const CONNECTIONS: usize = 50;
const NOW: &str = "2026-09-09T10:00:00Z";
const PAGE: &str = "/long-bank";

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;

fn main() -> Outcome<()> {
    // `cargo test --benches` and lints start it without asking for numbers
    if !std::env::args().any(|arg| arg == "--bench") {
        return Ok(());
    }
    let rate = number("RATE", 500);
    let seconds = number("SECONDS", 20);
    let folder = tempfile::tempdir()?;
    let dir = folder.path().join("skerrow-ness");
    typed(&["demo", dir.to_str().ok_or("a plain path")?]).works();
    let now: DateTime<Utc> = NOW.parse()?;
    let web = Web::of(&dir, Arc::new(move || now));
    let began = Instant::now();
    web.refresh();
    println!(
        "read and laid out in {:.2} s",
        began.elapsed().as_secs_f64()
    );
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let listener = TcpListener::bind("127.0.0.1:0").await?;
        let address = listener.local_addr()?;
        let serving = tokio::spawn(async move { axum::serve(listener, router(web)).await });
        for (what, fields) in [("compressed", "Accept-Encoding: gzip\r\n"), ("plain", "")] {
            let waits = asked(address, fields, rate, seconds).await?;
            told(what, rate, waits);
        }
        serving.abort();
        Ok::<_, Box<dyn Error + Send + Sync>>(())
    })?;
    println!("most memory of service and askers together: {}", memory()?);
    Ok(())
}

fn number(name: &str, usual: usize) -> usize {
    let written = std::env::var(name).ok();
    written.and_then(|text| text.parse().ok()).unwrap_or(usual)
}

/// Asks at an even pace; every wait in order.
async fn asked(
    address: SocketAddr,
    fields: &str,
    rate: usize,
    seconds: usize,
) -> Outcome<Vec<Duration>> {
    let request = format!("GET {PAGE} HTTP/1.1\r\nHost: {address}\r\n{fields}\r\n");
    let began = Instant::now() + Duration::from_millis(100);
    let mut askers = Vec::new();
    for place in 0..CONNECTIONS {
        let mut stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        let request = request.clone();
        askers.push(tokio::spawn(async move {
            let mut waits = Vec::new();
            for question in (place..rate * seconds).step_by(CONNECTIONS) {
                let due = began + Duration::from_secs_f64(question as f64 / rate as f64);
                tokio::time::sleep_until(due.into()).await;
                stream.write_all(request.as_bytes()).await?;
                answer(&mut stream).await?;
                waits.push(due.elapsed());
            }
            Ok::<_, Box<dyn Error + Send + Sync>>(waits)
        }));
    }
    let mut waits = Vec::new();
    for asker in askers {
        waits.extend(asker.await??);
    }
    waits.sort_unstable();
    Ok(waits)
}

/// Reads one answer to its end.
async fn answer(stream: &mut TcpStream) -> Outcome<()> {
    let mut read = Vec::with_capacity(1 << 17);
    loop {
        if stream.read_buf(&mut read).await? == 0 {
            return Err("the service hung up".into());
        }
        let Some(head) = read.windows(4).position(|w| w == b"\r\n\r\n") else {
            continue;
        };
        let text = std::str::from_utf8(&read[..head])?.to_ascii_lowercase();
        if !text.starts_with("http/1.1 200") {
            return Err(format!("answered with {text}").into());
        }
        let length = text
            .lines()
            .find_map(|l| l.strip_prefix("content-length: "));
        let length: usize = length.ok_or("no length")?.trim().parse()?;
        if read.len() >= head + 4 + length {
            return Ok(());
        }
    }
}

fn told(what: &str, rate: usize, waits: Vec<Duration>) {
    let part = |part: f64| {
        let place = ((waits.len() - 1) as f64 * part).round() as usize;
        waits[place].as_secs_f64() * 1e3
    };
    println!(
        "{what}: {} answers at {rate} a second, waits in ms: p50 {:.2}, p99 {:.2}, longest {:.2}",
        waits.len(),
        part(0.5),
        part(0.99),
        part(1.0)
    );
}

/// The most that this process took, as the system has it.
fn memory() -> Outcome<String> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    Ok(line.ok_or("no VmHWM")?.trim().to_owned())
}

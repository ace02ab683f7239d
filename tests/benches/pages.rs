//! How quickly pages come: the service's pages of the demo on a port of this machine, asked for the
//! week's page 500 times a second for 20 seconds, each question at its own time whether those before
//! it are answered or not. `SECONDS=5` and `RATE=1000` ask otherwise.
//!
//! A wait is counted from the moment at which the question was due, so that a server which stalls
//! is not spared the questions that it kept from being asked. Each half ends ten seconds after its
//! last question, answered or not.

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
/// Behind the last question: whatever is not answered by then is told as such.
const GRACE: Duration = Duration::from_secs(10);
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
            let asked = asked(address, fields, rate, seconds).await?;
            told(what, rate, &asked);
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

/// What became of the questions.
#[derive(Default)]
struct Asked {
    /// From the moment at which each was due to the end of its answer, in order.
    waits: Vec<Duration>,
    /// Those that had none when it was over.
    unanswered: usize,
    bytes: usize,
}

/// Asks at an even pace. Answers are waited for no longer than [`GRACE`] after the last question.
async fn asked(address: SocketAddr, fields: &str, rate: usize, seconds: usize) -> Outcome<Asked> {
    let request = format!("GET {PAGE} HTTP/1.1\r\nHost: {address}\r\n{fields}\r\n");
    let began = Instant::now() + Duration::from_millis(100);
    let over = began + Duration::from_secs(seconds as u64) + GRACE;
    let mut askers = Vec::new();
    for place in 0..CONNECTIONS {
        let mut stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        let request = request.clone();
        askers.push(tokio::spawn(async move {
            let mut own = Asked::default();
            for question in (place..rate * seconds).step_by(CONNECTIONS) {
                let due = began + Duration::from_secs_f64(question as f64 / rate as f64);
                tokio::time::sleep_until(due.into()).await;
                let answered = async {
                    stream.write_all(request.as_bytes()).await?;
                    answer(&mut stream).await
                };
                match tokio::time::timeout_at(over.into(), answered).await {
                    Ok(bytes) => own.bytes += bytes?,
                    Err(_) => {
                        own.unanswered = (question..rate * seconds).step_by(CONNECTIONS).count();
                        break;
                    }
                }
                own.waits.push(due.elapsed());
            }
            Ok::<_, Box<dyn Error + Send + Sync>>(own)
        }));
    }
    let mut all = Asked::default();
    for asker in askers {
        let own = asker.await??;
        all.waits.extend(own.waits);
        all.unanswered += own.unanswered;
        all.bytes += own.bytes;
    }
    all.waits.sort_unstable();
    Ok(all)
}

/// Reads one answer to its end; gives its length.
async fn answer(stream: &mut TcpStream) -> Outcome<usize> {
    let mut read = Vec::with_capacity(1 << 17);
    let mut whole = None;
    loop {
        if stream.read_buf(&mut read).await? == 0 {
            return Err("the service hung up".into());
        }
        if whole.is_none() {
            whole = length(&read)?;
        }
        if whole.is_some_and(|whole| read.len() >= whole) {
            return Ok(read.len());
        }
    }
}

/// Octets of the answer with its head, once that is there.
fn length(read: &[u8]) -> Outcome<Option<usize>> {
    let Some(head) = read.windows(4).position(|w| w == b"\r\n\r\n") else {
        return Ok(None);
    };
    let text = std::str::from_utf8(&read[..head])?.to_ascii_lowercase();
    if !text.starts_with("http/1.1 200") {
        return Err(format!("answered with {text}").into());
    }
    let mut lines = text.lines();
    let body = lines.find_map(|l| l.strip_prefix("content-length: "));
    let body: usize = body.ok_or("no length")?.trim().parse()?;
    Ok(Some(head + 4 + body))
}

fn told(what: &str, rate: usize, asked: &Asked) {
    let waits = &asked.waits;
    let part = |part: f64| {
        let place = (waits.len().saturating_sub(1) as f64 * part).round() as usize;
        waits
            .get(place)
            .map_or(f64::NAN, |wait| wait.as_secs_f64() * 1e3)
    };
    println!(
        "{what}: {} answers at {rate} a second, {} bytes each, waits in ms: p50 {:.2}, p99 {:.2}, longest {:.2}; \
         {} unanswered",
        waits.len(),
        asked.bytes / waits.len().max(1),
        part(0.5),
        part(0.99),
        part(1.0),
        asked.unanswered
    );
}

/// The most that this process took, as the system has it.
fn memory() -> Outcome<String> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    Ok(line.ok_or("no VmHWM")?.trim().to_owned())
}

//! Requests that are too long, too slow, too many, or for what is none of theirs, over the network.

use super::table::{Attack, ROWS};
use crate::service::scene::{Noted, Served, wait_for, workspace};
use axum::Router;
use axum::extract::ConnectInfo;
use axum::http::Request;
use harness::router::Asked;
use notifier::guard::patience::{Patient, Peer};
use notifier::guard::rate::{Counted, Rate, bounded};
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;

/// What comes back to raw bytes, as far as it comes.
fn raw(address: SocketAddr, bytes: &[u8]) -> String {
    let mut stream = TcpStream::connect(address).expect("the service answers");
    // a server that has heard enough closes, which may break the writing
    let _ = stream.write_all(bytes);
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

fn served() -> (harness::program::Workspace, Served) {
    let workspace = workspace();
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    let second = Duration::from_secs(1);
    let served = Served::start(
        &workspace,
        "2026-09-01T12:00:00Z",
        second,
        Arc::new(Noted::default()),
    );
    wait_for("pages", || served.ask("/").0 == 200);
    (workspace, served)
}

#[test]
fn paths_lead_to_nothing_of_the_machine() {
    let (workspace, served) = served();
    let key = workspace.path(ingest::STORE_FOLDER).join("deliveries.key");
    let key = std::fs::read_to_string(key).expect("the key");
    for (name, attack) in ROWS {
        let Attack::Path(path) = attack else { continue };
        let request = format!("GET {path} HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n");
        let answer = raw(served.address, request.as_bytes());
        let code = answer.split(' ').nth(1).unwrap_or_default();
        assert!(["400", "404"].contains(&code), "{name}: {answer}");
        for secret in ["root:x:", "[workspace]", "SQLite format", key.trim()] {
            assert!(!answer.contains(secret), "{name}: {answer}");
        }
    }
    served.end();
}

#[test]
fn what_cannot_be_done_is_said_on_a_page() {
    let (_workspace, served) = served();
    let ask = |method: &str, path: &str| {
        let request = format!("{method} {path} HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n");
        raw(served.address, request.as_bytes())
    };
    for (method, path) in [
        ("POST", "/old-pans/year"),
        ("DELETE", "/old-pans"),
        ("PUT", "/keeper"),
        ("POST", "/plan"),
    ] {
        let told = ask(method, path);
        assert!(told.starts_with("HTTP/1.1 405"), "{method} {path}: {told}");
        let head = told.to_ascii_lowercase();
        assert!(head.contains("\r\nallow: get,head"), "{told}");
        assert!(head.contains("style-src 'sha256-"), "{told}");
        assert!(told.contains("<h1>Not in this way</h1>"), "{told}");
    }
    let told = ask("POST", "/api/v1/sites");
    assert!(
        told.contains("application/problem+json") && told.contains("\"status\": 405"),
        "{told}"
    );
    served.end();
}

#[test]
fn requests_without_measure_are_cut_off() {
    let (_workspace, served) = served();
    let head = |more: &str| {
        format!(
            "POST /keeper/enter HTTP/1.1\r\nHost: a\r\nConnection: close\r\nContent-Type: application/x-www-form-urlencoded\r\n{more}\r\n"
        )
    };
    let long = "a".repeat(1 << 20);
    let told = raw(
        served.address,
        (head(&format!("Content-Length: {}\r\n", long.len())) + &long).as_bytes(),
    );
    assert!(told.starts_with("HTTP/1.1 413"), "{told}");
    let chunk = format!("{:x}\r\n{long}\r\n0\r\n\r\n", long.len());
    let told = raw(
        served.address,
        (head("Transfer-Encoding: chunked\r\n") + &chunk).as_bytes(),
    );
    assert!(
        told.is_empty() || told.starts_with("HTTP/1.1 413"),
        "{told}"
    );
    let field = format!("GET /health HTTP/1.1\r\nHost: a\r\nX-Long: {long}\r\n\r\n");
    let told = raw(served.address, field.as_bytes());
    assert!(
        told.is_empty() || told.starts_with("HTTP/1.1 4"),
        "{}",
        &told[..told.len().min(200)]
    );
    let nonsense = raw(
        served.address,
        b"\x16\x03\x01\x02\x00\x01\x00 no HTTP\r\n\r\n",
    );
    assert!(
        nonsense.is_empty() || nonsense.starts_with("HTTP/1.1 400"),
        "{nonsense}"
    );
    let both = "GET /health HTTP/1.1\r\nHost: a\r\nContent-Length: 4\r\nTransfer-Encoding: chunked\r\nConnection: close\r\n\r\n0\r\n\r\n";
    let told = raw(served.address, both.as_bytes());
    assert!(
        told.matches("HTTP/1.1").count() <= 1,
        "one request is one: {told}"
    );
    assert_eq!(served.ask("/health").0, 200, "the service goes on");
    served.end();
}

/// A byte now and then, as long as anybody listens.
#[test]
fn who_sends_a_byte_at_a_time_is_cut_off() {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build();
    let runtime = runtime.expect("a runtime");
    let listener = runtime
        .block_on(tokio::net::TcpListener::bind("127.0.0.1:0"))
        .expect("a port");
    let address = listener.local_addr().expect("an address");
    let patient = Patient::new(listener, Duration::from_millis(300));
    let pages = Router::new().route("/", axum::routing::get(|| async { "here" }));
    let pages = pages.into_make_service_with_connect_info::<Peer>();
    runtime.spawn(async move { axum::serve(patient, pages).await });
    let whole = raw(
        address,
        b"GET / HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n",
    );
    assert!(whole.ends_with("here"), "{whole}");
    for slow in ["GET / HTTP/1.1\r\nHost: a\r\nX-Slow: ", ""] {
        let mut stream = TcpStream::connect(address).expect("it answers");
        stream.write_all(slow.as_bytes()).expect("a beginning");
        let drip = stream.try_clone().expect("a second hand");
        let dripping = std::thread::spawn(move || {
            // until the other end is gone; a test that never ends fails
            while (&drip).write_all(b"a").is_ok() {
                std::thread::sleep(Duration::from_millis(20));
            }
        });
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        assert!(!String::from_utf8_lossy(&answer).contains("here"));
        drop(stream);
        dripping.join().expect("it ended");
    }
}

/// Whoever reads all pages, behind the same proxy as everybody, does not make the service look ill.
#[test]
fn many_pages_asked_for_leave_the_health_to_ask_for() {
    let workspace = workspace();
    let settings = workspace.path("wingtide.toml");
    let settings = std::fs::read_to_string(settings).expect("settings");
    let service = "\n[service]\npages_per_minute = 1\n";
    workspace.write("wingtide.toml", settings + service);
    let second = Duration::from_secs(1);
    let noted = Arc::new(Noted::default());
    let served = Served::start(&workspace, "2026-09-01T12:00:00Z", second, noted);
    let refused: Vec<bool> = (0..8).map(|_| served.ask("/style.css").0 == 429).collect();
    // a whole page is let through
    assert_eq!(refused, [[false; 5].as_slice(), &[true; 3]].concat());
    let told = served.ask("/");
    assert!(told.1.contains("<h1>Too many requests</h1>"), "{}", told.1);
    for path in ["/health", "/metrics"] {
        assert_ne!(served.ask(path).0, 429, "{path}");
    }
    served.end();
}

#[test]
fn one_peer_is_answered_no_more_than_so_often() {
    let rate = Rate {
        burst: 3,
        every: Duration::from_secs(3600),
    };
    let counted = Counted {
        proxy_header: Some("X-Forwarded-For".to_owned()),
    };
    let pages = Router::new().route("/", axum::routing::get(|| async { "here" }));
    let pages = Asked::new(|| bounded(pages, rate, &counted));
    let ask = |field: Option<&str>| {
        let peer = Peer("127.0.0.1:40000".parse().expect("an address"));
        let request = Request::get("/").extension(ConnectInfo(peer));
        let request = field
            .iter()
            .fold(request, |r, f| r.header("x-forwarded-for", *f));
        pages
            .ask(request.body(axum::body::Body::empty()).expect("a request"))
            .code
            .as_u16()
    };
    // what the asker writes before the proxy's own entry gains nothing; RFC 5737's addresses
    let forged: Vec<u16> = (0..5)
        .map(|n| ask(Some(&format!("203.0.113.{n}, 192.0.2.7"))))
        .collect();
    assert_eq!(forged, [200, 200, 200, 429, 429]);
    assert_eq!(ask(Some("192.0.2.8")), 200, "another one is answered");
    let bare: Vec<u16> = (0..4).map(|_| ask(None)).collect();
    assert_eq!(bare, [200, 200, 200, 429]);
}

//! Sources with an address, fetched from a real HTTP server on this machine.

use crate::workspace::{Built, built, count_columns, now};
use config::settings::{FetchSettings, SourceKind, Workspace};
use ingest::fetch::{FetchReport, Outcome, fetch};
use std::time::Duration;
use wiremock::matchers::{header, header_exists, headers, method, path};
use wiremock::{Mock, MockServer, ResponseTemplate};

const COUNTS: &str = "Date,Species,Number\n2024-05-01,Calidris alpina,3\n";
const MORE: &str =
    "Date,Species,Number\n2024-05-01,Calidris alpina,3\n2024-05-02,Calidris alpina,4\n";

fn settings() -> FetchSettings {
    FetchSettings {
        timeout: Duration::from_secs(5),
        wait: Duration::ZERO,
        private: true,
        ..FetchSettings::default()
    }
}

/// A workspace whose one source lies at the server's /counts.csv.
fn workspace(server: &MockServer, fetch: FetchSettings) -> Built {
    at(&format!("{}/counts.csv", server.uri()), fetch)
}

fn at(url: &str, fetch: FetchSettings) -> Built {
    let mut fixture = built();
    let path = fixture.root().join("fetched/counts/counts.csv");
    let source = fixture.source("counts", SourceKind::Counts(count_columns()));
    source.path = path;
    source.url = Some(url.parse().unwrap());
    fixture.workspace.fetch = fetch;
    fixture
}

/// The server runs elsewhere than the fetch, which blocks.
async fn fetch_it(workspace: &Workspace) -> Result<FetchReport, String> {
    let workspace = workspace.clone();
    let fetched = tokio::task::spawn_blocking(move || fetch(&workspace, now(), &mut |_| ()));
    let reports = fetched.await.unwrap().map_err(|e| e.to_string())?;
    Ok(reports[0].clone())
}

fn copy(fixture: &Built) -> String {
    std::fs::read_to_string(&fixture.workspace.sources[0].path).unwrap()
}

fn get(to: &str) -> wiremock::MockBuilder {
    Mock::given(method("GET")).and(path(to))
}

fn body(text: &str) -> ResponseTemplate {
    ResponseTemplate::new(200).set_body_string(text)
}

#[tokio::test(flavor = "multi_thread")]
async fn what_did_not_change_is_not_sent_again() {
    let server = MockServer::start().await;
    get("/counts.csv")
        .and(header("if-none-match", "\"a\""))
        .and(headers(
            "if-modified-since",
            vec!["Wed", "01 May 2024 10:00:00 GMT"],
        ))
        .respond_with(ResponseTemplate::new(304))
        .expect(1)
        .mount(&server)
        .await;
    let first = body(COUNTS)
        .insert_header("etag", "\"a\"")
        .insert_header("last-modified", "Wed, 01 May 2024 10:00:00 GMT");
    get("/counts.csv")
        .respond_with(first)
        .expect(2)
        .mount(&server)
        .await;
    let fixture = workspace(&server, settings());
    let bytes = COUNTS.len() as u64;
    let report = fetch_it(&fixture.workspace).await.unwrap();
    assert_eq!((report.tries, report.outcome), (1, Outcome::New { bytes }));
    assert_eq!(copy(&fixture), COUNTS);
    let again = fetch_it(&fixture.workspace).await.unwrap();
    assert_eq!(again.outcome, Outcome::Unchanged);
    // a copy that somebody touched is asked for anew
    std::fs::write(&fixture.workspace.sources[0].path, "nothing").unwrap();
    let mended = fetch_it(&fixture.workspace).await.unwrap();
    assert_eq!(mended.outcome, Outcome::New { bytes });
    assert_eq!(copy(&fixture), COUNTS);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_busy_server_is_asked_again_and_an_unreachable_one_leaves_the_copy() {
    let server = MockServer::start().await;
    let busy = ResponseTemplate::new(503).insert_header("retry-after", "0");
    get("/counts.csv")
        .respond_with(busy)
        .up_to_n_times(2)
        .mount(&server)
        .await;
    get("/counts.csv")
        .respond_with(body(COUNTS))
        .mount(&server)
        .await;
    let fixture = workspace(&server, settings());
    let report = fetch_it(&fixture.workspace).await.unwrap();
    assert_eq!(report.tries, 3);
    server.reset().await;
    get("/counts.csv")
        .respond_with(ResponseTemplate::new(502))
        .expect(4)
        .mount(&server)
        .await;
    let report = fetch_it(&fixture.workspace).await.unwrap();
    let said = report.to_string();
    assert!(
        said.contains("the server answers 502 Bad Gateway"),
        "{said}"
    );
    assert!(
        said.contains("the copy of 1 March 2026, 12:00 UTC is used"),
        "{said}"
    );
    assert_eq!((report.tries, copy(&fixture).as_str()), (4, COUNTS));
    server.verify().await;
    drop(server);
    let report = fetch_it(&fixture.workspace).await.unwrap();
    assert!(matches!(report.outcome, Outcome::Failed { .. }));
    assert_eq!(copy(&fixture), COUNTS);
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_refused_is_said_at_once() {
    let server = MockServer::start().await;
    get("/counts.csv")
        .respond_with(ResponseTemplate::new(404))
        .expect(1)
        .mount(&server)
        .await;
    let fixture = workspace(&server, settings());
    let said = fetch_it(&fixture.workspace).await.unwrap_err();
    let expected = format!(
        "source \"counts\": {}/counts.csv could not be fetched (the server answers 404 Not Found), \
         and there is no copy yet",
        server.uri()
    );
    assert_eq!(said, expected);
    server.verify().await;
    server.reset().await;
    let long = ResponseTemplate::new(429).insert_header("retry-after", "7200");
    get("/counts.csv")
        .respond_with(long)
        .expect(1)
        .mount(&server)
        .await;
    let said = fetch_it(&fixture.workspace).await.unwrap_err();
    assert!(said.contains("asks to wait 7200 seconds"), "{said}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_body_is_bounded_also_when_it_comes_packed() {
    let server = MockServer::start().await;
    let megabytes = "x".repeat(3 << 20);
    get("/counts.csv")
        .respond_with(body(&megabytes))
        .mount(&server)
        .await;
    let small = FetchSettings {
        max_mib: 1,
        ..settings()
    };
    let fixture = workspace(&server, small.clone());
    let said = fetch_it(&fixture.workspace).await.unwrap_err();
    assert!(said.contains("longer than 1 MiB"), "{said}");
    server.reset().await;
    let packed = ResponseTemplate::new(200)
        .insert_header("content-encoding", "gzip")
        .set_body_bytes(gzipped(megabytes.as_bytes()));
    get("/counts.csv").respond_with(packed).mount(&server).await;
    let said = fetch_it(&fixture.workspace).await.unwrap_err();
    assert!(said.contains("longer than 1 MiB"), "{said}");
    assert!(!fixture.root().join("fetched").exists());
}

fn gzipped(bytes: &[u8]) -> Vec<u8> {
    use std::io::Write;
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn redirects_are_followed_so_far() {
    let server = MockServer::start().await;
    let to = |path: &str| ResponseTemplate::new(302).insert_header("location", path);
    get("/counts.csv")
        .respond_with(to("/b"))
        .mount(&server)
        .await;
    get("/b").respond_with(to("/c")).mount(&server).await;
    get("/c").respond_with(body(MORE)).mount(&server).await;
    let fixture = workspace(
        &server,
        FetchSettings {
            redirects: 2,
            ..settings()
        },
    );
    fetch_it(&fixture.workspace).await.unwrap();
    assert_eq!(copy(&fixture), MORE);
    let fixture = workspace(
        &server,
        FetchSettings {
            redirects: 1,
            ..settings()
        },
    );
    let said = fetch_it(&fixture.workspace).await.unwrap_err();
    assert!(said.contains("it redirects more than 1 times"), "{said}");
}

#[tokio::test(flavor = "multi_thread")]
async fn private_addresses_are_refused_however_they_are_written() {
    let server = MockServer::start().await;
    get("/counts.csv")
        .respond_with(body(COUNTS))
        .expect(0)
        .mount(&server)
        .await;
    let public = FetchSettings {
        private: false,
        ..settings()
    };
    let port = server.address().port();
    for host in [
        "127.0.0.1",
        "localhost",
        "[::1]",
        "2130706433",
        "0x7f.1",
        "[::ffff:7f00:1]",
    ] {
        let fixture = at(&format!("http://{host}:{port}/counts.csv"), public.clone());
        let said = fetch_it(&fixture.workspace).await.unwrap_err();
        assert!(
            said.contains("lies on this machine or in a private network"),
            "{host}: {said}"
        );
    }
    server.verify().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_broken_answer_leaves_the_copy_and_is_tried_again() {
    let server = MockServer::start().await;
    get("/counts.csv")
        .respond_with(body(COUNTS))
        .mount(&server)
        .await;
    let fixture = workspace(
        &server,
        FetchSettings {
            tries: 2,
            ..settings()
        },
    );
    fetch_it(&fixture.workspace).await.unwrap();
    server.reset().await;
    let slow = body(MORE).set_delay(Duration::from_secs(20));
    get("/counts.csv")
        .and(header_exists("user-agent"))
        .respond_with(slow)
        .mount(&server)
        .await;
    let mut hasty = fixture.workspace.clone();
    hasty.fetch.timeout = Duration::from_millis(200);
    let report = fetch_it(&hasty).await.unwrap();
    assert!(
        report.to_string().contains("(no answer in time)"),
        "{report}"
    );
    assert_eq!((report.tries, copy(&fixture).as_str()), (2, COUNTS));
}

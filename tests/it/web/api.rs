//! What programs get: the commands' own documents, problems by RFC 9457, and the description held
//! to what the service answers by a general tester of interfaces.

use super::scene::{Pages, reserve};
use axum::http::StatusCode;
use harness::places::skipped;
use notifier::web::router;
use serde_json::Value;
use std::process::Command;
use std::sync::Arc;

fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

#[test]
fn documents_are_those_of_the_commands() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let get = |path: &str| {
        let answer = pages.get(path);
        assert_eq!(answer.code, StatusCode::OK, "{path}: {}", answer.text());
        assert_eq!(answer.field("content-type"), "application/json");
        json(answer.text())
    };
    let site = "/api/v1/sites/west-hide";
    let command = |args: &[&str]| {
        workspace
            .run(&[args, &["--site", "west-hide", "--json"]].concat())
            .json()
    };
    assert_eq!(get(&format!("{site}/windows")), command(&["windows"]));
    assert_eq!(
        get(&format!("{site}/week?week=2024-W40")),
        command(&["week", "--date", "2024-09-30"])
    );
    assert_eq!(
        get(&format!("{site}/curves/calidris-minuta")),
        command(&["curve", "--species", "Calidris minuta"])
    );
    assert_eq!(get("/api/v1/sites")[1]["site"], "east-hide");
    assert_eq!(get(&format!("{site}/sets"))[0]["set"], "small-sandpipers");
}

#[test]
fn a_problem_is_told_as_rfc_9457_has_it() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    for (path, status) in [
        ("/api/v1/sites/north-hide/week", 404),
        ("/api/v1/nothing", 404),
        ("/api/v1/sites/west-hide/week?week=37", 400),
    ] {
        let answer = pages.get(path);
        assert_eq!(answer.field("content-type"), "application/problem+json");
        let problem = json(answer.text());
        assert_eq!(answer.code.as_u16(), status, "{path}");
        assert_eq!(problem["status"], status, "{path}");
        assert!(problem["title"].is_string() && problem["detail"].is_string());
    }
}

#[test]
fn the_description_is_openapi_3_1_and_names_every_address() {
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let described = json(pages.get("/api/v1/openapi.json").text());
    assert!(
        described["openapi"]
            .as_str()
            .is_some_and(|v| v.starts_with("3.1."))
    );
    let paths: Vec<&String> = described["paths"]
        .as_object()
        .expect("paths")
        .keys()
        .collect();
    assert_eq!(paths.len(), 7, "{paths:?}");
}

/// About a minute's worth of questions, sensible and senseless, on a port of this machine.
#[test]
fn answers_are_as_described() {
    let python = std::env::var("WINGTIDE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let known = Command::new(&python)
        .args(["-c", "import schemathesis"])
        .output();
    if !known.is_ok_and(|told| told.status.success()) {
        return skipped("schemathesis for Python is absent (WINGTIDE_PYTHON)");
    }
    let workspace = reserve();
    let pages = Pages::of(&workspace);
    let runtime = tokio::runtime::Builder::new_multi_thread();
    let runtime = { runtime }
        .worker_threads(2)
        .enable_all()
        .build()
        .expect("a runtime");
    let listener = runtime.block_on(tokio::net::TcpListener::bind("127.0.0.1:0"));
    let listener = listener.expect("a port");
    let address = listener.local_addr().expect("an address");
    let web = Arc::clone(&pages.web);
    let serving = runtime.spawn(async move { axum::serve(listener, router(web)).await });
    let folder = tempfile::tempdir().expect("a folder of our own");
    let told = Command::new(&python)
        .current_dir(folder.path())
        .args([
            "-m",
            "schemathesis.cli",
            "run",
            "--max-examples",
            "40",
            "--seed",
            "1",
        ])
        .args(["--phases", "examples,coverage,fuzzing", "--no-color"])
        .arg(format!("http://{address}/api/v1/openapi.json"))
        .output()
        .expect("Python runs");
    serving.abort();
    let said = String::from_utf8_lossy(&told.stdout);
    assert!(
        told.status.success(),
        "{said}{}",
        String::from_utf8_lossy(&told.stderr)
    );
}

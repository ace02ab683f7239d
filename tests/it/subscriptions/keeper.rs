//! The keeper's pages: shown to those who have the token.

use crate::service::scene::{Noted, Served, body, workspace};
use harness::program::Workspace;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;

pub fn served(workspace: &Workspace) -> Served {
    let second = Duration::from_secs(1);
    Served::start(
        workspace,
        "2026-09-01T12:00:00Z",
        second,
        Arc::new(Noted::default()),
    )
}

pub fn token(workspace: &Workspace) -> String {
    let path = workspace.path(ingest::STORE_FOLDER).join("keeper.token");
    let token = std::fs::read_to_string(path).expect("the token");
    token.trim().to_owned()
}

/// Status and whole answer.
pub fn ask(address: SocketAddr, way: &str, head: &str, sent: &str) -> (u16, String) {
    let mut stream = TcpStream::connect(address).expect("the service answers");
    let request = format!(
        "{way} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nContent-Type: \
         application/x-www-form-urlencoded\r\nContent-Length: {}\r\n{head}\r\n{sent}",
        sent.len()
    );
    stream.write_all(request.as_bytes()).expect("a question");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("an answer");
    let code = answer.split(' ').nth(1).and_then(|code| code.parse().ok());
    (code.expect("a status"), answer)
}

pub fn form(page: &str) -> &str {
    let (_, rest) = page.split_once("name=\"form\" value=\"").expect("a form");
    rest.split('"').next().expect("its code")
}

/// The field that carries a session which was begun with the form.
pub fn session(address: SocketAddr, token: &str) -> String {
    let (_, page) = ask(address, "GET /keeper", "", "");
    let sent = format!("form={}&token={token}", form(&page));
    let (status, answer) = ask(address, "POST /keeper/enter", "", &sent);
    assert_eq!(status, 303, "{answer}");
    let (_, rest) = answer.split_once("set-cookie: ").expect("a cookie");
    format!("Cookie: {}\r\n", rest.split(';').next().expect("a pair"))
}

#[test]
fn the_keepers_page_opens_to_the_token_alone() {
    let workspace = workspace();
    let served = served(&workspace);
    let (address, token) = (served.address, token(&workspace));
    let (code, page) = ask(address, "GET /keeper", "", "");
    assert_eq!(code, 401);
    assert!(
        page.contains("www-authenticate: Bearer realm=\"keeper\""),
        "{page}"
    );
    assert!(!page.contains("Last runs"), "{page}");
    let bearer = |t: &str| {
        ask(
            address,
            "GET /keeper",
            &format!("Authorization: Bearer {t}\r\n"),
            "",
        )
    };
    assert_eq!(bearer(&token[1..]).0, 401);
    let (code, page) = bearer(&token);
    assert_eq!(code, 200, "{page}");
    for words in [
        "All is well.",
        "Last runs",
        "Rows that were not taken",
        "How the forecasts",
    ] {
        assert!(body(&page).contains(words), "{words}: {page}");
    }
    served.end();
}

#[test]
fn a_session_begins_with_the_form_and_ends_with_another() {
    let workspace = workspace();
    let served = served(&workspace);
    let (address, token) = (served.address, token(&workspace));
    let (_, page) = ask(address, "GET /keeper", "", "");
    let code = form(&page);
    let enter = |token: &str, head: &str| {
        let sent = format!("form={code}&token={token}");
        ask(address, "POST /keeper/enter", head, &sent)
    };
    assert_eq!(enter("nonsense", "").0, 403);
    assert_eq!(enter(&token, "Origin: https://other.example\r\n").0, 403);
    let bare = ask(address, "POST /keeper/enter", "", &format!("token={token}"));
    assert_eq!(bare.0, 403, "without the form's code");
    let (status, answer) = enter(&token, &format!("Origin: http://{address}\r\n"));
    assert_eq!(status, 303, "{answer}");
    let (_, rest) = answer.split_once("set-cookie: ").expect("a cookie");
    let cookie = rest.lines().next().expect("a line");
    assert!(cookie.contains("HttpOnly; SameSite=Strict"), "{cookie}");
    let pair = cookie.split(';').next().expect("a pair");
    assert!(!pair.contains(&token), "the token itself is in no cookie");
    let head = format!("Cookie: {pair}\r\n");
    let (status, page) = ask(address, "GET /keeper", &head, "");
    assert_eq!(status, 200);
    let own = format!("form={}", form(&page));
    let others = format!("form={code}");
    assert_eq!(ask(address, "POST /keeper/leave", &head, &others).0, 403);
    assert_eq!(ask(address, "GET /keeper", &head, "").0, 200, "still in");
    assert_eq!(ask(address, "POST /keeper/leave", &head, &own).0, 303);
    assert_eq!(ask(address, "GET /keeper", &head, "").0, 401);
    served.end();
}

#[test]
fn tokens_are_tried_a_few_times_and_no_more() {
    let workspace = workspace();
    let served = served(&workspace);
    let (_, page) = ask(served.address, "GET /keeper", "", "");
    let sent = |token: &str| format!("form={}&token={token}", form(&page));
    let tries: Vec<u16> = (0..12)
        .map(|n| {
            ask(
                served.address,
                "POST /keeper/enter",
                "",
                &sent(&format!("guess-{n}")),
            )
            .0
        })
        .collect();
    assert_eq!(tries[..5], [403; 5], "{tries:?}");
    assert!(tries[6..].iter().all(|code| *code == 429), "{tries:?}");
    let (code, answer) = ask(
        served.address,
        "POST /keeper/enter",
        "",
        &sent(&token(&workspace)),
    );
    assert_eq!(code, 429, "the right one waits too");
    assert!(answer.contains("retry-after: "), "{answer}");
    served.end();
}

#[test]
fn tokens_sent_with_requests_are_tries_too() {
    let workspace = workspace();
    let served = served(&workspace);
    let bearer = |token: &str| {
        let head = format!("Authorization: Bearer {token}\r\n");
        ask(served.address, "GET /keeper", &head, "").0
    };
    let tries: Vec<u16> = (0..12).map(|n| bearer(&format!("guess-{n}"))).collect();
    assert_eq!(tries[..5], [401; 5], "{tries:?}");
    assert!(tries[6..].iter().all(|code| *code == 429), "{tries:?}");
    assert_eq!(bearer(&token(&workspace)), 429, "the right one waits too");
    let form = ask(served.address, "POST /keeper/enter", "", "token=guess").0;
    assert_eq!(form, 429, "the form's tries are counted with them");
    let page = ask(served.address, "GET /keeper", "", "").0;
    assert_eq!(page, 401, "the page itself is still there to ask for");
    served.end();
}

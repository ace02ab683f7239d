//! The page on which a reader leaves, as a browser and a mail program use it.

use super::fixture::{recipient, reserve, send};
use chrono::Utc;
use harness::program::Workspace;
use harness::scripted::Scripted;
use notifier::deliveries::leave::{LeavePage, router};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::Arc;

/// The page, served; its port.
fn serve(workspace: &Workspace) -> u16 {
    let page = LeavePage {
        root: workspace.path(""),
        title: "This week at Skerrow Ness".into(),
        keeper: Some("A. Warden <warden@skerrow.example>".into()),
        clock: Arc::new(Utc::now),
    };
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a port is free");
    listener.set_nonblocking(true).expect("as tokio wants it");
    let port = listener.local_addr().expect("it has an address").port();
    std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build();
        runtime.expect("a runtime").block_on(async {
            let listener = tokio::net::TcpListener::from_std(listener).expect("a listener");
            axum::serve(listener, router(page)).await
        })
    });
    port
}

/// Status line and body.
fn ask(port: u16, request: &str) -> String {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).expect("it listens");
    stream.write_all(request.as_bytes()).expect("asked");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("answered");
    answer
}

fn get(port: u16, path: &str) -> String {
    ask(
        port,
        &format!("GET {path} HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n"),
    )
}

/// As RFC 8058, 3.2, has it.
fn post(port: u16, path: &str) -> String {
    let body = "List-Unsubscribe=One-Click";
    let length = body.len();
    ask(
        port,
        &format!(
            "POST {path} HTTP/1.1\r\nHost: a\r\nConnection: close\r\nContent-Type: \
             application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n\r\n{body}"
        ),
    )
}

/// The path of the link in the mail that the server took last.
fn path(workspace: &Workspace, mail: &str) -> String {
    use notifier::deliveries::key::StoreKey;
    let conn = notifier::service::tables::open(&workspace.path("")).expect("tables");
    let sql = "SELECT id FROM readers WHERE mail = ?1";
    let id = conn
        .query_row(sql, [mail], |row| row.get(0))
        .expect("a reader");
    let key = StoreKey::open(&workspace.path("")).expect("a key");
    format!("/leave/{}", key.token(id, mail))
}

#[test]
fn a_look_changes_nothing_and_a_post_takes_the_reader_off() {
    let server = Scripted::start();
    let readers = recipient("anna@skerrow.example", "") + &recipient("bo@skerrow.example", "");
    let workspace = reserve(&(server.settings("") + &readers));
    assert_eq!(send(&workspace).1.get("sent"), Some(&2));
    let (port, path) = (serve(&workspace), path(&workspace, "anna@skerrow.example"));
    for _ in 0..2 {
        let page = get(port, &path);
        assert!(
            page.starts_with("HTTP/1.1 200") && page.contains("<form method=\"post\""),
            "{page}"
        );
        assert!(
            !page.contains("anna@"),
            "the link's holder is not named: {page}"
        );
        assert!(page.contains("referrer-policy: no-referrer"), "{page}");
    }
    let away = || workspace.run(&["deliveries", "--json"]).json()["away"].clone();
    assert_eq!(away(), serde_json::json!([]), "a look changes nothing");
    for _ in 0..2 {
        let page = post(port, &path);
        assert!(
            page.starts_with("HTTP/1.1 200") && page.contains("off the list"),
            "{page}"
        );
    }
    assert_eq!(away()[0]["standing"], "left");
    let next = workspace.run(&["digest", "--send", "--date", "2024-09-11"]);
    let states = super::fixture::states(&next.out);
    assert_eq!(
        (states.get("sent"), states.get("paused")),
        (Some(&1), Some(&1)),
        "{}",
        next.err
    );
    assert_eq!(server.taken().len(), 3);
}

#[test]
fn a_link_that_is_nobodys_takes_nobody_off() {
    let server = Scripted::start();
    let workspace = reserve(&(server.settings("") + &recipient("anna@skerrow.example", "")));
    send(&workspace);
    let port = serve(&workspace);
    let good = path(&workspace, "anna@skerrow.example");
    let cut = &good[..good.len() - 2];
    for bad in [cut, "/leave/x", "/leave/AAAAAQAAAAAAAAAAAAAAAAAAAAA"] {
        for page in [get(port, bad), post(port, bad)] {
            assert!(page.starts_with("HTTP/1.1 404"), "{page}");
            assert!(page.contains("belongs to no reader"), "{page}");
        }
    }
    let away = workspace.run(&["deliveries", "--json"]).json()["away"].clone();
    assert_eq!(away, serde_json::json!([]));
}

//! Mail that comes back by Postfix: an address that is gone, a made-up report, a reader who leaves.

use super::by_mail::{header, ready, server};
use super::fixture::{self, recipient, send};
use harness::postfix::DOMAIN;
use harness::program::Workspace;
use mail_parser::MessageParser;

#[test]
fn mail_that_comes_back_pauses_its_reader() {
    let Some(server) = server() else { return };
    let gone = recipient(&format!("gone@{DOMAIN}"), "");
    let (workspace, _) = ready(&server, "starttls", &gone);
    assert_eq!(
        send(&workspace).1.get("sent"),
        Some(&3),
        "the server took it first"
    );
    let report = server.mails("bounces", 1).remove(0);
    let taken = bounce(&workspace, &report);
    assert_eq!(taken.0, 0, "{}", taken.1);
    assert!(
        taken
            .1
            .starts_with("gone@skerrow.example is paused: mail to them comes back (5.1.1")
    );
    let away = workspace.run(&["deliveries", "--json"]).json()["away"].clone();
    assert_eq!(away[0]["recipient"], "g…@skerrow.example");
    assert_eq!(away[0]["standing"], "paused");
    let next = workspace.run(&["digest", "--send", "--date", "2024-09-11"]);
    let states = fixture::states(&next.out);
    assert_eq!(
        (states.get("sent"), states.get("paused")),
        (Some(&2), Some(&1)),
        "{}",
        next.err
    );
    workspace
        .run(&["deliveries", "--resume", "gone@skerrow.example"])
        .works();
    let third = workspace.run(&["digest", "--send", "--date", "2024-09-18"]);
    assert_eq!(
        fixture::states(&third.out).get("sent"),
        Some(&3),
        "{}",
        third.err
    );
}

/// `wingtide bounce`, as the mail server calls it.
fn bounce(workspace: &Workspace, mail: &[u8]) -> (u8, String) {
    let text = String::from_utf8_lossy(mail);
    let dir = workspace.path("");
    let dir = dir.to_str().expect("a plain path");
    let ran = harness::program::answered(&["--dir", dir, "bounce"], &text);
    (ran.code, ran.err)
}

#[test]
fn a_made_up_report_pauses_nobody() {
    let Some(server) = server() else { return };
    let (workspace, _) = ready(&server, "starttls", "");
    send(&workspace);
    let mail = server.mails("anna", 1).remove(0);
    let mail = MessageParser::default().parse(&mail).expect("a mail");
    let ours = mail.message_id().expect("an id").to_owned();
    let report = |id: &str, action: &str, status: &str| {
        format!(
            "From: MAILER-DAEMON@far.example\nTo: bounces@{DOMAIN}\nSubject: returned\n\
             MIME-Version: 1.0\nContent-Type: multipart/report; report-type=delivery-status; \
             boundary=b\n\n--b\nContent-Type: text/plain\n\nIt failed.\n--b\nContent-Type: \
             message/delivery-status\n\nReporting-MTA: dns; far.example\n\nFinal-Recipient: \
             rfc822; anna@{DOMAIN}\nAction: {action}\nStatus: {status}\n\n--b\nContent-Type: \
             text/rfc822-headers\n\nMessage-ID: <{id}>\nTo: anna@{DOMAIN}\n\n--b--\n"
        )
    };
    let forged = report(
        "0123456789abcdef0123456789abcdef@skerrow.example",
        "failed",
        "5.1.1",
    );
    for (mail, words) in [
        (forged, "returns no mail of this workspace"),
        (report(&ours, "delayed", "4.4.1"), "may pass"),
        (
            "From: a@far.example\nSubject: Out of office\n\nBack on Monday.\n".into(),
            "neither",
        ),
    ] {
        let (code, said) = bounce(&workspace, mail.as_bytes());
        assert_eq!(code, 0, "{said}");
        assert!(said.contains(words), "{said}");
        let away = workspace.run(&["deliveries", "--json"]).json()["away"].clone();
        assert_eq!(away, serde_json::json!([]), "{mail}");
    }
    let (code, said) = bounce(&workspace, report(&ours, "failed", "5.2.2").as_bytes());
    assert!(
        code == 0 && said.starts_with("anna@skerrow.example is paused"),
        "{said}"
    );
    // the mail server keeps what cannot be recorded now, and throws away what is no mail
    assert_eq!(bounce(&workspace, b"").0, 65);
    workspace.write("wingtide.toml", "what");
    assert_eq!(
        bounce(&workspace, report(&ours, "failed", "5.1.1").as_bytes()).0,
        75
    );
}

#[test]
fn a_mail_by_which_a_reader_leaves_is_obeyed() {
    let Some(server) = server() else { return };
    let (workspace, _) = ready(&server, "starttls", "");
    send(&workspace);
    let mail = server.mails("anna", 1).remove(0);
    let mail = MessageParser::default().parse(&mail).expect("a mail");
    let ways = header(&mail, "List-Unsubscribe").expect("ways to leave");
    let token = ways
        .rsplit("%20")
        .next()
        .expect("a token")
        .trim_end_matches('>');
    let wish = format!("From: b@far.example\nSubject: Re: leave {token}\n\nPlease.\n");
    let (code, said) = bounce(&workspace, wish.as_bytes());
    assert_eq!(
        (code, said.as_str()),
        (0, "anna@skerrow.example is off the list, as they wish.\n")
    );
    let next = workspace.run(&["digest", "--send", "--date", "2024-09-11"]);
    let states = fixture::states(&next.out);
    assert_eq!(
        (states.get("sent"), states.get("paused")),
        (Some(&1), Some(&1)),
        "{}",
        next.err
    );
    assert_eq!(server.stored("anna").len(), 1);
}

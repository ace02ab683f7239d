//! Through Postfix: TLS, a login, the stored mail with all its parts and headers, and its signature
//! checked by a library that is not ours.

use super::fixture::{deliveries, recipient, reserve, send};
use harness::places;
use harness::postfix::{DOMAIN, LOGIN, Postfix};
use harness::program::Workspace;
use mail_parser::{Message, MessageParser, MimeHeaders};
use std::io::Write;
use std::process::{Command, Stdio};

const READERS: [&str; 2] = ["anna", "bo"];

/// A server, or a visible skip.
pub fn server() -> Option<Postfix> {
    let started = Postfix::start(&[&READERS[..], &["bounces"]].concat());
    started.map_err(|why| places::skipped(&why)).ok()
}

fn settings(server: &Postfix, way: &str) -> String {
    let port = match way {
        "starttls" => server.starttls,
        _ => server.tls,
    };
    format!(
        "\n[service]\npublic_url = \"https://birds.skerrow.example/ness\"\n\
         \n[mail]\nserver = \"localhost\"\nport = {port}\nsecurity = \"{way}\"\n\
         user = \"{}@{DOMAIN}\"\npassword_file = \"password\"\ncertificates = {:?}\n\
         bounces = \"bounces@{DOMAIN}\"\ndkim_domain = \"{DOMAIN}\"\n\
         dkim_selector = \"ness\"\ndkim_key_file = \"dkim.pem\"\n",
        LOGIN.0,
        server.authority(),
    )
}

/// The public part of a new RSA key, whose private part goes into the file.
fn rsa_key(workspace: &Workspace) -> String {
    let path = workspace.path("dkim.pem");
    let path = path.to_str().expect("a plain path");
    let openssl = |args: &[&str]| {
        let done = Command::new("openssl")
            .args(args)
            .output()
            .expect("openssl runs");
        assert!(
            done.status.success(),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
        String::from_utf8(done.stdout).expect("PEM")
    };
    openssl(&["genrsa", "-traditional", "-out", path, "2048"]);
    let public = openssl(&["rsa", "-in", path, "-pubout"]);
    let bare: String = public.lines().filter(|l| !l.starts_with("---")).collect();
    format!("v=DKIM1; k=rsa; p={bare}")
}

/// The reserve with two readers, whose password and key lie beside its settings.
pub fn ready(server: &Postfix, way: &str, more: &str) -> (Workspace, String) {
    let readers = recipient(&format!("Anna@{DOMAIN}"), "name = \"Anna Björk, warden\"")
        + &recipient(&format!("bo@{DOMAIN}"), "sites = [\"loch-arne\"]");
    let workspace = reserve(&(settings(server, way) + &readers + more));
    workspace.write("password", format!("{}\n", LOGIN.1));
    let key = rsa_key(&workspace);
    (workspace, key)
}

pub fn header<'a>(mail: &'a Message<'_>, name: &'static str) -> Option<&'a str> {
    mail.header_raw(name).map(str::trim)
}

fn kinds(mail: &Message<'_>) -> Vec<String> {
    let kind = |p: &mail_parser::MessagePart<'_>| {
        let t = p.content_type().expect("a type");
        format!("{}/{}", t.ctype(), t.subtype().unwrap_or_default())
    };
    mail.parts.iter().map(kind).collect()
}

/// Verifies with dkimpy, which is given the key in place of the DNS; gives the fields that the
/// signature covers.
fn verified(mail: &[u8], key: &str) -> Option<Vec<String>> {
    let python = std::env::var_os("WINGTIDE_PYTHON")?;
    let script = "import sys, dkim\nmail = sys.stdin.buffer.read()\n\
        key = sys.argv[1].encode()\nd = dkim.DKIM(mail)\n\
        assert d.verify(dnsfunc=lambda name, timeout=5: key), 'the signature does not hold'\n\
        print(' '.join(h.decode().lower() for h in d.include_headers))\n\
        broken = mail.replace(b'List-Unsubscribe-Post', b'List-Unsubscribe-Past')\n\
        assert not dkim.DKIM(broken).verify(dnsfunc=lambda name, timeout=5: key), 'not covered'\n";
    let mut child = Command::new(python)
        .args(["-c", script, key])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("Python runs");
    child
        .stdin
        .take()
        .expect("its input")
        .write_all(mail)
        .expect("the mail");
    let done = child.wait_with_output().expect("it ends");
    let said = String::from_utf8_lossy(&done.stderr);
    if said.contains("No module named 'dkim'") {
        return None;
    }
    assert!(done.status.success(), "{said}");
    let fields = String::from_utf8(done.stdout).expect("names");
    Some(fields.split_whitespace().map(str::to_owned).collect())
}

#[test]
fn a_digest_arrives_whole_and_signed() {
    let Some(server) = server() else { return };
    let (workspace, key) = ready(&server, "starttls", "");
    let (code, states, said) = send(&workspace);
    assert_eq!(
        (code, states.get("sent")),
        (0, Some(&2)),
        "{said}{}",
        server.log()
    );
    assert!(said.contains("2 deliveries queued."), "{said}");
    assert!(
        server
            .log()
            .contains(&format!("sasl_username={}@{DOMAIN}", LOGIN.0))
    );
    let anna = server.mails("anna", 1).remove(0);
    let mail = MessageParser::default().parse(&anna).expect("a mail");
    assert_eq!(
        kinds(&mail),
        [
            "multipart/alternative",
            "text/plain",
            "multipart/related",
            "text/html",
            "image/png",
            "image/png",
        ]
    );
    let to = mail.to().expect("To").first().expect("one");
    assert_eq!(to.name(), Some("Anna Björk, warden"));
    assert_eq!(to.address(), Some("Anna@skerrow.example"));
    let subject = mail.subject().expect("a subject");
    assert!(
        subject.starts_with("Cette semaine à Skerrow Ness, 2 to 8 September"),
        "{subject}"
    );
    assert_eq!(
        header(&mail, "Return-Path"),
        Some("<bounces@skerrow.example>")
    );
    assert_eq!(header(&mail, "Auto-Submitted"), Some("auto-generated"));
    // the title is not ASCII, so the list's name stands alone
    assert_eq!(
        header(&mail, "List-Id"),
        Some("<skerrow-ness.skerrow.example>")
    );
    let row = &deliveries(&workspace)["Anna@skerrow.example"];
    let id = format!("{}@skerrow.example", row["mark"].as_str().expect("a mark"));
    assert_eq!(mail.message_id(), Some(id.as_str()));
    one_click(&mail);
    texts(&mail);
    charts(&mail);
    let Some(signed) = verified(&anna, &key) else {
        places::skipped("no DKIM library for Python (WINGTIDE_PYTHON with dkimpy)");
        return;
    };
    for field in [
        "from",
        "to",
        "date",
        "message-id",
        "content-type",
        "list-unsubscribe",
        "list-unsubscribe-post",
    ] {
        assert!(signed.iter().any(|s| s == field), "{field}: {signed:?}");
    }
}

/// RFC 8058, 3.1 and 3.2; RFC 2369, 3.2.
fn one_click(mail: &Message<'_>) {
    let post = header(mail, "List-Unsubscribe-Post");
    assert_eq!(post, Some("List-Unsubscribe=One-Click"));
    let ways = header(mail, "List-Unsubscribe").expect("ways to leave");
    let ways: Vec<&str> = ways.split(',').map(str::trim).collect();
    let [page, letter] = ways[..] else {
        panic!("{ways:?}")
    };
    assert!(
        page.starts_with("<https://birds.skerrow.example/ness/leave/"),
        "{page}"
    );
    assert!(letter.starts_with("<mailto:bounces@skerrow.example?subject=leave%20"));
}

fn texts(mail: &Message<'_>) {
    let text = mail.body_text(0).expect("a text").replace("\r\n", "\n");
    let html = mail.body_html(0).expect("a page");
    assert!(
        text.starts_with("Dear Anna Björk, warden,\n\nCette semaine"),
        "{text}"
    );
    assert!(
        html.contains("Dear Anna Björk, warden,</p>") && !html.contains("<!--"),
        "{html}"
    );
    for part in [&text[..], &html[..]] {
        assert!(
            part.contains("This digest goes to Anna@skerrow.example."),
            "{part}"
        );
        assert!(part.contains("/ness/leave/"), "{part}");
        assert!(
            part.contains("Long Bank") && part.contains("Loch Arne"),
            "{part}"
        );
        assert!(
            !part.contains("wingtide week"),
            "readers have no such program: {part}"
        );
    }
}

fn charts(mail: &Message<'_>) {
    let html = mail.body_html(0).expect("a page");
    let cids = html
        .split("cid:")
        .skip(1)
        .filter_map(|s| s.split('"').next());
    let wanted: Vec<&str> = cids.collect();
    let carried: Vec<&str> = mail.parts.iter().filter_map(|p| p.content_id()).collect();
    assert_eq!((wanted.len(), &wanted), (2, &carried));
    let pngs = mail.parts.iter().filter(|p| p.content_id().is_some());
    for png in pngs {
        assert!(png.contents().starts_with(b"\x89PNG\r\n\x1a\n"));
    }
}

#[test]
fn each_reader_gets_their_sites_once() {
    let Some(server) = server() else { return };
    let (workspace, _) = ready(&server, "tls", "");
    assert_eq!(send(&workspace).1.get("sent"), Some(&2), "{}", server.log());
    let bo = server.mails("bo", 1).remove(0);
    let mail = MessageParser::default().parse(&bo).expect("a mail");
    let text = mail.body_text(0).expect("a text").into_owned();
    assert!(
        text.contains("Loch Arne") && !text.contains("Long Bank"),
        "{text}"
    );
    assert!(
        text.starts_with("Cette semaine"),
        "nobody is greeted without a name: {text}"
    );
    let (code, states, said) = send(&workspace);
    assert_eq!((code, states.get("sent")), (0, Some(&2)));
    let on_a_line = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(on_a_line.contains("nothing goes out twice"), "{said}");
    server.mails("anna", 1);
    assert_eq!(
        (server.stored("anna").len(), server.stored("bo").len()),
        (1, 1)
    );
}

#[test]
fn an_ed25519_key_signs_as_well() {
    let Some(server) = server() else { return };
    let (workspace, _) = ready(&server, "starttls", "");
    // RFC 8463, A.2: the key pair of its example
    workspace.write("dkim.pem", "nWGxne/9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A=\n");
    let key = "v=DKIM1; k=ed25519; p=11qYAYKxCrfVS/7TyWQHOg7hcvPapiMlrwIaaPcHURo=";
    assert_eq!(send(&workspace).1.get("sent"), Some(&2), "{}", server.log());
    let anna = server.mails("anna", 1).remove(0);
    if verified(&anna, key).is_none() {
        places::skipped("no DKIM library for Python (WINGTIDE_PYTHON with dkimpy)");
    }
}

#[test]
fn a_wrong_password_refuses_nobody() {
    let Some(server) = server() else { return };
    let (workspace, _) = ready(&server, "starttls", "");
    workspace.write("password", "something else\n");
    let (code, states, said) = send(&workspace);
    assert_eq!((code, states.get("waiting")), (1, Some(&2)), "{said}");
    assert!(said.contains("the login is refused: 535"), "{said}");
    assert!(!said.contains("something else"), "{said}");
    workspace.write("password", LOGIN.1);
    let again = workspace.run(&["deliveries", "--retry", "all"]);
    let states = super::fixture::states(&again.out);
    assert_eq!(
        (again.code, states.get("sent")),
        (0, Some(&2)),
        "{}",
        again.err
    );
}

#[test]
fn a_server_that_nobody_vouches_for_gets_nothing() {
    let Some(server) = server() else { return };
    let (workspace, _) = ready(&server, "starttls", "");
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    let settings: Vec<&str> = settings
        .lines()
        .filter(|l| !l.starts_with("certificates"))
        .collect();
    workspace.write("wingtide.toml", settings.join("\n"));
    let (code, states, said) = send(&workspace);
    assert_eq!((code, states.get("waiting")), (1, Some(&2)), "{said}");
    assert!(said.contains("certificate"), "{said}");
}

#[test]
fn the_readmes_settings_hold() {
    let section = harness::readme::section("Sending the digest");
    let [settings] = &harness::readme::blocks(&section, "toml")[..] else {
        panic!("one block of settings");
    };
    let workspace = Workspace::empty().with("wingtide.toml", {
        let site = "[workspace]\nname = \"Skerrow Ness\"\n[[site]]\nid = \"long-bank\"\n\
            name = \"Long Bank\"\nlatitude = 54.63\nlongitude = -0.41\n\
            time_zone = \"Europe/London\"\nregion = \"western-palearctic\"\n\
            [[source]]\nid = \"counts\"\nkind = \"counts\"\nfile = \"counts.csv\"\n\
            site = \"long-bank\"\ndate_order = \"year-month-day\"\nfully_reported = true\n\
            columns = { date = \"Date\", species = \"Bird\", count = \"Number\" }\n";
        format!("{site}{settings}")
    });
    let read = config::load(&workspace.path("")).unwrap_or_else(|e| panic!("{e}"));
    assert!(read.mail.is_some_and(|mail| mail.dkim.is_some()));
    assert_eq!((read.recipients.len(), read.webhooks.len()), (1, 1));
    assert!(section.contains(&format!(
        "{} times in all",
        notifier::deliveries::backoff::TRIES
    )));
}

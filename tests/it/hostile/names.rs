//! Names of sites and species, and a title, that are programs for a browser, a template or a mail server.

use super::table::{Attack, ROWS};
use crate::subscriptions::scene::{SERVICE, Scene};
use harness::program::Workspace;
use harness::reserve::{counts, settings};
use harness::scripted::Scripted;
use mail_parser::MessageParser;
use toml::Value;

fn names() -> Vec<(&'static str, &'static str)> {
    let rows = ROWS.iter().filter_map(|(name, attack)| match attack {
        Attack::Name(text) => Some((*name, *text)),
        _ => None,
    });
    rows.collect()
}

/// The reserve with each name as that of a site, and the same of species in turn.
fn scene(server: &Scripted) -> Scene {
    let names = names();
    let ids: Vec<String> = (0..names.len()).map(|n| format!("site-{n}")).collect();
    let sites: Vec<(&str, &str)> = ids.iter().map(|id| (id.as_str(), "a name")).collect();
    let mut text = settings(&sites);
    for (n, (_, hostile)) in names.iter().enumerate() {
        let quoted = Value::String((*hostile).to_owned()).to_string();
        text = text.replacen("name = \"a name\"", &format!("name = {quoted}"), 1);
        // species of no count at all, which the form shows
        text += &format!(
            "\n[[species]]\nscientific = \"Fictus {}us\"\nnames = {{ en = {quoted} }}\n",
            char::from(b'a' + n as u8)
        );
    }
    let title = "Week <script>alert('title')</script>";
    text = text.replace(
        "title = \"Cette semaine à Skerrow Ness\"",
        &format!("title = \"{title}\""),
    );
    let workspace = Workspace::empty()
        .with("counts.csv", counts(&sites[..2]))
        .with("wingtide.toml", text + SERVICE + &server.settings(""));
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    Scene::of(workspace)
}

#[test]
fn names_of_several_lines_are_refused() {
    let two = "Week\\r\\nBcc: eve@other.example";
    let text = settings(&[("long-bank", "Long Bank")]);
    let with = |from: &str, to: &str| {
        let text = text.replacen(from, to, 1);
        assert!(text.contains("Bcc"), "{from}");
        Workspace::empty()
            .with("wingtide.toml", text)
            .run(&["load"])
            .fails()
    };
    let title = with("Cette semaine à Skerrow Ness", two);
    let site = with("name = \"Long Bank\"", &format!("name = \"{two}\""));
    let species = with("en = \"Dunlin\"", &format!("en = \"{two}\""));
    for said in [title, site, species] {
        assert!(said.contains("one line"), "{said}");
    }
}

#[test]
fn hostile_names_are_shown_as_text_and_change_no_mail() {
    let server = Scripted::start();
    let scene = scene(&server);
    let page = scene.pages.get("/subscribe");
    assert_eq!(page.code, 200);
    let choices = scene.on_the_list(&server, "anna@skerrow.example", &[]);
    scene.sends("2024-09-04");
    let mails = server.mails();
    let digest = &mails.last().expect("a digest").1;
    let parsed = MessageParser::default()
        .parse(digest.as_bytes())
        .expect("a mail");
    let html = parsed.body_html(0).expect("a page").into_owned();
    let changed = scene.pages.get(&choices).body;
    for (name, hostile) in names() {
        for (which, html) in [
            ("form", &page.body),
            ("choices", &changed),
            ("digest", &html),
        ] {
            let raw = hostile.contains(['<', '"', '\'']) && html.contains(hostile);
            assert!(!raw, "{name} stands as it is in the {which}: {html}");
        }
    }
    for bad in [
        "onerror=alert(2)>",
        "onfocus=\"alert",
        "1337",
        "<base href",
        "<svg onload",
    ] {
        for html in [&page.body, &changed, &html] {
            assert!(!html.contains(bad), "{bad}: {html}");
        }
    }
    for (to, mail) in &mails {
        assert_eq!(to, "anna@skerrow.example");
        let head = mail.split("\r\n\r\n").next().expect("a head");
        let injected = head.lines().any(|l| l.to_lowercase().starts_with("bcc"));
        assert!(!injected, "{head}");
        let parsed = MessageParser::default()
            .parse(mail.as_bytes())
            .expect("a mail");
        let subject = parsed.subject().expect("a subject");
        assert!(!subject.contains(['\r', '\n']), "{subject:?}");
    }
}

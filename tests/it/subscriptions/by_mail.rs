//! From the form to the last digest, through Postfix with TLS and a login.

use super::scene::{SERVICE, Scene, path_in, text};
use crate::deliveries::fixture::reserve;
use harness::places;
use harness::postfix::{DOMAIN, LOGIN, Postfix};

const NAMES: &str = "\n[[species]]\nscientific = \"Calidris ferruginea\"\nnames = { en = \
    \"Curlew Sandpiper\", de = \"Sichelstrandläufer\" }\n";

fn scene(server: &Postfix) -> Scene {
    let mail = format!(
        "\n[mail]\nserver = \"localhost\"\nport = {}\nuser = \"{}@{DOMAIN}\"\n\
         password_file = \"password\"\ncertificates = {:?}\nbounces = \"bounces@{DOMAIN}\"\n",
        server.starttls,
        LOGIN.0,
        server.authority()
    );
    let workspace = reserve(&format!("{SERVICE}{mail}{NAMES}"));
    workspace.write("password", format!("{}\n", LOGIN.1));
    Scene::of(workspace)
}

/// The one mail with these words among so many.
fn with(server: &Postfix, number: usize, words: &str) -> String {
    let all = server.mails("anna", number);
    let own = all.into_iter().filter(|m| text(m).contains(words));
    let mut own: Vec<Vec<u8>> = own.collect();
    assert_eq!(own.len(), 1, "{words}");
    String::from_utf8(own.remove(0)).expect("ASCII")
}

#[test]
fn a_reader_comes_reads_changes_and_goes() {
    let Ok(server) = Postfix::start(&["anna", "bounces"]).map_err(|why| places::skipped(&why))
    else {
        return;
    };
    let scene = scene(&server);
    let mail = format!("Anna@{DOMAIN}");
    let asked = scene.subscribes(&mail, &[("site", "long-bank")]);
    assert_eq!(
        (asked.code.as_u16(), asked.header("location")),
        (303, "subscribe/asked")
    );
    let letter = with(&server, 1, "put this address down");
    let said = text(letter.as_bytes());
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("(Europe/London time). If it was not you, do nothing")
            && said.contains("an address that is not confirmed by then is deleted a day later"),
        "{said}"
    );
    let path = path_in(&letter, "confirm");
    // a scanner opens the link, which changes nothing
    assert_eq!(scene.pages.get(&path).code, 200);
    scene.sends("2024-09-04");
    assert_eq!(server.stored("anna").len(), 1);
    assert_eq!(scene.presses(&path, &[]).code, 200);
    assert_eq!(scene.presses_again(&path), 404, "the link works once");
    scene.sends("2024-09-11");
    let first = with(&server, 2, "This digest goes to");
    let told = text(first.as_bytes());
    assert!(
        told.contains("Long Bank") && !told.contains("Loch Arne"),
        "{told}"
    );
    assert!(
        told.contains("Little Stint") && told.contains("9 to 15 September 2024"),
        "{told}"
    );
    let choices = path_in(&first, "choices");
    let kept = scene.presses(
        &choices,
        &[
            ("wish", "keep"),
            ("site", "loch-arne"),
            ("language", "la"),
            ("dates", "iso"),
        ],
    );
    assert_eq!(
        (kept.code.as_u16(), kept.header("location")),
        (303, "?said=kept")
    );
    scene.sends("2024-09-18");
    let all = server.mails("anna", 3);
    let second = all
        .iter()
        .map(|m| text(m))
        .find(|t| t.contains("2024-09-16"));
    let second = second.expect("the next digest, with dates of ISO 8601");
    assert!(
        second.contains("Loch Arne") && !second.contains("Long Bank"),
        "{second}"
    );
    assert!(
        second.contains("Calidris minuta") && !second.contains("Little Stint"),
        "{second}"
    );
    // one click, as a mail program makes it (RFC 8058, 3.2)
    let leave = path_in(&first, "leave");
    let left = scene
        .pages
        .post(&leave, &[("List-Unsubscribe", "One-Click")]);
    assert_eq!(left.code, 200, "{}", left.body);
    scene.sends("2024-09-25");
    assert_eq!(server.stored("anna").len(), 3, "{}", server.log());
}

impl Scene {
    /// The status where a link is opened once more.
    fn presses_again(&self, path: &str) -> u16 {
        self.pages.get(path).code.as_u16()
    }
}

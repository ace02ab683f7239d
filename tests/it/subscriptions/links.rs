//! Links that are old, used, forged, cut or another's; and what nobody can learn by asking.

use super::scene::{Scene, mails, path_in, text};
use crate::service::scene::wait_for;
use harness::router::Answer;

#[test]
fn a_link_to_confirm_works_once_and_for_two_days() {
    let (scene, server) = Scene::scripted();
    scene.subscribes("anna@skerrow.example", &[]);
    scene.subscribes("bo@skerrow.example", &[]);
    let letters = mails(&server, 2);
    let of = |who: &str| {
        let letter = letters.iter().find(|(to, _)| to.starts_with(who));
        path_in(&letter.expect("a mail").1, "confirm")
    };
    let (anna, bo) = (of("anna"), of("bo"));
    let code = scene.pages.get(&anna).form();
    assert_eq!(scene.pages.post(&anna, &[("form", &code)]).code, 200);
    assert_eq!(
        scene.pages.post(&anna, &[("form", &code)]).code,
        404,
        "replayed"
    );
    assert_eq!(
        scene.counts("SELECT count(*) FROM subscribers WHERE confirmed_at > 0"),
        1
    );
    let code = scene.pages.get(&bo).form();
    scene.later(48 * 3600 + 1);
    let over = scene.pages.get(&bo);
    assert_eq!(over.code, 410, "over");
    assert!(
        over.body.contains("href=\"/ness/subscribe\""),
        "{}",
        over.body
    );
    assert_eq!(scene.pages.post(&bo, &[("form", &code)]).code, 410);
    assert_eq!(
        scene.counts("SELECT count(*) FROM subscribers WHERE confirmed_at > 0"),
        1
    );
    // and who never confirmed is forgotten a day later, as the mail says: until then the page tells why
    let held = || scene.counts("SELECT count(*) FROM readers WHERE mail LIKE 'bo@%'");
    scene.later(23 * 3600);
    scene.subscribes("carl@skerrow.example", &[]);
    assert_eq!(held(), 1, "the page still says that the link is over");
    scene.later(2 * 3600);
    scene.subscribes("dora@skerrow.example", &[]);
    assert_eq!(held(), 0);
    let said = letters.iter().find(|(to, _)| to.starts_with("bo"));
    let said = text(said.expect("a mail").1.as_bytes());
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("is deleted a day later"), "{said}");
}

#[test]
fn a_link_opens_its_own_page_alone() {
    let (scene, server) = Scene::scripted();
    let anna = scene.on_the_list(&server, "anna@skerrow.example", &[]);
    let bo = scene.on_the_list(&server, "bo@skerrow.example", &[]);
    let token = anna.rsplit('/').next().expect("a token");
    for other in ["confirm", "leave"] {
        assert_eq!(
            scene.pages.get(&format!("/{other}/{token}")).code,
            404,
            "{other}"
        );
    }
    // a form of one reader's page is none of another's
    let code = scene.pages.get(&anna).form();
    let forged = scene.pages.post(&bo, &[("form", &code), ("wish", "leave")]);
    assert_eq!(forged.code, 403);
    let bare = scene.pages.post(&bo, &[("wish", "leave")]);
    assert_eq!(bare.code, 403);
    let code = scene.pages.get(&bo).form();
    let head = [
        ("origin", "https://other.example"),
        ("host", "birds.skerrow.example"),
    ];
    let own = [("form", code.as_str()), ("wish", "leave")];
    assert_eq!(
        scene.pages.post_with(&bo, &own, &head).code,
        403,
        "from elsewhere"
    );
    assert_eq!(
        scene.counts("SELECT count(*) FROM readers WHERE state = 'left'"),
        0
    );
    let head = [
        ("origin", "https://birds.skerrow.example"),
        ("host", "birds.skerrow.example"),
    ];
    assert_eq!(scene.pages.post_with(&bo, &own, &head).code, 303);
    assert_eq!(
        scene.counts("SELECT count(*) FROM readers WHERE state = 'left'"),
        1
    );
}

/// All that an answer tells, but for the code of its form.
fn told(answer: &Answer) -> (u16, Vec<(String, String)>, String) {
    let fields = answer.headers.iter();
    let fields = fields.map(|(k, v)| (k.to_string(), format!("{v:?}")));
    (answer.code.as_u16(), fields.collect(), answer.body.clone())
}

#[test]
fn the_answer_is_the_same_whether_an_address_is_known_or_not() {
    let (scene, server) = Scene::scripted();
    scene.on_the_list(&server, "anna@skerrow.example", &[]);
    scene.later(3601);
    let known = scene.subscribes("anna@skerrow.example", &[("site", "loch-arne")]);
    let unknown = scene.subscribes("bo@skerrow.example", &[("site", "loch-arne")]);
    assert_eq!(told(&known), told(&unknown));
    let asked = scene.pages.get("/subscribe/asked");
    assert_eq!(asked.code, 200);
    let letters = mails(&server, 3);
    let anna = letters.iter().rev().find(|(to, _)| to.starts_with("anna"));
    let anna = &anna.expect("a mail").1;
    assert!(anna.contains("You are on the list already"), "{anna}");
    // and nobody's choices are changed by who does not hold their link
    let page = scene.pages.get(&path_in(anna, "choices")).body;
    assert!(page.contains("value=\"loch-arne\"> "), "{page}");
}

#[test]
fn one_address_gets_one_mail_an_hour() {
    let (scene, server) = Scene::scripted();
    for _ in 0..3 {
        assert_eq!(scene.subscribes("anna@skerrow.example", &[]).code, 303);
    }
    mails(&server, 1);
    scene.later(3599);
    scene.subscribes("ANNA@skerrow.example", &[]);
    scene.later(2);
    scene.subscribes("anna@skerrow.example", &[]);
    mails(&server, 2);
    let waiting = "SELECT count(*) FROM letters WHERE sent_at IS NULL";
    wait_for("all went out", || scene.counts(waiting) == 0);
    assert_eq!(server.mails().len(), 2);
    // both links are good until one was used
    let paths: Vec<String> = server
        .mails()
        .iter()
        .map(|m| path_in(&m.1, "confirm"))
        .collect();
    assert_eq!(scene.presses(&paths[0], &[]).code, 200);
    assert_eq!(scene.pages.get(&paths[1]).code, 404);
}

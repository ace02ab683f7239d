//! A site and a species that are kept from everybody, asked for by those who would find them.

use crate::subscriptions::scene::{SERVICE, Scene, text};
use harness::program::Workspace;
use harness::reserve::{counts, settings};
use harness::scripted::Scripted;

const SITES: [(&str, &str); 2] = [("long-bank", "Long Bank"), ("hidden-fen", "Hidden Fen")];

/// The reserve with a site and the stints kept back.
fn scene(server: &Scripted) -> Scene {
    let text = settings(&SITES)
        .replace(
            "name = \"Hidden Fen\"",
            "name = \"Hidden Fen\"\nsensitive = \"withhold\"",
        )
        .replace(
            "names = { en = \"Little Stint\" }",
            "names = { en = \"Little Stint\" }\nsensitive = \"withhold\"",
        );
    assert_eq!(text.matches("sensitive").count(), 2);
    let workspace = Workspace::empty()
        .with("counts.csv", counts(&SITES))
        .with("wingtide.toml", text + SERVICE + &server.settings(""));
    workspace.run(&["load"]).works();
    workspace.run(&["fit"]).works();
    Scene::of(workspace)
}

#[test]
fn what_is_withheld_is_on_no_form_and_in_no_subscribers_digest() {
    let server = Scripted::start();
    let scene = scene(&server);
    let kept = [
        "Hidden Fen",
        "hidden-fen",
        "Little Stint",
        "Calidris minuta",
    ];
    let form = scene.pages.get("/subscribe").body;
    for name in kept {
        assert!(!form.contains(name), "{name}: {form}");
    }
    // asked for by name, it is refused as what never was
    let hidden = scene.subscribes("anna@skerrow.example", &[("site", "hidden-fen")]);
    let never = scene.subscribes("anna@skerrow.example", &[("site", "nowhere")]);
    assert_eq!((hidden.code.as_u16(), never.code.as_u16()), (422, 422));
    let same = |answer: &str| answer.split("name=\"form\"").next().map(str::to_owned);
    assert_eq!(same(&hidden.body), same(&never.body));
    let page = scene.on_the_list(&server, "anna@skerrow.example", &[]);
    scene.sends("2024-09-04");
    let mails = server.mails();
    let digest = text(mails.last().expect("a digest").1.as_bytes());
    assert!(digest.contains("Long Bank"), "{digest}");
    let held = scene.presses(&page, &[("wish", "data")]).body;
    for name in kept {
        assert!(!digest.contains(name), "{name}: {digest}");
        assert!(!held.contains(name), "{name}: {held}");
    }
}

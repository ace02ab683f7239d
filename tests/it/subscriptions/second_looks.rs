//! Second looks on the keeper's pages, over the network: shown with their reasons to those who have the
//! token, answered by a form of ours alone, and kept in the trail that the command shows.

use super::keeper::{ask, form, served, session, token};
use crate::second_look::{count_on, fitted, name, of, records, slips, written};
use crate::service::scene::body;
use forecast::series::Count;
use harness::program::Workspace;
use serde_json::Value;
use std::net::SocketAddr;

const PAGE: &str = "/keeper/second-looks";

fn answers(workspace: &Workspace) -> Vec<Value> {
    let trail = workspace.run(&["second-look", "--answers", "--json"]);
    trail.json()["answers"].as_array().expect("answers").clone()
}

/// Fields as a form sends them.
fn sent(fields: &[(&str, &str)]) -> String {
    let mut sent = url::form_urlencoded::Serializer::new(String::new());
    sent.extend_pairs(fields).finish()
}

fn shown(address: SocketAddr, head: &str) -> String {
    let (status, page) = ask(address, &format!("GET {PAGE}"), head, "");
    assert_eq!(status, 200, "{page}");
    body(&page).to_owned()
}

#[test]
fn questions_are_shown_and_answered_behind_the_token() {
    let workspace = fitted(&written());
    let asked = records(&workspace);
    let [swapped, tenfold, _] = slips().map(|s| of(&asked, &s));
    let served = served(&workspace);
    let address = served.address;
    let (status, page) = ask(address, &format!("GET {PAGE}"), "", "");
    assert_eq!(status, 401);
    assert!(!page.contains("Tree Pipit"), "{page}");
    let head = session(address, &token(&workspace));
    let page = shown(address, &head);
    for question in [&swapped, &tenfold] {
        let because = question["because"].as_str().expect("a reason");
        let because = because.replace('\u{a0}', " ");
        assert!(
            page.replace('\u{a0}', " ").contains(&because),
            "{because}: {page}"
        );
        assert!(page.contains(&name(question)), "{page}");
    }
    assert!(page.contains("found by Ann Warden"), "{page}");
    let withdrawn = [
        ("form", form(&page)),
        ("record", &name(&swapped)),
        ("verdict", "withdrawn"),
        ("note", "It was May,\r\nsays <Ann>"),
        ("evidence", "her notebook"),
        ("date", "2023-10-02"),
    ];
    let (status, answer) = ask(address, &format!("POST {PAGE}"), &head, &sent(&withdrawn));
    assert_eq!(status, 303, "{answer}");
    let kept = answers(&workspace);
    assert_eq!(kept.len(), 1);
    for (key, value) in [
        ("record", name(&swapped).as_str()),
        ("verdict", "withdrawn"),
        ("note", "It was May,\nsays <Ann>"),
        ("evidence", "her notebook"),
        ("answered_on", "2023-10-02"),
        // the service's own clock
        ("species", "Anthus trivialis"),
    ] {
        assert_eq!(kept[0][key], value, "{kept:#?}");
    }
    let kept_at = kept[0]["kept_at"].as_str().expect("an instant");
    assert!(
        kept_at.starts_with("2026-09-01T12:"),
        "by the service's clock: {kept_at}"
    );
    assert_eq!(count_on(&workspace, &slips()[0]), Count::Unknown);
    let page = shown(address, &head);
    assert!(page.contains("says &lt;Ann&gt;"), "{page}");
    // another answer about it goes behind the first, which stays
    let again = [
        ("form", form(&page)),
        ("record", &name(&swapped)),
        ("verdict", "accepted"),
    ];
    assert_eq!(
        ask(address, &format!("POST {PAGE}"), &head, &sent(&again)).0,
        303
    );
    let verdicts: Vec<Value> = answers(&workspace)
        .iter()
        .map(|a| a["verdict"].clone())
        .collect();
    assert_eq!(verdicts, ["withdrawn", "accepted"]);
    assert_eq!(count_on(&workspace, &slips()[0]), Count::Exactly(6));
    served.end();
}

/// As much as the form lets somebody type, in letters that take two bytes each and are sent as six.
#[test]
fn whatever_the_form_holds_is_kept_and_more_is_refused_on_a_page() {
    let workspace = fitted(&written());
    let record = name(&of(&records(&workspace), &slips()[1]));
    let served = served(&workspace);
    let address = served.address;
    let head = session(address, &token(&workspace));
    let page = shown(address, &head);
    let long = "\u{436}".repeat(8000);
    let post = |note: &str| {
        let fields = [
            ("form", form(&page)),
            ("record", record.as_str()),
            ("verdict", "accepted"),
            ("note", note),
            ("evidence", &long),
        ];
        ask(address, &format!("POST {PAGE}"), &head, &sent(&fields))
    };
    let (status, more) = post(&long.repeat(8));
    assert_eq!(status, 413, "{more}");
    assert!(
        more.contains("nothing of it was kept") && more.contains("</html>"),
        "{more}"
    );
    let (status, answer) = post(&long);
    assert_eq!(status, 303, "{answer}");
    let kept = answers(&workspace);
    assert_eq!(kept.len(), 1);
    assert_eq!(
        (kept[0]["note"].as_str(), kept[0]["evidence"].as_str()),
        (Some(&*long), Some(&*long))
    );
    served.end();
}

/// A session that ended takes nothing along that somebody typed, nor does a form that is too old.
#[test]
fn what_was_typed_is_not_lost_at_the_door() {
    let workspace = fitted(&written());
    let record = name(&of(&records(&workspace), &slips()[1]));
    let served = served(&workspace);
    let (address, token) = (served.address, token(&workspace));
    let typed = [
        ("record", record.as_str()),
        ("verdict", "withdrawn"),
        ("note", "two\r\nlines of <Ann>"),
        ("evidence", "her \"book\""),
        ("date", "2026-08-30"),
    ];
    let post = |way: &str, head: &str, fields: &[(&str, &str)]| {
        ask(address, &format!("POST {way}"), head, &sent(fields))
    };
    let (status, door) = post(PAGE, "", &typed);
    assert_eq!(status, 401);
    let carried = |page: &str| {
        page.contains("value=\"two\nlines of &lt;Ann&gt;\"")
            && page.contains("value=\"her &quot;book&quot;\"")
    };
    assert!(carried(&door), "{door}");
    let elsewhere = "Origin: https://other.example\r\n";
    assert!(
        !carried(&post(PAGE, elsewhere, &typed).1),
        "none of another page's"
    );
    let enter = |door: &str, token: &str| {
        let fields = [&[("form", form(door)), ("token", token)], &typed[..]].concat();
        post("/keeper/enter", "", &fields)
    };
    let (status, door) = enter(&door, "nonsense");
    assert_eq!(status, 403);
    assert!(carried(&door), "{door}");
    let (status, page) = enter(&door, &token);
    assert_eq!(status, 200, "{page}");
    let stands = |page: &str| {
        page.contains(">two\nlines of &lt;Ann&gt;</textarea>")
            && page.contains("value=\"withdrawn\" checked")
            && page.contains("value=\"2026-08-30\"")
    };
    assert!(stands(&page), "{page}");
    assert_eq!(
        answers(&workspace),
        Vec::<Value>::new(),
        "it is sent again first"
    );
    let (_, rest) = page.split_once("set-cookie: ").expect("a cookie");
    let head = format!("Cookie: {}\r\n", rest.split(';').next().expect("a pair"));
    // a code of another form, as one that is too old
    let old = [&[("form", form(&door))], &typed[..]].concat();
    let (status, old) = post(PAGE, &head, &old);
    assert_eq!(status, 403);
    assert!(
        stands(&old) && old.contains("what you typed stands below"),
        "{old}"
    );
    let gone = [
        &[("form", form(&page)), ("record", "0123456789")],
        &typed[1..],
    ]
    .concat();
    let (status, gone) = post(PAGE, &head, &gone);
    assert_eq!(status, 404);
    assert!(
        gone.contains("readonly>two\nlines of &lt;Ann&gt;</textarea>"),
        "{gone}"
    );
    let whole = [&[("form", form(&page))], &typed[..]].concat();
    assert_eq!(post(PAGE, &head, &whole).0, 303);
    assert_eq!(answers(&workspace)[0]["note"], "two\nlines of <Ann>");
    served.end();
}

/// Settings that are being written just then take nothing along that somebody typed.
#[test]
fn what_was_typed_is_not_lost_while_the_settings_cannot_be_read() {
    let workspace = fitted(&written());
    let record = name(&of(&records(&workspace), &slips()[1]));
    let served = served(&workspace);
    let address = served.address;
    let head = session(address, &token(&workspace));
    let page = shown(address, &head);
    let settings = std::fs::read_to_string(workspace.path("wingtide.toml")).expect("settings");
    workspace.write(
        "wingtide.toml",
        settings.replace("[workspace]", "[workspace"),
    );
    let typed = [
        ("form", form(&page)),
        ("record", record.as_str()),
        ("verdict", "withdrawn"),
        ("note", "two\r\nlines of <Ann>"),
        ("evidence", "her \"book\""),
        ("date", "2023-09-30"),
    ];
    let (status, again) = ask(address, &format!("POST {PAGE}"), &head, &sent(&typed));
    assert_eq!(status, 503, "{again}");
    for stands in [
        "cannot be read at this moment: ",
        "what you typed stands below",
        &format!("name=\"record\" value=\"{record}\""),
        "value=\"withdrawn\" checked",
        ">two\nlines of &lt;Ann&gt;</textarea>",
        ">her &quot;book&quot;</textarea>",
        "value=\"2023-09-30\"",
    ] {
        assert!(again.contains(stands), "{stands}: {again}");
    }
    assert!(
        !again.contains("None so far"),
        "answers are not known: {again}"
    );
    let (status, bare) = ask(address, &format!("GET {PAGE}"), &head, "");
    assert_eq!(status, 503);
    assert!(bare.contains("cannot be read at this moment: "), "{bare}");
    let (_, done) = ask(address, &format!("GET {PAGE}?said=accepted"), &head, "");
    assert!(done.contains("Kept: the record stands as it is."), "{done}");
    workspace.write("wingtide.toml", &settings);
    assert_eq!(answers(&workspace), Vec::<Value>::new());
    let sent_again = [&[("form", form(&again))], &typed[1..]].concat();
    let (status, answer) = ask(address, &format!("POST {PAGE}"), &head, &sent(&sent_again));
    assert_eq!(status, 303, "{answer}");
    assert_eq!(answers(&workspace)[0]["note"], "two\nlines of <Ann>");
    served.end();
}

#[test]
fn nothing_is_kept_of_what_is_no_answer_of_the_keepers() {
    let workspace = fitted(&written());
    let record = name(&of(&records(&workspace), &slips()[1]));
    let served = served(&workspace);
    let (address, token) = (served.address, token(&workspace));
    let head = session(address, &token);
    let page = shown(address, &head);
    let (_, keeper) = ask(address, "GET /keeper", &head, "");
    let post = |head: &str, fields: &[(&str, &str)]| {
        ask(address, &format!("POST {PAGE}"), head, &sent(fields))
    };
    let own = ("form", form(&page));
    let whole = [own, ("record", record.as_str()), ("verdict", "withdrawn")];
    assert_eq!(post("", &whole).0, 401, "without a session");
    let bearer = format!("Authorization: Bearer {token}\r\n");
    assert_eq!(post(&bearer, &whole).0, 401, "programs have no form");
    assert_eq!(post(&head, &whole[1..]).0, 403, "without the form's code");
    let others = [&[("form", form(&keeper))], &whole[1..]].concat();
    assert_eq!(post(&head, &others).0, 403, "with another form's code");
    let elsewhere = format!("{head}Origin: https://other.example\r\n");
    assert_eq!(post(&elsewhere, &whole).0, 403, "from another page");
    let cross = format!("{head}Sec-Fetch-Site: cross-site\r\n");
    assert_eq!(post(&cross, &whole).0, 403, "from another site");
    let unknown = [own, ("record", "0123456789"), ("verdict", "accepted")];
    assert_eq!(post(&head, &unknown).0, 404);
    let (status, wrong) = post(
        &head,
        &[own, whole[1], ("verdict", "maybe"), ("note", "typed")],
    );
    assert_eq!(status, 422);
    assert!(
        wrong.contains("Say what came of it") && wrong.contains(">typed</textarea>"),
        "{wrong}"
    );
    for (date, said) in [
        (
            "0001-01-01",
            "An answer dated 0001-01-01 cannot be about the record of ",
        ),
        ("2099-01-01", "to today, 2026-09-01."),
    ] {
        let (status, wrong) = post(&head, &[&whole[..], &[("date", date)]].concat());
        assert_eq!(status, 422, "{date}");
        assert!(wrong.contains(said), "{said}: {wrong}");
    }
    let on = [
        "second-look",
        "answer",
        record.as_str(),
        "--accepted",
        "--date",
    ];
    for date in ["0001-01-01", "2099-01-01"] {
        let told = workspace.run(&[&on[..], &[date]].concat()).fails();
        assert!(told.contains(&format!("an answer dated {date}")), "{told}");
    }
    assert_eq!(answers(&workspace), Vec::<Value>::new());
    assert_eq!(count_on(&workspace, &slips()[1]), Count::Exactly(150));
    served.end();
}

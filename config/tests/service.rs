//! `[service]`, `[mail]`, `[[recipient]]` and `[[webhook]]`: what they mean, and what is said of
//! wrong ones.

use config::service::{Secret, Security};
use std::io;
use std::path::Path;

const BASE: &str = r#"[workspace]
name = "Skerrow Ness"
[[site]]
id = "long-bank"
name = "Long Bank"
latitude = 54.63
longitude = -0.41
time_zone = "Europe/London"
region = "western-palearctic"
[[species]]
scientific = "Calidris minuta"
[[source]]
id = "counts"
kind = "counts"
file = "counts.csv"
columns = { date = "Date", species = "Species", count = "Number" }
"#;

const WHOLE: &str = r#"[service]
load = "0 3 * * *"
digest = "0 7 * * 1"
time_zone = "Europe/Dublin"
listen = "[::1]:9000"
public_url = "https://birds.skerrow.example"
[mail]
server = "mail.skerrow.example"
security = "tls"
user = "warden"
password_env = "SKERROW_MAIL"
per_minute = 90
bounces = "bounces@skerrow.example"
dkim_domain = "skerrow.example"
dkim_selector = "w1"
dkim_key_file = "dkim.pem"
[[recipient]]
mail = "reader@skerrow.example"
name = "A. Reader"
sites = ["long-bank"]
[[webhook]]
id = "club"
url = "https://chat.skerrow.example/hooks/1"
secret_file = "club-secret"
"#;

fn parse(more: &str) -> Result<config::settings::Workspace, config::ConfigError> {
    config::parse(
        &format!("{BASE}{more}"),
        Path::new("/reserve"),
        |_: &Path| Err(io::ErrorKind::NotFound.into()),
    )
}

#[test]
fn everything_left_out_has_its_default() {
    let workspace = parse("").expect("a workspace");
    assert_eq!(workspace.service.load.to_string(), "15 4 * * *");
    assert_eq!(workspace.service.digest.to_string(), "30 6 * * mon");
    assert!(workspace.service.listen.ip().is_loopback());
    assert_eq!(workspace.mail, None);
    assert!(workspace.recipients.is_empty() && workspace.webhooks.is_empty());
}

#[test]
fn everything_written_is_meant() {
    let workspace = parse(WHOLE).expect("a workspace");
    let mail = workspace.mail.expect("[mail]");
    assert_eq!((mail.security, mail.port), (Security::Tls, 465));
    let password = Secret::Environment("SKERROW_MAIL".to_owned());
    assert_eq!(mail.login, Some(("warden".to_owned(), password)));
    let key = mail.dkim.expect("DKIM").key_file;
    assert_eq!(key, Path::new("/reserve/dkim.pem"));
    assert_eq!(workspace.recipients[0].sites, ["long-bank"]);
    let secret = Secret::File("/reserve/club-secret".into());
    assert_eq!(workspace.webhooks[0].secret, Some(secret));
}

/// What a person wrote, and what they read.
const WRONG: &[(&str, &str)] = &[
    (
        "[service]\ndigest = \"30 6 * *\"",
        r#"wingtide.toml line 18: digest in [service] is "30 6 * *"; expected five fields (minute, hour, day of the month, month, day of the week), such as "30 6 * * mon" for Mondays at 06:30"#,
    ),
    (
        "[service]\ntime_zone = \"Europe/Lodnon\"",
        r#"wingtide.toml line 18: unknown time_zone "Europe/Lodnon" in [service]; expected an IANA time zone such as "Europe/London"; did you mean "Europe/London"?"#,
    ),
    (
        "[service]\nlisten = \"7878\"",
        r#"wingtide.toml line 18: listen in [service] is "7878"; expected an address and port such as "127.0.0.1:7878""#,
    ),
    (
        "[service]\npublic_url = \"http://birds.skerrow.example\"",
        r#"wingtide.toml line 18: public_url in [service] is "http://birds.skerrow.example"; expected an https address such as "https://birds.example.org""#,
    ),
    (
        "[mail]\nsecurity = \"tls\"",
        r#"wingtide.toml line 17: server is missing in [mail]; expected the name of a mail server such as "mail.example.org""#,
    ),
    (
        "[mail]\nserver = \"mail.skerrow.example\"\nsecurity = \"none\"",
        r#"wingtide.toml line 19: security "none" of [mail] is for a mail server on this machine (localhost); expected "starttls" or "tls""#,
    ),
    (
        "[mail]\nserver = \"localhost\"\nuser = \"warden\"",
        "wingtide.toml line 19: [mail] has user without password_env or password_file",
    ),
    (
        "[mail]\nserver = \"localhost\"\npassword_file = \"p\"",
        "wingtide.toml line 19: [mail] has password_file without user",
    ),
    (
        "[mail]\nserver = \"localhost\"\npassword = \"secret\"",
        r#"wingtide.toml line 19: unknown key "password" in [mail]; did you mean "password_env"?"#,
    ),
    (
        "[mail]\nserver = \"localhost\"\nuser = \"w\"\npassword_env = \"A\"\npassword_file = \"p\"",
        "wingtide.toml line 21: [mail] has both password_env and password_file; keep one",
    ),
    (
        "[mail]\nserver = \"localhost\"\ndkim_selector = \"w1\"",
        "wingtide.toml line 19: [mail] has dkim_selector without dkim_domain",
    ),
    (
        "[mail]\nserver = \"localhost\"\nbounces = \"Bounces <b@skerrow.example>\"",
        r#"wingtide.toml line 19: bounces in [mail] is "Bounces <b@skerrow.example>"; expected one mail address such as "bounces@example.org""#,
    ),
    (
        "[[recipient]]\nmail = \"reader\"",
        r#"wingtide.toml line 18: mail in [[recipient]] is "reader"; expected one mail address such as "reader@example.org""#,
    ),
    (
        "[[recipient]]\nmail = \"a@b.example\"\n[[recipient]]\nmail = \"A@b.example\"",
        r#"wingtide.toml line 20: the recipient "A@b.example" stands already above"#,
    ),
    (
        "[[recipient]]\nmail = \"a@b.example\"\nsites = [\"log-bank\"]",
        r#"wingtide.toml line 19, column 10: unknown site "log-bank" in sites of [[recipient]]; expected the id of a [[site]]; did you mean "long-bank"?"#,
    ),
    (
        "[[webhook]]\nid = \"club\"",
        r#"wingtide.toml line 17: url is missing in [[webhook]]; expected an address such as "https://chat.example.org/hooks/birds""#,
    ),
    (
        "[[webhook]]\nid = \"club\"\nurl = \"https://a:b@chat.skerrow.example/\"",
        "wingtide.toml line 19: the url of [[webhook]] carries a user or password, which do not belong into this file",
    ),
];

#[test]
fn every_wrong_setting_is_told_in_one_sentence() {
    for (written, expected) in WRONG {
        let said = match parse(written) {
            Ok(_) => "nothing".to_owned(),
            Err(e) => e.to_string(),
        };
        assert_eq!(&said, expected, "{written}");
    }
}

#[test]
fn subscriptions_and_the_keepers_token_are_read() {
    let more = "[service]\npublic_url = \"https://birds.skerrow.example\"\nsubscribe = true\npages_per_minute = 600\n\
                keeper_token_file = \"keeper\"\nproxy_header = \"X-Forwarded-For\"\n";
    let service = parse(more).expect("settings").service;
    assert!(service.subscribe);
    assert_eq!(service.pages_per_minute, 600);
    let file = Secret::File(Path::new("/reserve/keeper").into());
    assert_eq!(service.keeper_token, Some(file));
    assert_eq!(service.proxy_header.as_deref(), Some("X-Forwarded-For"));
    let usual = parse("").expect("settings").service;
    assert!(!usual.subscribe && usual.keeper_token.is_none() && usual.proxy_header.is_none());
}

#[test]
fn subscriptions_that_cannot_work_are_told() {
    let both = [
        ("subscribe = true", "without public_url"),
        ("proxy_header = \"X-Real: a\"", "X-Real: a"),
        ("pages_per_minute = 0", "a whole number from 1 to 1000000"),
        ("keeper_token_env = \"A B\"", "A B"),
    ];
    for (line, wanted) in both {
        let said = parse(&format!("[service]\n{line}\n"))
            .expect_err("refused")
            .to_string();
        assert!(said.contains(wanted), "{said}");
    }
}

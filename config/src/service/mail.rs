//! `[mail]`: the server that takes the mail.

use super::secret::{self, Secret};
use crate::digest::is_address;
use crate::raw::{Key, Section};
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::time::Duration;
use toml::Spanned;

/// `[mail]`
#[derive(Debug, Clone, PartialEq)]
pub struct MailSettings {
    /// Its name or address.
    pub server: String,
    /// Its port.
    pub port: u16,
    /// How the way there is kept private.
    pub security: Security,
    /// The login, where the server wants one.
    pub login: Option<(String, Secret)>,
    /// A file of certificates (PEM) to trust beside the usual ones.
    pub certificates: Option<PathBuf>,
    /// Sessions at a time, at least 1.
    pub sessions: u32,
    /// Mails a minute; as many as go where None.
    pub per_minute: Option<u32>,
    /// The longest wait for an answer.
    pub timeout: Duration,
    /// The address that bounces go to (the envelope's sender); the digest's `from` where None.
    pub bounces: Option<String>,
    /// How mail is signed.
    pub dkim: Option<Dkim>,
}

/// How the way to the mail server is kept private.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Security {
    /// TLS after STARTTLS; nothing is sent if it is refused.
    Starttls,
    /// TLS from the first byte.
    Tls,
    /// None, on the machine itself.
    None,
}

/// A DKIM signature's domain, selector and key (RFC 6376).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dkim {
    /// `d=`
    pub domain: String,
    /// `s=`
    pub selector: String,
    /// The private key: RSA (PEM, PKCS #1) or Ed25519 (its 32 bytes in base64).
    pub key_file: PathBuf,
}

const KEYS: &[Key] = &[
    Key(
        "server",
        r#"the name of a mail server such as "mail.example.org""#,
    ),
    Key("port", "a whole number from 1 to 65535"),
    Key("security", "\"starttls\", \"tls\" or \"none\""),
    Key("user", "the login's name"),
    Key(
        "password_env",
        "the name of the environment's variable that holds the password",
    ),
    Key("password_file", "the file that holds the password"),
    Key("certificates", "a file of certificates (PEM) to trust"),
    Key("sessions", "a whole number from 1 to 50"),
    Key(
        "per_minute",
        "a whole number of mails a minute from 1 to 100000",
    ),
    Key("timeout_s", "a whole number of seconds from 1 to 600"),
    Key(
        "bounces",
        r#"one mail address such as "bounces@example.org""#,
    ),
    Key("dkim_domain", r#"a domain such as "example.org""#),
    Key("dkim_selector", r#"a selector such as "wingtide""#),
    Key("dkim_key_file", "the file of the private key"),
];

const SESSIONS: u32 = 4;
const TIMEOUT_S: u32 = 60;
/// RFC 6409 (submission), RFC 8314 (implicit TLS), RFC 5321 (plain).
const PORTS: [(Security, u32); 3] = [
    (Security::Starttls, 587),
    (Security::Tls, 465),
    (Security::None, 25),
];

/// The `[mail]` of the file; inner None where there is none.
pub(crate) fn read(top: &Section<'_>, root: &Path) -> Option<Option<MailSettings>> {
    let Some(section) = top.section("mail", KEYS) else {
        return Some(None);
    };
    let section = &section;
    let server = section.need_text("server").map(Spanned::into_inner);
    let security = security(section, server.as_deref());
    let usual = PORTS.into_iter().find(|(s, _)| Some(*s) == security);
    let port = section.whole("port", 1..=65535, usual.map_or(587, |(_, port)| port));
    let sessions = section.whole("sessions", 1..=50, SESSIONS);
    let timeout = section.whole("timeout_s", 1..=600, TIMEOUT_S);
    let per_minute = match section.has("per_minute") {
        true => section.whole("per_minute", 1..=100_000, 1).map(Some),
        false => Some(None),
    };
    let login = login(section, root);
    let bounces = section.text("bounces").and_then(|text| {
        let bare = is_address(text.get_ref()) && !text.get_ref().contains('<');
        if !bare {
            section.refuse_value("bounces", &text);
        }
        bare.then(|| text.into_inner())
    });
    let dkim = dkim(section, root);
    let file = |key| section.text(key).map(|path| root.join(path.get_ref()));
    Some(Some(MailSettings {
        server: server?,
        port: u16::try_from(port?).ok()?,
        security: security?,
        login: login?,
        certificates: file("certificates"),
        sessions: sessions?,
        per_minute: per_minute?,
        timeout: Duration::from_secs(u64::from(timeout?)),
        bounces,
        dkim: dkim?,
    }))
}

/// Mail in the clear, with or without a password, only within the machine.
fn security(section: &Section<'_>, server: Option<&str>) -> Option<Security> {
    let choices = [
        ("starttls", Security::Starttls),
        ("tls", Security::Tls),
        ("none", Security::None),
    ];
    let security = match section.has("security") {
        true => section.choice("security", &choices)?,
        false => Security::Starttls,
    };
    if security == Security::None && !server.is_some_and(is_own_machine) {
        let title = section.title();
        let message = format!(
            "security \"none\" of {title} is for a mail server on this machine (localhost); \
             expected \"starttls\" or \"tls\""
        );
        section.refuse_key("security", message);
        return None;
    }
    Some(security)
}

/// A name or address that never leaves the machine.
pub(super) fn is_own_machine(host: &str) -> bool {
    let host = host.trim_matches(['[', ']']);
    host == "localhost" || host.parse::<IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

fn login(section: &Section<'_>, root: &Path) -> Option<Option<(String, Secret)>> {
    let keys = ["password_env", "password_file"];
    let has_password = keys.iter().any(|key| section.has(key));
    match (section.has("user"), has_password) {
        (false, false) => Some(None),
        (true, true) => {
            let user = section.text("user").map(Spanned::into_inner);
            let password = secret::read(section, root, keys);
            Some(Some((user?, password?)))
        }
        (has_user, _) => {
            let title = section.title();
            let (key, other) = match has_user {
                true => ("user", "password_env or password_file"),
                false => (keys[usize::from(!section.has(keys[0]))], "user"),
            };
            section.refuse_key(key, format!("{title} has {key} without {other}"));
            None
        }
    }
}

fn dkim(section: &Section<'_>, root: &Path) -> Option<Option<Dkim>> {
    let keys = ["dkim_domain", "dkim_selector", "dkim_key_file"];
    let (there, missing): (Vec<&str>, Vec<&str>) = keys.iter().partition(|key| section.has(key));
    match (there.first(), missing.first()) {
        (None, _) => Some(None),
        (Some(key), Some(missing)) => {
            let title = section.title();
            section.refuse_key(key, format!("{title} has {key} without {missing}"));
            None
        }
        (Some(_), None) => {
            let [domain, selector, key_file] =
                keys.map(|key| section.text(key).map(Spanned::into_inner));
            Some(Some(Dkim {
                domain: domain?,
                selector: selector?,
                key_file: root.join(key_file?),
            }))
        }
    }
}

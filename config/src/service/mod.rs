//! What `wingtide serve` needs to know: when, to whom, by which ways.

mod mail;
mod recipients;
mod secret;
mod webhooks;

pub use mail::{Dkim, MailSettings, Security};
pub use recipients::Recipient;
pub use secret::Secret;
pub use webhooks::Webhook;

pub(crate) use mail::read as mail;
pub(crate) use recipients::read as recipients;
pub(crate) use webhooks::read as webhooks;

use crate::cron_line::{CronLine, EXPECTED};
use crate::raw::{Key, Section};
use crate::sites::zone;
use chrono_tz::Tz;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use url::Url;

/// `[service]`
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceSettings {
    /// When sources are fetched and loaded.
    pub load: CronLine,
    /// When the digest goes out.
    pub digest: CronLine,
    /// The zone of these times; the first site's where none is written.
    pub time_zone: Option<Tz>,
    /// Where the status page answers.
    pub listen: SocketAddr,
    /// The address under which people reach the service, without a slash at its end.
    pub public_url: Option<Url>,
    /// Are pages, feeds and the API for everybody there?
    pub pages: bool,
    /// How many requests for them one peer may make in a minute, style sheets and letters among
    /// them.
    pub pages_per_minute: u32,
    /// May readers put themselves on the list?
    pub subscribe: bool,
    /// What the keeper's pages are opened with; a file in the store, made at first use, where None.
    pub keeper_token: Option<Secret>,
    /// The field in which a trusted proxy tells, last, who asks; those who connect where None.
    pub proxy_header: Option<String>,
}

impl ServiceSettings {
    /// The address below which everybody finds pages; None where there are none, or none is known.
    pub fn public_pages(&self) -> Option<&Url> {
        self.public_url.as_ref().filter(|_| self.pages)
    }
}

const KEYS: &[Key] = &[
    Key("load", EXPECTED),
    Key("digest", EXPECTED),
    Key("time_zone", r#"an IANA time zone such as "Europe/London""#),
    Key("listen", r#"an address and port such as "127.0.0.1:7878""#),
    Key("public_url", PUBLIC_URL),
    Key("pages", "true or false"),
    Key("pages_per_minute", "a whole number from 1 to 1000000"),
    Key("subscribe", "true or false"),
    Key(
        KEEPER_TOKEN[0],
        "the name of the environment's variable that holds the keeper's token",
    ),
    Key(KEEPER_TOKEN[1], "the file that holds the keeper's token"),
    Key("proxy_header", PROXY_HEADER),
];

const KEEPER_TOKEN: [&str; 2] = ["keeper_token_env", "keeper_token_file"];

const PROXY_HEADER: &str = r#"the name of a header field such as "X-Forwarded-For""#;

const PUBLIC_URL: &str = r#"an https address such as "https://birds.example.org""#;

/// Early, so that a day's counts are in before people are up.
const LOAD: &str = "15 4 * * *";
/// A week is planned on its Monday.
const DIGEST: &str = "30 6 * * mon";
/// Not to be reached from other machines unless someone says so.
const LISTEN: SocketAddr = SocketAddr::new(std::net::IpAddr::V4(Ipv4Addr::LOCALHOST), 7878);

/// A hundred a second: more than a class of pupils behind one address asks for, and less than keeps a
/// small machine busy. Our choice, neither measured nor taken from a standard.
const PAGES_PER_MINUTE: u32 = 6000;

/// The `[service]` of the file, or its defaults.
pub(crate) fn read(top: &Section<'_>, root: &Path) -> Option<ServiceSettings> {
    let section = top.section("service", KEYS);
    let section = section.as_ref();
    let load = line(section, "load", LOAD);
    let digest = line(section, "digest", DIGEST);
    let listen = match section.and_then(|s| Some((s, s.text("listen")?))) {
        Some((section, text)) => match text.get_ref().parse() {
            Ok(address) => Some(address),
            Err(_) => {
                section.refuse_value("listen", &text);
                None
            }
        },
        None => Some(LISTEN),
    };
    Some(ServiceSettings {
        load: load?,
        digest: digest?,
        time_zone: section.and_then(|s| zone(s, &s.text("time_zone")?)),
        listen: listen?,
        public_url: section.and_then(public_url),
        pages: section.is_none_or(|s| !s.has("pages") || s.flag("pages")),
        pages_per_minute: match section {
            Some(section) => section.whole("pages_per_minute", 1..=1_000_000, PAGES_PER_MINUTE)?,
            None => PAGES_PER_MINUTE,
        },
        subscribe: section.is_some_and(subscribe),
        keeper_token: section.and_then(|s| {
            let written = KEEPER_TOKEN.iter().any(|key| s.has(key));
            written.then(|| secret::read(s, root, KEEPER_TOKEN))?
        }),
        proxy_header: section.and_then(proxy_header),
    })
}

fn line(section: Option<&Section<'_>>, key: &str, default: &str) -> Option<CronLine> {
    let written = section.and_then(|s| Some((s, s.text(key)?)));
    let Some((section, text)) = written else {
        return default.parse().ok();
    };
    let line = text.get_ref().parse().ok();
    if line.is_none() {
        section.refuse_value(key, &text);
    }
    line
}

/// Whoever puts themselves on the list gets a link, which leads to the public address.
fn subscribe(section: &Section<'_>) -> bool {
    let subscribe = section.flag("subscribe");
    if subscribe && !section.has("public_url") {
        let message = format!(
            "{} has subscribe = true without public_url, which the links in mails lead to",
            section.title()
        );
        section.refuse_key("subscribe", message);
    }
    subscribe
}

fn proxy_header(section: &Section<'_>) -> Option<String> {
    let name = section.text("proxy_header")?;
    // RFC 9110, 5.6.2, without what no proxy's field has
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
    if name.get_ref().is_empty() || !name.get_ref().chars().all(plain) {
        section.refuse_value("proxy_header", &name);
        return None;
    }
    Some(name.into_inner())
}

/// Links in mail carry what lets somebody unsubscribe, so plain http is for a machine of one's own.
fn public_url(section: &Section<'_>) -> Option<Url> {
    let text = section.text("public_url")?;
    let fit = |url: &Url| {
        let safe = url.scheme() == "https" || (url.scheme() == "http" && is_own_machine(url));
        let bare = url.query().is_none() && url.fragment().is_none() && url.username().is_empty();
        safe && bare && url.password().is_none()
    };
    let url = Url::parse(text.get_ref()).ok().filter(fit);
    if url.is_none() {
        section.refuse_value("public_url", &text);
    }
    url
}

fn is_own_machine(url: &Url) -> bool {
    url.host_str().is_some_and(mail::is_own_machine)
}

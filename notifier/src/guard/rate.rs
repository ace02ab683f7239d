//! How many requests one peer may make.

use super::patience::Peer;
use super::plain::Plain;
use axum::Router;
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::header;
use axum::http::{HeaderMap, HeaderValue, Method, Request, Response, StatusCode};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
use std::sync::Arc;
use std::time::Duration;
use tokio::runtime::Handle;
use tower_governor::GovernorError;
use tower_governor::GovernorLayer;
use tower_governor::governor::GovernorConfigBuilder;
use tower_governor::key_extractor::KeyExtractor;

/// So many at once, and one more each `every`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    /// At once.
    pub burst: u32,
    /// Until one more.
    pub every: Duration,
}

// The rates are choices of ours, neither measured nor taken from a standard; why these is said of
// each.

/// Forms and links out of mails: more than anybody fills in, fewer than it takes to guess. Thirty
/// at once do for several people behind one address; who tries out links then has one try in two
/// seconds.
pub const FORMS: Rate = Rate {
    burst: 30,
    every: Duration::from_secs(2),
};
/// Wishes for the digest, each of which may send a mail to somebody. Ten at once are enough for
/// people who sign up together at one address; one a minute after that makes no flood of mails.
pub const WISHES: Rate = Rate {
    burst: 10,
    every: Duration::from_secs(60),
};
/// Tries at the keeper's token. Five leave room for slips in pasting it; two a minute after that are
/// of no use to somebody who guesses, and a keeper who used up the five waits half a minute.
pub const LOGINS: Rate = Rate {
    burst: 5,
    every: Duration::from_secs(30),
};

/// Whether the service is well, and its numbers: a bound of their own, since behind a proxy all who
/// ask may be one peer, and whoever reads all pages must not make the service look ill. Programs that
/// watch ask every few seconds; one answer in half a second does for several of them.
pub const WATCH: Rate = Rate {
    burst: 60,
    every: Duration::from_millis(500),
};

/// What a browser asks for to show one page: itself, its style sheet, two weights of letters, and the
/// picture that it looks for unasked.
const OF_A_PAGE: u32 = 5;

/// Requests for what everybody may see, so many a minute: a quarter of them at once, but a whole page
/// at the least, the rest evenly. The settings say how many.
pub fn pages(per_minute: u32) -> Rate {
    Rate {
        burst: (per_minute / 4).max(OF_A_PAGE),
        every: Duration::from_secs(60) / per_minute.max(1),
    }
}

/// Who is counted: the peer, or the one that a trusted proxy names. An IPv6 network counts as one, since
/// its holder has all of its addresses (RFC 6177: a /56 or so for each home, a /64 at the least).
#[derive(Debug, Clone, Default)]
pub struct Counted {
    /// The field that a trusted proxy sets.
    pub proxy_header: Option<String>,
}

impl Counted {
    /// What is counted under.
    pub fn who(&self, headers: &HeaderMap, peer: Option<IpAddr>) -> IpAddr {
        let told = self.proxy_header.as_ref().and_then(|name| {
            // the last entry is the proxy's own; those before it are whatever the asker wrote
            let field = headers.get_all(name.as_str()).iter().next_back()?;
            field.to_str().ok()?.rsplit(',').next()?.trim().parse().ok()
        });
        // asked within the process, as tests do
        let peer = told.or(peer).unwrap_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED));
        match peer.to_canonical() {
            IpAddr::V4(v4) => IpAddr::V4(v4),
            IpAddr::V6(v6) => {
                let s = v6.segments();
                IpAddr::V6(Ipv6Addr::new(s[0], s[1], s[2], s[3], 0, 0, 0, 0))
            }
        }
    }
}

impl KeyExtractor for Counted {
    type Key = IpAddr;

    fn extract<T>(&self, request: &Request<T>) -> Result<IpAddr, GovernorError> {
        let peer = request.extensions().get::<ConnectInfo<Peer>>();
        Ok(self.who(request.headers(), peer.map(|info| info.0.0.ip())))
    }
}

/// The pages, to be asked for no faster than that by one peer.
pub fn bounded(pages: Router, rate: Rate, counted: &Counted) -> Router {
    layered(pages, rate, counted, None)
}

/// The same of posts alone.
pub fn bounded_posts(pages: Router, rate: Rate, counted: &Counted) -> Router {
    layered(pages, rate, counted, Some(vec![Method::POST]))
}

fn layered(pages: Router, rate: Rate, counted: &Counted, methods: Option<Vec<Method>>) -> Router {
    let mut builder = GovernorConfigBuilder::default();
    builder.period(rate.every).burst_size(rate.burst);
    if let Some(methods) = methods {
        builder.methods(methods);
    }
    let config = builder.key_extractor(counted.clone()).finish();
    // None for a rate of nothing, which none of ours is
    let config = config.expect("a rate is more than nothing");
    let limiter = Arc::downgrade(config.limiter());
    if let Ok(runtime) = Handle::try_current() {
        runtime.spawn(async move {
            // peers that have not asked for a while are forgotten, or they would add up for years
            let mut looks = 0_u32;
            while let Some(limiter) = limiter.upgrade() {
                looks += 1;
                if limiter.len() > MOST_PEERS || looks >= FORGET {
                    looks = 0;
                    limiter.retain_recent();
                    limiter.shrink_to_fit();
                }
                drop(limiter);
                tokio::time::sleep(LOOK).await;
            }
        });
    }
    pages.layer(GovernorLayer::new(config).error_handler(refused))
}

/// Between two looks how many peers are known; each takes less than a hundred bytes.
const LOOK: Duration = Duration::from_secs(1);
/// Looks after which those that may ask as if they never had are forgotten.
const FORGET: u32 = 60;
/// They are forgotten at the next look where there are more.
const MOST_PEERS: usize = 20_000;

const TOO_MANY: Plain = Plain {
    code: StatusCode::TOO_MANY_REQUESTS,
    title: "Too many requests",
    words: "There were too many requests from your address. Please wait a minute and try again. If you \
        sent a form, go back to it: nothing of it was taken.",
};

fn refused(error: GovernorError) -> Response<Body> {
    let mut answer = TOO_MANY.page();
    if let GovernorError::TooManyRequests { wait_time, .. } = error {
        let wait = HeaderValue::from(wait_time.max(1));
        answer.headers_mut().insert(header::RETRY_AFTER, wait);
    }
    answer
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_come_at_the_pace_of_the_settings() {
        let rate = pages(6000);
        assert_eq!((rate.burst, rate.every), (1500, Duration::from_millis(10)));
        let slow = pages(1);
        assert_eq!((slow.burst, slow.every), (5, Duration::from_secs(60)));
    }

    fn who(header: Option<&str>, fields: &[&str], peer: &str) -> String {
        let counted = Counted {
            proxy_header: header.map(str::to_owned),
        };
        let mut headers = HeaderMap::new();
        for field in fields {
            let value = HeaderValue::from_str(field).expect("a value");
            headers.append("x-forwarded-for", value);
        }
        let peer = peer.parse().expect("an address");
        counted.who(&headers, Some(peer)).to_string()
    }

    #[test]
    fn a_proxys_field_counts_only_where_it_is_trusted() {
        // documentation addresses of RFC 5737 and RFC 3849
        assert_eq!(who(None, &["192.0.2.7"], "198.51.100.1"), "198.51.100.1");
        let trusted = Some("X-Forwarded-For");
        assert_eq!(who(trusted, &["192.0.2.7"], "127.0.0.1"), "192.0.2.7");
        let forged = ["203.0.113.9, 192.0.2.7"];
        assert_eq!(who(trusted, &forged, "127.0.0.1"), "192.0.2.7");
        let twice = ["203.0.113.9", "192.0.2.7"];
        assert_eq!(who(trusted, &twice, "127.0.0.1"), "192.0.2.7");
        assert_eq!(who(trusted, &["nonsense"], "127.0.0.1"), "127.0.0.1");
        assert_eq!(who(trusted, &[], "127.0.0.1"), "127.0.0.1");
    }

    #[test]
    fn a_network_of_ipv6_counts_as_one() {
        let first = who(None, &[], "2001:db8:1:2:aaaa::1");
        assert_eq!(first, who(None, &[], "2001:db8:1:2:bbbb::2"));
        assert_ne!(first, who(None, &[], "2001:db8:1:3::1"));
        assert_eq!(who(None, &[], "::ffff:192.0.2.7"), "192.0.2.7");
    }
}

//! Addresses of this machine and of private networks, which a name or a redirect from outside
//! must not lead to: what answers there may hand out secrets to whoever asks from inside.

use super::failure::PrivateAddress;
use reqwest::dns::{Addrs, Name, Resolve, Resolving};
use std::io;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};
use url::{Host, Url};

/// Blocks that are not globally reachable, or are multicast: IANA special-purpose address
/// registries (RFC 6890), RFC 5771, RFC 4291. Those that carry an IPv4 address are taken apart
/// in [`carried`].
const V4_BLOCKS: [([u8; 4], u32); 15] = [
    ([0, 0, 0, 0], 8),
    ([10, 0, 0, 0], 8),
    ([100, 64, 0, 0], 10),
    ([127, 0, 0, 0], 8),
    ([169, 254, 0, 0], 16),
    ([172, 16, 0, 0], 12),
    ([192, 0, 0, 0], 24),
    ([192, 0, 2, 0], 24),
    ([192, 88, 99, 0], 24),
    ([192, 168, 0, 0], 16),
    ([198, 18, 0, 0], 15),
    ([198, 51, 100, 0], 24),
    ([203, 0, 113, 0], 24),
    ([224, 0, 0, 0], 4),
    ([240, 0, 0, 0], 4),
];

/// What of IPv6 is given out for global use, 2000::/3, without the blocks of it that are special.
const V6_GLOBAL: ([u16; 2], u32) = ([0x2000, 0], 3);
const V6_BLOCKS: [([u16; 2], u32); 3] =
    [([0x2001, 0], 23), ([0x2001, 0x0db8], 32), ([0x3fff, 0], 20)];

/// Is it of this machine, of a private network, or of no network at all?
pub(super) fn is_private(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => V4_BLOCKS.iter().any(|block| in_v4(v4, *block)),
        IpAddr::V6(v6) => match carried(v6) {
            Some(v4) => is_private(IpAddr::V4(v4)),
            None => !in_v6(v6, V6_GLOBAL) || V6_BLOCKS.iter().any(|block| in_v6(v6, *block)),
        },
    }
}

fn in_v4(address: Ipv4Addr, (block, bits): ([u8; 4], u32)) -> bool {
    (address.to_bits() ^ u32::from_be_bytes(block)) >> (32 - bits) == 0
}

fn in_v6(address: Ipv6Addr, ([first, second], bits): ([u16; 2], u32)) -> bool {
    let block = Ipv6Addr::new(first, second, 0, 0, 0, 0, 0, 0);
    (address.to_bits() ^ block.to_bits()) >> (128 - bits) == 0
}

/// The IPv4 address inside: mapped (RFC 4291, 2.5.5.2), translated (RFC 6052), 6to4 (RFC 3056).
fn carried(address: Ipv6Addr) -> Option<Ipv4Addr> {
    let s = address.segments();
    let v4 = |high: u16, low: u16| Ipv4Addr::from_bits(u32::from(high) << 16 | u32::from(low));
    match s {
        [0, 0, 0, 0, 0, 0xffff, high, low] => Some(v4(high, low)),
        [0x64, 0xff9b, 0, 0, 0, 0, high, low] => Some(v4(high, low)),
        [0x2002, high, low, ..] => Some(v4(high, low)),
        _ => None,
    }
}

/// Refuses an address that is written as numbers; names are judged when they are looked up.
pub(super) fn refuse_literal(url: &Url) -> Result<(), PrivateAddress> {
    let literal = match url.host() {
        Some(Host::Ipv4(v4)) => IpAddr::V4(v4),
        Some(Host::Ipv6(v6)) => IpAddr::V6(v6),
        _ => return Ok(()),
    };
    if is_private(literal) {
        return Err(PrivateAddress(literal));
    }
    Ok(())
}

/// Looks names up, and refuses those of which any address is private. The connection is made to
/// the very addresses that were judged, so a name that changes between two questions gains
/// nothing.
pub(super) struct PublicNames<L = System>(L);

impl PublicNames {
    /// As this machine looks names up.
    pub(super) fn new() -> Self {
        PublicNames(System)
    }
}

/// A way to look names up.
pub(super) trait LookUp: Clone + Send + Sync + 'static {
    /// Every address of a name.
    fn look_up(self, name: String) -> impl Future<Output = io::Result<Vec<SocketAddr>>> + Send;
}

/// As this machine does.
#[derive(Debug, Clone, Copy)]
pub(super) struct System;

impl LookUp for System {
    async fn look_up(self, name: String) -> io::Result<Vec<SocketAddr>> {
        // port 0: the client puts in the address's own
        Ok(tokio::net::lookup_host((name.as_str(), 0)).await?.collect())
    }
}

impl<L: LookUp> Resolve for PublicNames<L> {
    fn resolve(&self, name: Name) -> Resolving {
        let names = self.0.clone();
        Box::pin(async move {
            let found = names.look_up(name.as_str().to_owned()).await?;
            if let Some(private) = found.iter().find(|a| is_private(a.ip())) {
                return Err(PrivateAddress(private.ip()).into());
            }
            Ok(Box::new(found.into_iter()) as Addrs)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::{Arc, Mutex};

    /// IANA IPv4 and IPv6 special-purpose address registries (RFC 6890), from memory; the public
    /// ones are well-known resolvers and 2000::/3.
    #[test]
    fn private_addresses_are_known() {
        let private = [
            "0.0.0.0",
            "10.1.2.3",
            "100.64.0.1",
            "100.127.255.255",
            "127.0.0.1",
            "169.254.169.254",
            "172.16.0.1",
            "172.31.255.255",
            "192.0.0.1",
            "192.168.1.1",
            "198.18.0.1",
            "198.19.9.9",
            "203.0.113.7",
            "224.0.0.1",
            "255.255.255.255",
            "::",
            "::1",
            "::ffff:127.0.0.1",
            "::ffff:10.0.0.1",
            "64:ff9b::a00:1",
            "2002:7f00:1::",
            "fe80::1",
            "fc00::1",
            "fd12::1",
            "ff02::1",
            "2001:db8::1",
            "2001::1",
            "100::1",
            "::127.0.0.1",
        ];
        for address in private {
            assert!(is_private(address.parse().unwrap()), "{address}");
        }
        let public = [
            "1.1.1.1",
            "8.8.8.8",
            "9.255.255.255",
            "11.0.0.0",
            "100.63.255.255",
            "100.128.0.0",
            "172.15.255.255",
            "172.32.0.0",
            "192.0.1.0",
            "198.17.255.255",
            "223.255.255.255",
            "2606:4700:4700::1111",
            "2002:808:808::",
            "64:ff9b::808:808",
            "::ffff:8.8.8.8",
        ];
        for address in public {
            assert!(!is_private(address.parse().unwrap()), "{address}");
        }
    }

    /// Answers with another address each time, as the name of somebody who means harm does.
    #[derive(Clone)]
    struct Turning(Arc<Mutex<Vec<Vec<SocketAddr>>>>);

    impl Turning {
        fn through(answers: &[&[&str]]) -> PublicNames<Self> {
            let address = |a: &&str| a.parse().expect("an address with a port");
            let each = |all: &&[&str]| all.iter().map(address).collect();
            let answers = answers.iter().rev().map(each).collect();
            PublicNames(Turning(Arc::new(Mutex::new(answers))))
        }
    }

    impl LookUp for Turning {
        async fn look_up(self, _: String) -> io::Result<Vec<SocketAddr>> {
            let next = self.0.lock().expect("no panic").pop();
            next.ok_or_else(|| io::ErrorKind::NotFound.into())
        }
    }

    fn now<T>(work: impl Future<Output = T>) -> T {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build();
        runtime.expect("a runtime").block_on(work)
    }

    #[test]
    fn a_name_is_judged_each_time_that_it_is_looked_up() {
        let names = Turning::through(&[
            &["8.8.8.8:0"],
            &["127.0.0.1:0"],
            &["8.8.8.8:0", "169.254.169.254:0"],
        ]);
        let ask = || now(names.resolve("turning.example".parse().expect("a name")));
        let first: Vec<SocketAddr> = ask().expect("public").collect();
        assert_eq!(first, ["8.8.8.8:0".parse().expect("an address")]);
        for _ in 0..2 {
            let refused = ask().err().expect("refused");
            assert!(refused.is::<PrivateAddress>(), "{refused}");
        }
    }

    /// The client connects to what was judged and to nothing else: here nobody listens at the first
    /// answer, and who listens at the second is never asked.
    #[test]
    fn a_name_that_turns_inwards_leads_to_no_connection() {
        let _ = rustls::crypto::ring::default_provider().install_default();
        let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
        listener.set_nonblocking(true).expect("it does not wait");
        let port = listener.local_addr().expect("an address").port();
        let names = Turning::through(&[&["127.0.0.1:0"], &["127.0.0.1:0"]]);
        let client = reqwest::Client::builder()
            .dns_resolver(Arc::new(names))
            .no_proxy()
            .build()
            .expect("a client");
        for _ in 0..2 {
            let url = format!("http://turning.example:{port}/");
            let answer = now(client.get(url).send());
            assert!(answer.is_err_and(|e| e.is_connect()));
        }
        assert!(listener.accept().is_err(), "nobody came");
    }
}

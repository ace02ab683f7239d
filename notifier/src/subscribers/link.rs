//! Links that a mail carries: each is good for one purpose, one reader and some time.
//!
//! A link is the reader's number, the second at which it ends and a code (HMAC-SHA-256, RFC 2104)
//! over purpose, reader, end and what else binds it. The address stays out of links, which end up in
//! logs. Codes are compared in constant time.

use crate::deliveries::key::{CODE, NUMBER, StoreKey};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use subtle::ConstantTimeEq;

/// What a link lets its holder do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Say that an address is theirs.
    Confirm,
    /// See and change what they get.
    Choices,
}

/// A link to confirm with waits for a mail to be read.
pub const CONFIRM_S: i64 = 48 * 3600;
/// A link in a digest outlives it by some weeks.
pub const CHOICES_S: i64 = 60 * 24 * 3600;

const END: usize = 4;

impl Purpose {
    /// As addresses and codes have it.
    pub fn name(self) -> &'static str {
        match self {
            Purpose::Confirm => "confirm",
            Purpose::Choices => "choices",
        }
    }
}

/// What a link says of itself, before its code is held against anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Claim {
    /// The reader's number.
    pub reader: i64,
    /// When it ends, seconds since 1970.
    pub ends: i64,
}

/// A link's last part. `bound` is what it stands or falls with: the address, and of a link that works
/// once what is kept until then.
pub fn token(key: &StoreKey, purpose: Purpose, claim: Claim, bound: &[&str]) -> String {
    // rows of readers and seconds until 2106 fit; beyond that the code below fits no link
    let number = &claim.reader.to_be_bytes()[size_of::<i64>() - NUMBER..];
    let end = &claim.ends.to_be_bytes()[size_of::<i64>() - END..];
    let code = code(key, purpose, claim, bound);
    URL_SAFE_NO_PAD.encode([number, end, &code].concat())
}

/// What a link claims; None for what is none.
pub fn claim(token: &str) -> Option<Claim> {
    let bytes = URL_SAFE_NO_PAD.decode(token).ok()?;
    let (number, rest) = bytes.split_first_chunk::<NUMBER>()?;
    let (end, code) = rest.split_first_chunk::<END>()?;
    (code.len() == CODE).then_some(Claim {
        reader: u32::from_be_bytes(*number).into(),
        ends: u32::from_be_bytes(*end).into(),
    })
}

/// Whether the link was made by the key's holder for this purpose and what it is bound to.
pub fn holds(key: &StoreKey, token: &str, purpose: Purpose, bound: &[&str]) -> bool {
    let (Some(claim), Ok(bytes)) = (claim(token), URL_SAFE_NO_PAD.decode(token)) else {
        return false;
    };
    let wanted = code(key, purpose, claim, bound);
    bool::from(bytes[NUMBER + END..].ct_eq(&wanted))
}

fn code(key: &StoreKey, purpose: Purpose, claim: Claim, bound: &[&str]) -> [u8; CODE] {
    let (reader, ends) = (claim.reader.to_string(), claim.ends.to_string());
    let parts = [&[reader.as_str(), ends.as_str()], bound].concat();
    key.code(purpose.name(), &parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key() -> (tempfile::TempDir, StoreKey) {
        let root = tempfile::tempdir().expect("a folder");
        let key = StoreKey::open(root.path()).expect("a key");
        (root, key)
    }

    const CLAIM: Claim = Claim {
        reader: 7,
        ends: 1_800_000_000,
    };

    #[test]
    fn a_link_is_good_for_its_purpose_and_reader_alone() {
        let (_root, key) = key();
        let link = token(&key, Purpose::Confirm, CLAIM, &["a@b.example"]);
        assert_eq!(claim(&link), Some(CLAIM));
        assert!(holds(&key, &link, Purpose::Confirm, &["a@b.example"]));
        assert!(!holds(&key, &link, Purpose::Choices, &["a@b.example"]));
        assert!(!holds(&key, &link, Purpose::Confirm, &["c@b.example"]));
        assert!(!holds(&key, &link, Purpose::Confirm, &["a@b.example", ""]));
        let (_other, others) = self::key();
        assert!(!holds(&others, &link, Purpose::Confirm, &["a@b.example"]));
    }

    #[test]
    fn no_bit_of_a_link_can_be_changed() {
        let (_root, key) = key();
        let link = token(&key, Purpose::Choices, CLAIM, &["a@b.example"]);
        let bytes = URL_SAFE_NO_PAD.decode(&link).expect("a link");
        for bit in 0..8 * bytes.len() {
            let mut bent = bytes.clone();
            bent[bit / 8] ^= 1 << (bit % 8);
            let bent = URL_SAFE_NO_PAD.encode(bent);
            assert!(
                !holds(&key, &bent, Purpose::Choices, &["a@b.example"]),
                "bit {bit}"
            );
        }
        for bad in ["", "AAAA", "%%%", &link[..link.len() - 2], "a@b.example"] {
            assert_eq!(claim(bad), None, "{bad}");
            assert!(
                !holds(&key, bad, Purpose::Choices, &["a@b.example"]),
                "{bad}"
            );
        }
    }
}

//! The store's own secret, and what is made with it: the mark of a delivery, which a receiver
//! tells a second copy by, and the token of a reader, which lets its holder leave the list.

use super::{Channel, DeliveryError};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::{Hmac, KeyInit, Mac};
use ingest::STORE_FOLDER;
use secrecy::{ExposeSecret, SecretBox};
use sha2::Sha256;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The file in the store's folder.
pub const FILE: &str = "deliveries.key";

/// A secret of 256 bits, made at first use; it goes into a backup with the store.
pub struct StoreKey(SecretBox<[u8; 32]>);

/// 128 bits of a code tell enough apart and are beyond guessing (RFC 2104, 5: half of it at least).
pub(crate) const CODE: usize = 16;
/// Bytes of a reader's number: links are short enough for the lines that RFC 5322 asks for.
pub(crate) const NUMBER: usize = 4;

impl StoreKey {
    /// The key of a workspace; made where there is none.
    ///
    /// # Errors
    /// [`DeliveryError`] where the file cannot be read, written or understood.
    pub fn open(workspace_root: &Path) -> Result<Self, DeliveryError> {
        let path = workspace_root.join(STORE_FOLDER).join(FILE);
        match std::fs::read_to_string(&path) {
            Ok(text) => from_hex(text.trim()).ok_or(DeliveryError::NoKey(path)),
            Err(e) if e.kind() == io::ErrorKind::NotFound => make(&path),
            Err(cause) => Err(failed(path, "read", cause)),
        }
    }

    /// 32 hexadecimal digits that stand for one delivery: the local part of the mail's Message-ID
    /// and the webhook's id. It takes the key to make one, so a made-up bounce fits no delivery.
    pub fn mark(&self, digest: &str, recipient: &str, channel: Channel) -> String {
        let code = self.code("delivery", &[digest, recipient, channel.name()]);
        hex(&code)
    }

    /// What lets the reader leave by a link: the row's number and a code over it and the address.
    /// The address itself stays out of links, which end up in logs.
    pub fn token(&self, reader: i64, mail: &str) -> String {
        // a row's number; a list has fewer than four thousand million readers
        let number = &reader.to_be_bytes()[size_of::<i64>() - NUMBER..];
        URL_SAFE_NO_PAD.encode([number, &self.reader_code(reader, mail)].concat())
    }

    /// The number of the reader that a token names, before it is held against the address.
    pub fn number(token: &str) -> Option<i64> {
        let bytes = URL_SAFE_NO_PAD.decode(token).ok()?;
        let (number, code) = bytes.split_first_chunk::<NUMBER>()?;
        (code.len() == CODE).then_some(u32::from_be_bytes(*number).into())
    }

    /// Is the token this reader's?
    pub fn holds(&self, token: &str, reader: i64, mail: &str) -> bool {
        let Ok(bytes) = URL_SAFE_NO_PAD.decode(token) else {
            return false;
        };
        let mac = self.mac("leave", &[&reader.to_string(), mail]);
        // compares in constant time
        Self::number(token) == Some(reader) && mac.verify_truncated_left(&bytes[NUMBER..]).is_ok()
    }

    fn reader_code(&self, reader: i64, mail: &str) -> [u8; CODE] {
        self.code("leave", &[&reader.to_string(), mail])
    }

    /// A code that only the key's holder can make; every purpose has codes of its own.
    pub(crate) fn code(&self, purpose: &str, parts: &[&str]) -> [u8; CODE] {
        let whole = self.mac(purpose, parts).finalize().into_bytes();
        std::array::from_fn(|i| whole[i])
    }

    /// Every part goes in behind its length, so that ("ab", "c") is not ("a", "bc").
    fn mac(&self, purpose: &str, parts: &[&str]) -> Hmac<Sha256> {
        let mut mac = keyed(self.0.expose_secret());
        for part in std::iter::once(&purpose).chain(parts) {
            mac.update(&(part.len() as u64).to_be_bytes());
            mac.update(part.as_bytes());
        }
        mac
    }
}

/// HMAC-SHA-256 takes a key of any length (RFC 2104, 2).
pub(crate) fn keyed(key: &[u8]) -> Hmac<Sha256> {
    <Hmac<Sha256> as KeyInit>::new_from_slice(key).expect("a key of any length fits")
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

fn from_hex(text: &str) -> Option<StoreKey> {
    let digits = text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit());
    let byte = |i: usize| u8::from_str_radix(&text[2 * i..2 * i + 2], 16).ok();
    let bytes: Vec<u8> = digits.then(|| (0..32).filter_map(byte).collect())?;
    let key = Box::new(bytes.try_into().ok()?);
    Some(StoreKey(SecretBox::new(key)))
}

/// 256 bits that nobody guesses.
///
/// # Errors
/// Where the system has none to give.
pub(crate) fn random() -> io::Result<[u8; 32]> {
    let mut bytes = [0; 32];
    let source = rustls::crypto::ring::default_provider().secure_random;
    let none = |_| io::Error::other("no random numbers");
    source.fill(&mut bytes).map_err(none)?;
    Ok(bytes)
}

/// Written whole and for the owner alone; whoever came first wins.
fn make(path: &Path) -> Result<StoreKey, DeliveryError> {
    let key = Box::new(random().map_err(|why| failed(path.into(), "made", why))?);
    match write(path, &hex(&key[..])) {
        Ok(()) => Ok(StoreKey(SecretBox::new(key))),
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {
            let text = std::fs::read_to_string(path);
            let text = text.map_err(|cause| failed(path.into(), "read", cause))?;
            from_hex(text.trim()).ok_or_else(|| DeliveryError::NoKey(path.into()))
        }
        Err(cause) => Err(failed(path.into(), "written", cause)),
    }
}

/// Writes a secret whole and for the owner alone; what is there already stays.
pub(crate) fn write(path: &Path, text: &str) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    std::fs::create_dir_all(folder)?;
    // a passing file is for its owner alone (0600), and stays so where it is moved to
    let mut file = tempfile::Builder::new()
        .prefix(".wingtide-")
        .suffix(".part")
        .tempfile_in(folder)?;
    writeln!(file, "{text}")?;
    file.as_file().sync_all()?;
    file.persist_noclobber(path).map_err(|e| e.error)?;
    Ok(())
}

fn failed(path: PathBuf, doing: &'static str, cause: io::Error) -> DeliveryError {
    DeliveryError::Disk { path, doing, cause }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key() -> StoreKey {
        from_hex(&"0b".repeat(32)).expect("a key")
    }

    /// RFC 4231, 4.3 (test case 2): key "Jefe", data "what do ya want for nothing?".
    #[test]
    fn codes_are_hmac_sha_256() {
        let mut mac = keyed(b"Jefe");
        mac.update(b"what do ya want for nothing?");
        let wanted = "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843";
        assert_eq!(hex(&mac.finalize().into_bytes()), wanted);
    }

    #[test]
    fn a_mark_is_of_one_delivery() {
        let mark = |d, r, c| key().mark(d, r, c);
        let one = mark("w36", "a@b.example", Channel::Mail);
        assert_eq!(one, mark("w36", "a@b.example", Channel::Mail));
        assert_eq!(one.len(), 32);
        assert_ne!(one, mark("w3", "6a@b.example", Channel::Mail));
        assert_ne!(one, mark("w36", "a@b.example", Channel::Webhook));
    }

    #[test]
    fn a_token_is_its_readers_alone() {
        let token = key().token(7, "a@b.example");
        assert_eq!(StoreKey::number(&token), Some(7));
        assert!(key().holds(&token, 7, "a@b.example"));
        assert!(!key().holds(&token, 7, "c@b.example"));
        assert!(!key().holds(&key().token(8, "a@b.example"), 7, "a@b.example"));
        let mut bytes = URL_SAFE_NO_PAD.decode(&token).expect("a token");
        bytes[NUMBER] ^= 1;
        assert!(!key().holds(&URL_SAFE_NO_PAD.encode(bytes), 7, "a@b.example"));
        for bad in ["", "AAAABw", "%%%", "a@b.example"] {
            assert_eq!(StoreKey::number(bad), None, "{bad}");
            assert!(!key().holds(bad, 7, "a@b.example"), "{bad}");
        }
    }

    #[test]
    fn the_file_is_made_once_and_for_its_owner_alone() {
        let root = tempfile::tempdir().expect("a folder");
        let first = StoreKey::open(root.path()).expect("made");
        let again = StoreKey::open(root.path()).expect("read");
        assert_eq!(first.token(1, "a"), again.token(1, "a"));
        let path = root.path().join(STORE_FOLDER).join(FILE);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(&path)
                .expect("the file")
                .permissions()
                .mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        std::fs::write(&path, "not hexadecimal\n").expect("written");
        let said = StoreKey::open(root.path())
            .err()
            .expect("refused")
            .to_string();
        assert!(said.contains("64 hexadecimal digits"), "{said}");
    }
}

//! A mail address as somebody types it into a form: checked once, shown in part, never logged.

use std::fmt;
use url::Host;

/// RFC 5321, 4.5.3.1: an address with its angle brackets has 256 octets at most, a local part 64.
const LONGEST: usize = 254;
const LONGEST_LOCAL: usize = 64;

/// One bare mail address in small letters, whose domain is a name.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Address(String);

/// What is written is no address that mail can go to; what was written is not repeated, since it
/// may be somebody's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("This is no mail address; expected one such as reader@example.org.")]
pub struct NoAddress;

impl Address {
    /// The address for those who send to it.
    pub fn expose(&self) -> &str {
        &self.0
    }
}

impl TryFrom<&str> for Address {
    type Error = NoAddress;

    /// Local parts are taken as atoms (RFC 5322, 3.2.3) without the signs that route mail or mean
    /// something to shells and templates: those, quoted ones, addresses in place of domains, and
    /// names without a dot are nobody's who reads a digest, and a way to do harm.
    /// Domains beyond ASCII are written as RFC 5891 has them.
    fn try_from(written: &str) -> Result<Self, NoAddress> {
        let (local, domain) = written.trim().rsplit_once('@').ok_or(NoAddress)?;
        let atoms = local.split('.');
        let fit = local.len() <= LONGEST_LOCAL && atoms.into_iter().all(is_atom);
        let Ok(Host::Domain(domain)) = Host::parse(domain) else {
            return Err(NoAddress);
        };
        let labels: Vec<&str> = domain.split('.').collect();
        let named = labels.len() >= 2 && labels.iter().all(|label| is_label(label));
        let whole = format!("{}@{domain}", local.to_ascii_lowercase());
        let known = whole.len() <= LONGEST && whole.parse::<lettre::Address>().is_ok();
        match fit && named && known {
            true => Ok(Address(whole)),
            false => Err(NoAddress),
        }
    }
}

fn is_atom(part: &str) -> bool {
    let signs = "#&'*+-/=?^_~";
    !part.is_empty()
        && part
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || signs.contains(c))
}

/// RFC 1123, 2.1.
fn is_label(label: &str) -> bool {
    let plain = label.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    plain
        && !label.is_empty()
        && label.len() <= 63
        && !label.starts_with('-')
        && !label.ends_with('-')
}

/// As much of an address as tells its owner that it is theirs, and nobody else whose it is.
pub fn masked(mail: &str) -> String {
    match mail.split_once('@') {
        Some((local, domain)) => {
            let first: String = local.chars().take(1).collect();
            format!("{first}…@{domain}")
        }
        None => mail.to_owned(),
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&masked(&self.0))
    }
}

impl fmt::Debug for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(written: &str) -> Option<String> {
        Address::try_from(written).ok().map(|a| a.0)
    }

    #[test]
    fn addresses_that_mail_can_go_to_are_taken() {
        let both = [
            ("Anna@Skerrow.example", "anna@skerrow.example"),
            (
                " bo+birds@mail.skerrow.example ",
                "bo+birds@mail.skerrow.example",
            ),
            ("o'neill@skerrow.example", "o'neill@skerrow.example"),
            ("c@bücher.example", "c@xn--bcher-kva.example"),
        ];
        for (written, address) in both {
            assert_eq!(taken(written).as_deref(), Some(address), "{written}");
        }
    }

    #[test]
    fn what_could_do_harm_is_none() {
        let long = format!("{}@skerrow.example", "a".repeat(65));
        let domain = format!("a@{}.example", "b.".repeat(130));
        let bad = [
            "",
            "a",
            "@b.example",
            "a@",
            "a@b",
            "a@localhost",
            "a b@c.example",
            "a@b@c.example",
            "a@b.example\r\nBcc: c@d.example",
            "a\r\n@b.example",
            "a\0@b.example",
            "\"a b\"@c.example",
            "a@[127.0.0.1]",
            "a@127.0.0.1",
            "a@2130706433",
            "a@0x7f.1",
            "a@[::1]",
            "a@b..example",
            "a@-b.example",
            "a@b_c.example",
            "a..b@c.example",
            ".a@b.example",
            "A <a@b.example>",
            "a@b.example, c@d.example",
            "a@b.example;c",
            "a(x)@b.example",
            "{{ 7 * 7 }}@b.example",
            "ä@b.example",
            &long,
            &domain,
        ];
        for written in bad {
            assert_eq!(taken(written), None, "{written:?}");
        }
    }

    #[test]
    fn an_address_is_shown_in_part() {
        let address = Address::try_from("anna@skerrow.example").expect("an address");
        assert_eq!(
            format!("{address} {address:?}"),
            "a…@skerrow.example a…@skerrow.example"
        );
    }
}

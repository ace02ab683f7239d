//! `[digest]`: the weekly digest's heading, sites and addresses.

use crate::ids::Ids;
use crate::raw::{Key, Section};
use crate::settings::DigestSettings;
use crate::sources::known_site;
use toml::Spanned;

const ADDRESS: &str = r#"one mail address such as "Wingtide <counts@example.org>""#;

const KEYS: &[Key] = &[
    Key("title", "the digest's title"),
    Key("sites", "a list of site ids"),
    Key("from", ADDRESS),
    Key("to", ADDRESS),
    Key("stale_after_days", "a whole number of days from 1 to 3660"),
];

/// Where `from` and `to` are left out; example.org is kept for examples (RFC 2606), so that a
/// mail file that nobody addressed reaches nobody.
const FROM: &str = "Wingtide <wingtide@example.org>";
const TO: &str = "Subscribers <subscribers@example.org>";
const STALE_AFTER_DAYS: u32 = 21;

/// The `[digest]` of the file, or its defaults for a workspace of that name.
pub(crate) fn read(top: &Section<'_>, workspace: &str, sites: &Ids) -> Option<DigestSettings> {
    let section = top.section("digest", KEYS);
    let text = |key: &str| {
        section
            .as_ref()
            .and_then(|s| s.text(key))
            .map(Spanned::into_inner)
    };
    let stale_after_days = match &section {
        Some(section) => section.whole("stale_after_days", 1..=3660, STALE_AFTER_DAYS),
        None => Some(STALE_AFTER_DAYS),
    };
    let address = |key| section.as_ref().and_then(|s| address(s, key));
    Some(DigestSettings {
        title: text("title").unwrap_or_else(|| format!("This week at {workspace}")),
        sites: section
            .as_ref()
            .map_or_else(Vec::new, |s| covered(s, sites)),
        from: address("from").unwrap_or_else(|| FROM.to_owned()),
        to: address("to").unwrap_or_else(|| TO.to_owned()),
        stale_after_days: stale_after_days?,
    })
}

impl DigestSettings {
    /// Whether somebody wrote whom the mail is from; what stands in else reaches nobody.
    pub fn has_own_from(&self) -> bool {
        self.from != FROM
    }
}

fn covered(section: &Section<'_>, sites: &Ids) -> Vec<String> {
    let mut covered: Vec<String> = Vec::new();
    for name in section.texts("sites", false).unwrap_or_default() {
        let Some(id) = known_site(section, "sites", &name, sites) else {
            continue;
        };
        if covered.contains(&id) {
            let message = format!("site {id:?} stands twice in sites of {}", section.title());
            section.refuse(&name, message, None);
        } else {
            covered.push(id);
        }
    }
    covered
}

/// The address as far as a setting can be checked: something on both sides of one `@`, in angle
/// brackets where a name stands before it. The mail crate judges the rest.
fn address(section: &Section<'_>, key: &str) -> Option<String> {
    let text = section.text(key)?;
    if is_address(text.get_ref()) {
        return Some(text.into_inner());
    }
    section.refuse_value(key, &text);
    None
}

/// The address under `mail`, which has to be there, without a name.
pub(crate) fn bare_address(section: &Section<'_>) -> Option<Spanned<String>> {
    let mail = section.need_text("mail")?;
    if is_address(mail.get_ref()) && !mail.get_ref().contains('<') {
        return Some(mail);
    }
    section.refuse_value("mail", &mail);
    None
}

pub(crate) fn is_address(text: &str) -> bool {
    let bare = match text.split_once('<') {
        Some((_, rest)) => rest.strip_suffix('>').unwrap_or(""),
        None => text,
    };
    let one_word = !bare.contains(|c: char| c.is_whitespace() || "<>,;".contains(c));
    let sides = bare.split_once('@');
    one_word
        && sides.is_some_and(|(user, domain)| {
            !user.is_empty() && !domain.is_empty() && !domain.contains('@')
        })
}

#[cfg(test)]
mod tests {
    use super::is_address;

    #[test]
    fn addresses_are_bare_or_named() {
        for good in ["a@b.example", "Reserve, the warden <a@b.example>"] {
            assert!(is_address(good), "{good}");
        }
        for bad in [
            "a", "@b", "a@", "a@b@c", "A <a@b", "a b@c", "a@b, c@d", "A <>",
        ] {
            assert!(!is_address(bad), "{bad}");
        }
    }
}

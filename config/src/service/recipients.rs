//! `[[recipient]]`: who gets the digest by mail.

use crate::digest::bare_address;
use crate::ids::Ids;
use crate::raw::{Key, Section};
use crate::sources::known_site;
use std::collections::HashSet;
use toml::Spanned;

/// `[[recipient]]`
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recipient {
    /// The bare mail address, which stands for the recipient everywhere.
    pub mail: String,
    /// How the digest greets them.
    pub name: Option<String>,
    /// Ids of the sites that they want; all that the digest covers where empty.
    pub sites: Vec<String>,
}

const KEYS: &[Key] = &[
    Key("mail", r#"one mail address such as "reader@example.org""#),
    Key("name", "the reader's name"),
    Key("sites", "a list of site ids"),
];

/// Every `[[recipient]]`; no address twice.
pub(crate) fn read(top: &Section<'_>, sites: &Ids) -> Vec<Recipient> {
    let mut recipients: Vec<Recipient> = Vec::new();
    let mut known: HashSet<String> = HashSet::new();
    for section in top.sections("recipient", KEYS) {
        let Some(mail) = bare_address(&section) else {
            continue;
        };
        if !known.insert(mail.get_ref().to_lowercase()) {
            let message = format!("the recipient {:?} stands already above", mail.get_ref());
            section.refuse(&mail, message, None);
            continue;
        }
        let wanted = section.texts("sites", false).unwrap_or_default();
        let site = |id: &Spanned<String>| known_site(&section, "sites", id, sites);
        recipients.push(Recipient {
            mail: mail.into_inner(),
            name: section.text("name").map(Spanned::into_inner),
            sites: wanted.iter().filter_map(site).collect(),
        });
    }
    recipients
}

//! `[[webhook]]`: addresses that the digest is posted to.

use super::secret::{self, Secret};
use crate::ids::Ids;
use crate::raw::{Key, Section};
use crate::sources::address::address;
use std::path::{Path, PathBuf};
use url::Url;

/// `[[webhook]]`
#[derive(Debug, Clone, PartialEq)]
pub struct Webhook {
    /// Short name used in commands and reports.
    pub id: String,
    /// Where the digest is posted.
    pub url: Url,
    /// What the signature is made with; unsigned where None.
    pub secret: Option<Secret>,
    /// A template of the user's own for the body; our JSON where None.
    pub template: Option<PathBuf>,
    /// Whether it may be on this machine or a private network.
    pub private: bool,
    /// Posts a minute.
    pub per_minute: u32,
}

const KEYS: &[Key] = &[
    Key("id", crate::ID),
    Key(
        "url",
        r#"an address such as "https://chat.example.org/hooks/birds""#,
    ),
    Key(
        "secret_env",
        "the name of the environment's variable that holds the secret",
    ),
    Key("secret_file", "the file that holds the secret"),
    Key("template", "the file of a template for the body"),
    Key("private", "true or false"),
    Key(
        "per_minute",
        "a whole number of posts a minute from 1 to 6000",
    ),
];

/// Kind to a chat service; common practice, no source.
const PER_MINUTE: u32 = 30;

/// Every `[[webhook]]`.
pub(crate) fn read(top: &Section<'_>, root: &Path) -> Vec<Webhook> {
    let mut ids = Ids::default();
    let sections = top.sections("webhook", KEYS);
    sections
        .iter()
        .filter_map(|s| webhook(s, root, &mut ids))
        .collect()
}

fn webhook(section: &Section<'_>, root: &Path, ids: &mut Ids) -> Option<Webhook> {
    let id = ids.take(section);
    let url = section.need("url").and_then(|()| address(section));
    let per_minute = section.whole("per_minute", 1..=6000, PER_MINUTE);
    let secret = secret::read(section, root, ["secret_env", "secret_file"]);
    let template = section.text("template");
    Some(Webhook {
        id: id?,
        url: url?,
        secret,
        template: template.map(|path| root.join(path.get_ref())),
        private: section.flag("private"),
        per_minute: per_minute?,
    })
}

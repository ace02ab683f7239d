//! Where a source's file lies: in the workspace, or at an address from which it is fetched.

use crate::raw::Section;
use std::path::{Path, PathBuf};
use url::Url;

/// What `url` expects.
pub(super) const URL: &str = "an address such as \"https://counts.example.org/counts.csv\"";

/// The folder of a workspace that keeps what was fetched last, one folder a source.
const FETCHED: &str = "fetched";

/// A file, and where it is fetched from.
pub(super) struct Place {
    pub(super) path: PathBuf,
    pub(super) url: Option<Url>,
}

/// The file or the address of the source, one of which must be there.
pub(super) fn place(section: &Section<'_>, root: &Path, id: Option<&str>) -> Option<Place> {
    if !section.has("url") {
        let file = section.need_text("file")?;
        let path = root.join(file.get_ref());
        return Some(Place { path, url: None });
    }
    if section.has("file") {
        let message = format!(
            "{} has both a file and a url; keep the one that holds its rows",
            section.title()
        );
        section.refuse_key("url", message);
        return None;
    }
    let url = address(section)?;
    let path = root.join(FETCHED).join(id?).join(file_name(&url));
    let url = Some(url);
    Some(Place { path, url })
}

/// Only the schemes that are fetched. A password in a file that is shown around is no secret.
pub(crate) fn address(section: &Section<'_>) -> Option<Url> {
    let text = section.text("url")?;
    let fetchable = |url: &Url| matches!(url.scheme(), "http" | "https") && url.has_host();
    let Some(url) = Url::parse(text.get_ref()).ok().filter(fetchable) else {
        section.refuse_value("url", &text);
        return None;
    };
    if !url.username().is_empty() || url.password().is_some() {
        let message = format!(
            "the url of {} carries a user or password, which do not belong into this file",
            section.title()
        );
        section.refuse_key("url", message);
        return None;
    }
    Some(url)
}

/// The last part of the path, of characters that are safe in a file's name everywhere; the kind
/// of a file is guessed from its name among other things.
fn file_name(url: &Url) -> String {
    let last = url.path().rsplit('/').next().unwrap_or_default();
    let safe = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    let name: String = last
        .chars()
        .map(|c| if safe(c) { c } else { '_' })
        .collect();
    match name.trim_matches('.') {
        "" => "data".to_owned(),
        name => name.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fetched_file_keeps_the_last_part_of_its_address() {
        let cases = [
            ("https://a.example/b/counts.csv?year=2024", "counts.csv"),
            ("https://a.example/", "data"),
            ("https://a.example/b/..", "data"),
            (
                "https://a.example/z%C3%A4hl%2F..%2Fung.csv",
                "z_C3_A4hl_2F.._2Fung.csv",
            ),
        ];
        for (url, expected) in cases {
            assert_eq!(file_name(&Url::parse(url).unwrap()), expected, "{url}");
        }
    }
}

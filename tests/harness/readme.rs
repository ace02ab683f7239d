//! The README, so that what it tells people is what they get.

use crate::places::repository;

/// Its text.
pub fn text() -> String {
    std::fs::read_to_string(repository().join("README.md")).expect("there is a README")
}

/// The text below a second-level heading, up to the next one.
pub fn section(heading: &str) -> String {
    let text = text();
    let line = format!("\n## {heading}\n");
    let (_, rest) = text.split_once(&line).expect("the README has the section");
    let end = rest.find("\n## ").unwrap_or(rest.len());
    rest[..end].to_owned()
}

/// The fenced blocks of a text that are marked with the language, in order, without the indent
/// of the list that they stand in.
pub fn blocks(text: &str, language: &str) -> Vec<String> {
    let mut blocks = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let Some((indent, marked)) = line.split_once("```").filter(|(i, _)| i.trim().is_empty())
        else {
            continue;
        };
        let inside = lines.by_ref().take_while(|l| l.trim() != "```");
        let inside = inside.map(|l| l.strip_prefix(indent).unwrap_or(l));
        let block: String = inside.flat_map(|l| [l, "\n"]).collect();
        if marked == language {
            blocks.push(block);
        }
    }
    blocks
}

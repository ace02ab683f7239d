//! Every paragraph of the reports, read sentence by sentence.

use super::sentences::{first, gaps, odd, standing, untold, years};
use super::{Told, all};
use serde_json::Value;

/// Paragraphs behind "- ", joined again.
fn bullets(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for line in text.lines() {
        match (
            line.strip_prefix("- "),
            line.strip_prefix("  "),
            all.last_mut(),
        ) {
            (Some(first), ..) => all.push(first.to_owned()),
            (None, Some(more), Some(last)) if !last.ends_with('\n') => {
                last.push(' ');
                last.push_str(more);
            }
            (None, _, Some(last)) if !last.ends_with('\n') => last.push('\n'),
            _ => {}
        }
    }
    all.into_iter().map(|b| b.trim_end().to_owned()).collect()
}

/// The same of the page: the paragraph below each passage's heading.
fn paragraphs(page: &str) -> Vec<String> {
    let sections = page.split("<section>").skip(1);
    let paragraph = |s: &str| {
        let (_, rest) = s.split_once("<p>").expect("a paragraph");
        let (text, _) = rest.split_once("</p>").expect("its end");
        text.replace('\u{a0}', " ").replace("&#x27;", "'")
    };
    sections.map(paragraph).collect()
}

/// The passage that a paragraph is about: no names are listed, so scientific ones are shown.
fn about<'a>(paragraph: &'a str, json: &'a Value) -> (&'a Value, Vec<&'a str>) {
    let (who, rest) = paragraph.split_once(": ").expect("who it is about");
    let (species, passage) = who.rsplit_once(", ").expect("a species and a passage");
    let passages = json["passages"].as_array().expect("passages");
    let same = |p: &&Value| p["species"] == species && p["passage"] == passage;
    let found = passages.iter().find(same);
    (
        found.unwrap_or_else(|| panic!("{who}")),
        rest.split_inclusive(". ").collect(),
    )
}

/// Reads a paragraph; gives how many sentences it has.
fn read(paragraph: &str, json: &Value) -> usize {
    let (p, sentences) = about(paragraph, json);
    for (i, sentence) in sentences.iter().map(|s| s.trim_end()).enumerate() {
        match sentence {
            s if i == 0 && p["untold"].is_null() => standing(s, p),
            s if i == 0 => untold(s, p),
            s if s.starts_with("Of a hundred") || s.starts_with("Nothing out") => odd(s, p),
            s if s.starts_with("Nobody looked") => gaps(s, p),
            s if s.starts_with("First found") || s.starts_with("Not found") => first(s, p),
            s => assert!(years(s, p), "not understood: {s:?}"),
        }
    }
    let told = sentences.iter().any(|s| s.starts_with("Nobody looked"));
    let gaps = p["gaps"].as_array().expect("gaps");
    assert_eq!(told, !gaps.is_empty(), "{paragraph}");
    sentences.len()
}

/// Reads all paragraphs of a report, on the screen and on the page; gives how many sentences they have.
pub(super) fn sentences_of(told: &Told) -> usize {
    let passages = told.json["passages"].as_array().expect("passages").len();
    let mut sentences = 0;
    for said in [bullets(&told.text), paragraphs(&told.page)] {
        assert_eq!(said.len(), passages, "{}", told.asked);
        sentences += said.iter().map(|p| read(p, &told.json)).sum::<usize>();
    }
    sentences
}

#[test]
fn every_sentence_says_what_the_numbers_say() {
    let Some(all) = all() else { return };
    let mut sentences = 0;
    for told in all {
        sentences += sentences_of(told);
        assert!(
            told.text.lines().all(|l| l.chars().count() <= 80),
            "{}",
            told.text
        );
    }
    println!("{sentences} sentences read");
    assert!(sentences > 1000, "only {sentences}");
}

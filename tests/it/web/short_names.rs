//! What texts of shipped sets call a species for short, where it is kept back: "a goshawk", "Hobby",
//! "a Caspian".

use config::look_alikes::{LookAlikeSet, shipped};
use config::sensitive::Sensitive;
use config::settings::Workspace;
use harness::{program, reserve, written};
use notifier::web::aliases::Aliases;
use notifier::web::shown;
use std::collections::BTreeMap;

/// A reserve that lists every member of every shipped set.
fn settings() -> Workspace {
    let mut settings = reserve::settings(&[("west-hide", "West Hide")]);
    let listed = ["Calidris minuta", "Calidris alpina"];
    let mut all: BTreeMap<String, String> = BTreeMap::new();
    for member in shipped().expect("sets").into_iter().flat_map(|s| s.members) {
        all.insert(member.species, member.names["en"].clone());
    }
    all.retain(|species, _| !listed.contains(&species.as_str()));
    let more = all
        .iter()
        .map(|(species, name)| written::species(species, name));
    settings.extend(more);
    let folder = program::Workspace::empty().with("wingtide.toml", settings);
    config::load(&folder.path("")).expect("settings")
}

/// The set as shown where one species is withheld; None where it is not shown at all.
fn without(workspace: &Workspace, set: &LookAlikeSet, species: &str) -> Option<LookAlikeSet> {
    let mut hidden = workspace.clone();
    (hidden.look_alikes, hidden.library) = (Vec::new(), vec![set.clone()]);
    let mut listed = hidden.species.iter_mut();
    let own = listed.find(|s| s.scientific == species).expect("listed");
    own.sensitive = Some(Sensitive::Withhold);
    let mut shown = shown::workspace(&hidden, &Aliases::default());
    shown.library.pop()
}

/// All sentences of a set.
fn texts(set: &LookAlikeSet) -> Vec<&str> {
    let of_member = set.members.iter().flat_map(|m| {
        let moults = m.plumages.iter().filter_map(|p| p.moult.as_deref());
        moults.chain(m.describe.as_deref())
    });
    let of_mark = set.marks.iter().flat_map(|m| {
        let shows = m.shows.iter().map(|s| s.text.as_str());
        let traps = m.traps.iter().map(|t| t.text.as_str());
        shows.chain(traps).chain([m.part.as_str()])
    });
    let cannot = set.cannot_tell.iter().map(|c| c.text.as_str());
    of_member.chain(of_mark).chain(cannot).collect()
}

fn tokens(text: &str) -> impl Iterator<Item = &str> {
    let apart = |c: char| !c.is_alphabetic() && c != '\'' && c != '\u{2019}';
    text.split(apart).filter(|word| !word.is_empty())
}

/// Without the ending of a possessive or of several.
fn bare(word: &str) -> String {
    let word = word.to_lowercase();
    let cut = word
        .trim_end_matches('s')
        .trim_end_matches(['\'', '\u{2019}']);
    cut.to_owned()
}

/// Does a text say the word inside a sentence, with its capital?
fn names_inside(text: &str, word: &str) -> bool {
    text.match_indices(word).any(|(at, _)| {
        let (before, after) = (&text[..at], &text[at + word.len()..]);
        let ends = !after.starts_with(|c: char| c.is_alphabetic());
        let inside = before.ends_with(' ') && !before.trim_end().ends_with(['.', '!', '?', ':']);
        ends && inside && !before.trim_end().is_empty()
    })
}

/// What a name is called for short in these texts, where no member that is left has the word: its last
/// word in any case, those before it with their capital or as a possessive.
fn called(name: &str, left: &[&str], texts: &[&str]) -> Vec<String> {
    let words: Vec<&str> = name.split_whitespace().collect();
    let (last, first) = words.split_last().expect("a word");
    let last = tokens(last).last().expect("letters");
    let taken = left
        .iter()
        .flat_map(|n| n.split_whitespace().chain(tokens(n)));
    let taken: Vec<String> = taken.map(bare).collect();
    let own = |word: &str| word.chars().count() > 2 && !taken.contains(&bare(word));
    let any_case = |word: &str| {
        texts
            .iter()
            .any(|t| tokens(t).any(|w| bare(w) == bare(word)))
    };
    let said = |word: &str| match word.contains(['\'', '\u{2019}']) {
        true => any_case(word),
        false => texts.iter().any(|t| names_inside(t, word)),
    };
    let of_first = first.iter().filter(|word| own(word) && said(word));
    let of_last = [last]
        .into_iter()
        .filter(|word| own(word) && any_case(word));
    of_first
        .copied()
        .chain(of_last)
        .map(str::to_owned)
        .collect()
}

#[test]
fn no_short_form_of_a_withheld_member_is_left_in_a_shipped_set() {
    let workspace = settings();
    let (mut tried, mut before, mut left, mut whole) = (0, 0, 0, 0);
    for set in shipped().expect("sets") {
        for member in &set.members {
            let others = set.members.iter().filter(|m| m.species != member.species);
            let others: Vec<&str> = others
                .flat_map(|m| m.names.values())
                .map(|n| &**n)
                .collect();
            let name = &member.names["en"];
            before += usize::from(!called(name, &others, &texts(&set)).is_empty());
            tried += 1;
            let Some(shown) = without(&workspace, &set, &member.species) else {
                continue;
            };
            let told = called(name, &others, &texts(&shown));
            assert!(
                told.is_empty(),
                "{name} in {}: {told:?} of {:?}",
                set.id,
                texts(&shown)
            );
            (left, whole) = (left + texts(&shown).len(), whole + texts(&set).len());
        }
    }
    assert!(
        tried > 100 && before > 50,
        "{before} of {tried} are called so"
    );
    // most of what is said names nobody, and stays
    let part = left as f64 / whole as f64;
    assert!(part > 0.8, "{left} of {whole} texts");
}

/// Ways in which texts were seen to name a species that was kept back.
#[test]
fn names_cut_short_are_as_telling_as_whole_ones() {
    let workspace = settings();
    for (id, species, word) in [
        ("accipiters", "Astur atricapillus", "goshawk"),
        ("small-falcons", "Falco subbuteo", "hobby"),
        ("eclipse-ducks", "Mareca penelope", "wigeon"),
        ("eclipse-ducks", "Anas crecca", "teal"),
        ("large-gulls", "Larus cachinnans", "caspian"),
        ("wrens", "Thryomanes bewickii", "bewick"),
    ] {
        let sets = shipped().expect("sets");
        let set = sets.iter().find(|s| s.id == id).expect(id);
        let says = |set: &LookAlikeSet| {
            let mut texts = texts(set).into_iter();
            texts.any(|t| tokens(t).any(|w| bare(w) == word))
        };
        assert!(says(set), "{id} calls it {word}");
        let shown = without(&workspace, set, species).expect("others are left");
        assert!(!says(&shown), "{word} is left in {id}");
        assert!(!shown.marks.is_empty(), "marks of the others stay in {id}");
    }
}

//! Names that leave a bird undecided: "A/B", "sp.", "cf.", "?".

use super::{NameBook, NameProblem, Whose, form, sorted};
use config::nearest::folded;

/// Words of doubt (open nomenclature: Bengtson 1988, Palaeontology 31: 223-227) and of field notes.
const DOUBTS: &[&str] = &[
    "cf", "cf.", "aff", "aff.", "prob.", "poss.", "probable", "possible", "?",
];
const GENUS_ALONE: &[&str] = &["sp", "sp.", "spp", "spp.", "spec", "spec.", "species"];
const HYBRIDS: &[&str] = &["x", "\u{d7}", "hybrid"];

/// Signs that may stand about a word.
const SIGNS: [char; 5] = ['(', ')', '[', ']', ','];

fn has(name: &str, list: &[&str]) -> bool {
    let bare = |word: &str| word.trim_matches(SIGNS).to_lowercase();
    name.split(' ')
        .map(bare)
        .any(|w| list.contains(&w.as_str()))
}

/// Does a name make the bird a hybrid, a doubtful one, or one of some species of its genus?
pub(super) fn leaves_open(name: &str) -> bool {
    name.contains('?')
        || [HYBRIDS, DOUBTS, GENUS_ALONE]
            .iter()
            .any(|list| has(name, list))
}

impl NameBook {
    /// The species between which a name leaves a bird; None where it leaves nothing undecided.
    pub(super) fn undecided(&self, name: &str) -> Result<Option<Vec<String>>, NameProblem> {
        if has(name, HYBRIDS) {
            return Err(NameProblem::Hybrid);
        }
        if name.contains('/') {
            let between = self.slash(name).ok_or(NameProblem::Slash)?;
            return Ok(Some(between));
        }
        if has(name, GENUS_ALONE) {
            let genus = self.of_genus(form::genus_of(name));
            return genus.map(Some).ok_or(NameProblem::GenusOnly);
        }
        if has(name, DOUBTS) || name.contains('?') {
            let species = self.without_doubt(name).ok_or(NameProblem::Doubtful)?;
            return Ok(Some(vec![species]));
        }
        Ok(None)
    }

    /// A species cell beside a qualifier (Darwin Core `identificationQualifier`), such as
    /// "cf. minuta" or "minuta/temminckii": the species between which the bird stays undecided.
    pub(crate) fn qualified(&self, name: &str, qualifier: &str) -> Result<Whose, NameProblem> {
        let genus = form::genus_of(name);
        let in_genus = || self.slash(&format!("{genus} {qualifier}"));
        let slash = |q: &str| q.contains('/').then(|| self.slash(q).or_else(in_genus));
        if let Some(between) = slash(qualifier) {
            return between.map(Whose::Undecided).ok_or(NameProblem::Slash);
        }
        let whose = match self.read(name)?.whose {
            Whose::Species { name, .. } => Whose::Undecided(vec![name]),
            undecided => undecided,
        };
        Ok(whose)
    }

    /// "A/B" where every part is a species, alone or with the genus or last word that it shares
    /// with the others: "Calidris minuta/temminckii", "Common/Arctic Tern".
    fn slash(&self, name: &str) -> Option<Vec<String>> {
        let parts: Vec<&str> = name.split('/').map(str::trim).collect();
        let first = self.one_species(parts.first()?);
        let genus = first.as_deref().map(form::genus_of);
        let genus = genus.filter(|genus| parts[0].starts_with(genus));
        let last = parts.last()?.rsplit(' ').next()?;
        let species = |part: &&str| {
            let alone = self.one_species(part);
            let with_genus = || self.one_species(&format!("{} {part}", genus?));
            let with_last = || self.one_species(&format!("{part} {last}"));
            alone.or_else(with_genus).or_else(with_last)
        };
        let all: Vec<String> = parts.iter().map(species).collect::<Option<_>>()?;
        let between = sorted(all);
        (between.len() > 1).then_some(between)
    }

    fn one_species(&self, name: &str) -> Option<String> {
        let read = match self.look_up(name) {
            Ok(Some(read)) => Ok(read),
            _ => self.scientific(name),
        };
        match read.ok()?.whose {
            Whose::Species { name, .. } => Some(name),
            Whose::Undecided(_) | Whose::Nothing => None,
        }
    }

    /// The listed species of a genus, where there are two or more.
    fn of_genus(&self, genus: &str) -> Option<Vec<String>> {
        let genus = folded(genus);
        let own = |s: &&String| folded(form::genus_of(s)) == genus;
        let between = sorted(self.species.iter().filter(own).cloned().collect());
        (between.len() > 1).then_some(between)
    }

    fn without_doubt(&self, name: &str) -> Option<String> {
        let sure = name.replace('?', " ");
        let kept = sure.split_whitespace().filter_map(|word| {
            if !has(word, DOUBTS) {
                return Some(word.to_owned());
            }
            let signs: String = word.chars().filter(|c| SIGNS.contains(c)).collect();
            (!signs.is_empty()).then_some(signs)
        });
        let kept = kept.collect::<Vec<_>>().join(" ");
        let of_both = || match self.both(&kept).ok()??.whose {
            Whose::Species { name, .. } => Some(name),
            Whose::Undecided(_) | Whose::Nothing => None,
        };
        self.one_species(&kept).or_else(of_both)
    }
}

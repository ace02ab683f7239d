//! What holds for the records of all sources: `[workspace]` and `[[undecided]]`.

use crate::meaning::{KeepObservers, RecordRules, Undecided};
use crate::raw::{Key, Section, did_you_mean};
use crate::settings::Species;
use toml::Spanned;

pub(crate) const KEEP_OBSERVERS: Key = Key("keep_observers", "none, initials or names");
pub(crate) const USE_TARGETED: Key = Key("use_targeted", "true or false");
pub(crate) const UNDECIDED: Key = Key(
    "undecided",
    "an [[undecided]] for each name that stands for several species",
);

const KEYS: &[Key] = &[
    Key("name", r#"what your files write, such as "stint sp.""#),
    Key(
        "between",
        r#"two or more scientific names, such as ["Calidris minuta", "Calidris temminckii"]"#,
    ),
];

const KEPT: [(&str, KeepObservers); 3] = [
    ("none", KeepObservers::None),
    ("initials", KeepObservers::Initials),
    ("names", KeepObservers::Names),
];

/// The rules under `[workspace]`.
pub(crate) fn rules(workspace: &Section<'_>) -> RecordRules {
    let kept = workspace.choice("keep_observers", &KEPT);
    RecordRules {
        keep_observers: kept.unwrap_or_default(),
        use_targeted: workspace.flag("use_targeted"),
        ..RecordRules::default()
    }
}

/// Every `[[undecided]]`.
pub(crate) fn undecided(top: &Section<'_>, species: &[Species]) -> Vec<Undecided> {
    let sections = top.sections("undecided", KEYS);
    let read = |section| read_one(section, species);
    sections.iter().filter_map(read).collect()
}

fn read_one(section: &Section<'_>, species: &[Species]) -> Option<Undecided> {
    let name = section.need_text("name");
    section.need("between")?;
    let written = section.texts("between", false)?;
    let known: Vec<String> = written
        .iter()
        .filter_map(|name| member(section, name, species))
        .collect();
    if written.len() < 2 {
        section.refuse_key(
            "between",
            format!(
                "between in {} names fewer than two species",
                section.title()
            ),
        );
    }
    let name = name?;
    if let Some(other) = species.iter().find(|s| s.answers_to_name(name.get_ref())) {
        let message = format!(
            "name {:?} in {} is a name of {} already",
            name.get_ref(),
            section.title(),
            other.scientific
        );
        section.refuse(&name, message, None);
    }
    Some(Undecided {
        name: name.into_inner(),
        between: known,
    })
}

fn member(section: &Section<'_>, name: &Spanned<String>, species: &[Species]) -> Option<String> {
    if let Some(found) = species.iter().find(|s| s.answers_to_name(name.get_ref())) {
        return Some(found.scientific.clone());
    }
    let message = format!(
        "between in {} names {:?}, which is no [[species]]",
        section.title(),
        name.get_ref()
    );
    let names = species.iter().flat_map(Species::all_names);
    section.refuse(name, message, did_you_mean(name.get_ref(), names));
    None
}

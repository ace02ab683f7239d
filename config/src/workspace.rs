//! The whole of `wingtide.toml`, from text to a checked [`Workspace`].

use crate::error::ConfigError;
use crate::ids::Ids;
use crate::look_alikes::LookAlikeSet;
use crate::meaning::RecordRules;
use crate::nearest::folded;
use crate::raw::{Document, Key, Section};
use crate::set_files::SetFiles;
use crate::settings::{Species, Workspace};
use crate::species::is_language;
use crate::{
    FILE_NAME, backtest, digest, fetch, handout, overlap, plan, records, second_look, service,
    set_choice, sites, sources, species, store,
};
use std::collections::HashSet;
use std::path::Path;
use toml::Spanned;

const TOP: &[Key] = &[
    Key("workspace", "[workspace] with the name of the whole"),
    Key("site", "a [[site]] for each place where birds are counted"),
    Key("species", "a [[species]] for each species"),
    Key(
        "source",
        "a [[source]] for each file of counts, visits or temperature",
    ),
    Key("fetch", "[fetch] with the limits for sources with a url"),
    Key("store", "[store] with how much of former loads is kept"),
    records::UNDECIDED,
    Key(
        "overlap",
        "[overlap] with the rule for visits that several counts sources tell of",
    ),
    Key("look_alikes", "[look_alikes] with the sets to use"),
    Key("digest", "[digest] with its title and addresses"),
    Key("handout", "[handout] with the licence of handouts"),
    Key("backtest", "[backtest] with the Mondays to test"),
    Key("plan", "[plan] with what stays the same from plan to plan"),
    second_look::SECOND_LOOK,
    second_look::FINDER,
    Key("service", "[service] with the times of \"wingtide serve\""),
    Key("mail", "[mail] with the mail server"),
    Key("recipient", "a [[recipient]] for each reader of the digest"),
    Key(
        "webhook",
        "a [[webhook]] for each address that the digest is posted to",
    ),
];

const WORKSPACE: &[Key] = &[
    Key("name", "the name of the whole, shown on the digest"),
    Key(
        "about",
        "a sentence for whoever reads the pages and the digest",
    ),
    Key("keeper", "who keeps it, shown on the digest"),
    Key("language", LANGUAGE_WANTED),
    Key(
        "visits_assumed",
        "a whole number of visits a week from 1 to 50",
    ),
    records::KEEP_OBSERVERS,
    records::USE_TARGETED,
];

const LANGUAGE_WANTED: &str = r#"a language tag such as "en" or "de""#;
const LANGUAGE: &str = "en";
/// Two at the weekend and one between; common practice, no source.
const VISITS_ASSUMED: u32 = 3;

/// Checks the text of a `wingtide.toml` that stands in `root`. `files` gives the
/// look-alike set files, by their paths below `root`; nothing else is read.
///
/// # Errors
/// Every problem of the text and of the set files it names, each as one sentence.
pub fn parse(text: &str, root: &Path, files: impl SetFiles) -> Result<Workspace, ConfigError> {
    let doc = Document::new(FILE_NAME, text);
    let tree = doc.tree()?;
    let top = Section::top(&doc, &tree, TOP);
    let workspace = read(&top, root, &files);
    doc.finish()?;
    // Nothing was noted, so nothing that is needed was missing.
    workspace.ok_or_else(|| {
        ConfigError::of_file(FILE_NAME, "this file is not complete".to_owned(), None)
    })
}

fn read(top: &Section<'_>, root: &Path, files: &dyn SetFiles) -> Option<Workspace> {
    let mut site_ids = Ids::default();
    let general = top.need("workspace").and_then(|()| General::read(top));
    let species = species::read(top);
    let sites = sites::read(top, &mut site_ids, &species);
    let sources = sources::read(top, root, &site_ids);
    let store = store::read(top);
    let sets = set_choice::read(top, root, &species, files);
    let name = general.as_ref().map_or("", |g| g.name.as_str());
    let digest = digest::read(top, name, &site_ids);
    let backtest = backtest::read(top);
    let plan = plan::read(top, root, &site_ids);
    let second_look = second_look::read(top);
    let finders = second_look::finders(top);
    let fetch = fetch::read(top);
    let service = service::read(top, root);
    let mail = service::mail(top, root);
    let recipients = service::recipients(top, &site_ids);
    let webhooks = service::webhooks(top, root);
    let general = general?;
    let sets = sets?;
    let species = with_members(species, &sets.used);
    let undecided = records::undecided(top, &species);
    let overlap = overlap::read(top);
    Some(Workspace {
        root: root.to_owned(),
        name: general.name,
        about: general.about,
        keeper: general.keeper,
        language: general.language,
        visits_assumed: general.visits_assumed,
        sites,
        species,
        sources,
        store: store?,
        look_alikes: sets.used,
        library: sets.library,
        fetch: fetch?,
        records: RecordRules {
            undecided,
            overlap,
            ..general.records
        },
        digest: digest?,
        licence: handout::licence(top),
        backtest: backtest?,
        plan: plan?,
        second_look: second_look?,
        finders,
        service: service?,
        mail: mail?,
        recipients,
        webhooks,
    })
}

/// The species written down, then those that the look-alike sets know: a file may call them by
/// the names that the sets give, unless a name is taken already.
fn with_members(mut species: Vec<Species>, sets: &[LookAlikeSet]) -> Vec<Species> {
    let mut taken: HashSet<String> = species
        .iter()
        .flat_map(Species::all_names)
        .map(folded)
        .collect();
    for member in sets.iter().flat_map(|set| &set.members) {
        if !taken.insert(folded(&member.species)) {
            continue;
        }
        let free = member
            .names
            .iter()
            .filter(|(_, name)| taken.insert(folded(name)));
        let names = free
            .map(|(language, name)| (language.clone(), name.clone()))
            .collect();
        species.push(Species {
            scientific: member.species.clone(),
            names,
            also: Vec::new(),
            sensitive: None,
            synonyms: Vec::new(),
            written: false,
        });
    }
    species
}

/// `[workspace]`
struct General {
    name: String,
    about: Option<String>,
    keeper: Option<String>,
    language: String,
    visits_assumed: u32,
    records: RecordRules,
}

impl General {
    fn read(top: &Section<'_>) -> Option<General> {
        let section = top.section("workspace", WORKSPACE)?;
        let name = section.need_text("name").map(Spanned::into_inner);
        let about = section.text("about").map(Spanned::into_inner);
        let keeper = section.text("keeper").map(Spanned::into_inner);
        let visits_assumed = section.whole("visits_assumed", 1..=50, VISITS_ASSUMED);
        Some(General {
            language: language(&section)?,
            name: name?,
            about,
            keeper,
            visits_assumed: visits_assumed?,
            records: records::rules(&section),
        })
    }
}

fn language(section: &Section<'_>) -> Option<String> {
    if !section.has("language") {
        return Some(LANGUAGE.to_owned());
    }
    let tag = section.text("language")?;
    if is_language(tag.get_ref()) {
        return Some(tag.into_inner());
    }
    section.refuse_value("language", &tag);
    None
}

//! A workspace in a folder of its own.

use chrono::{DateTime, NaiveDate, Utc};
use config::look_alikes::Region;
use config::service::ServiceSettings;
use config::settings::*;
use ingest::{LoadError, LoadReport, Store};
use std::collections::BTreeMap;
use std::path::PathBuf;

pub struct Built {
    pub workspace: Workspace,
    folder: tempfile::TempDir,
}

/// Two sites, three species, no source.
pub fn built() -> Built {
    let folder = tempfile::tempdir().unwrap();
    let workspace = Workspace {
        root: folder.path().to_owned(),
        name: "Skerrow Ness".into(),
        about: None,
        keeper: None,
        language: "en".into(),
        visits_assumed: 3,
        sites: vec![
            site("long-bank", "Long Bank"),
            site("tern-lagoon", "Tern Lagoon"),
        ],
        species: vec![
            species("Calidris minuta", "Little Stint"),
            species("Calidris alpina", "Dunlin"),
            species("Sterna hirundo", "Common Tern"),
        ],
        sources: Vec::new(),
        store: StoreSettings::default(),
        look_alikes: Vec::new(),
        library: Vec::new(),
        fetch: Default::default(),
        records: Default::default(),
        digest: DigestSettings {
            title: "This week at Skerrow Ness".into(),
            sites: Vec::new(),
            from: "Wingtide <counts@skerrow.example>".into(),
            to: "Subscribers <digest@skerrow.example>".into(),
            stale_after_days: 21,
        },
        licence: None,
        plan: PlanSettings::default(),
        second_look: config::second_look::SecondLookSettings::default(),
        finders: Vec::new(),
        backtest: BacktestSettings {
            mondays: Vec::new(),
        },
        service: ServiceSettings {
            load: "15 4 * * *".parse().unwrap(),
            digest: "30 6 * * mon".parse().unwrap(),
            time_zone: None,
            listen: "127.0.0.1:7878".parse().unwrap(),
            public_url: None,
            pages: true,
            pages_per_minute: 6000,
            subscribe: false,
            keeper_token: None,
            proxy_header: None,
        },
        mail: None,
        recipients: Vec::new(),
        webhooks: Vec::new(),
    };
    Built { workspace, folder }
}

pub fn site(id: &str, name: &str) -> Site {
    Site {
        id: id.into(),
        name: name.into(),
        latitude: 54.63,
        longitude: -0.41,
        time_zone: chrono_tz::Europe::London,
        region: Region("western-palearctic".into()),
        standard_effort: None,
        cautions: None,
        cuts: BTreeMap::new(),
        half_years: StatedHalfYears::default(),
        sensitive: None,
    }
}

fn species(scientific: &str, en: &str) -> Species {
    Species {
        scientific: scientific.into(),
        names: BTreeMap::from([("en".into(), en.into())]),
        also: Vec::new(),
        sensitive: None,
        synonyms: Vec::new(),
        written: true,
    }
}

/// Columns Date, Place, Species, Number; not fully reported.
pub fn count_columns() -> CountColumns {
    let list = |tokens: &[&str]| tokens.iter().map(|t| t.to_string()).collect();
    CountColumns {
        date: "Date".into(),
        site: Some("Place".into()),
        species: SpeciesColumns::One("Species".into()),
        count: Some("Number".into()),
        effort: None,
        fully_reported: false,
        tokens: CountTokens {
            at_least: list(&["+", ">=", ">", "min"]),
            about: list(&["c.", "ca.", "ca", "~", "c"]),
            present: list(&["x", "present", "p", "yes"]),
            absent: list(&["-", "none", "0"]),
        },
    }
}

/// Columns Date, Place and, where asked for, Minutes.
pub fn visit_columns(effort: bool) -> VisitColumns {
    VisitColumns {
        date: "Date".into(),
        site: Some("Place".into()),
        effort: effort.then(|| "Minutes".into()),
    }
}

impl Built {
    pub fn root(&self) -> PathBuf {
        self.folder.path().to_owned()
    }

    pub fn store_folder(&self) -> PathBuf {
        self.root().join(ingest::STORE_FOLDER)
    }

    pub fn write(&self, file: &str, text: impl AsRef<[u8]>) {
        std::fs::write(self.root().join(file), text).unwrap();
    }

    /// A source of the file `{id}.csv`.
    pub fn source(&mut self, id: &str, kind: SourceKind) -> &mut Source {
        self.workspace.sources.push(Source {
            id: id.into(),
            path: self.root().join(format!("{id}.csv")),
            url: None,
            kind,
            separator: None,
            encoding: None,
            date_order: Some(DateOrder::YearMonthDay),
            site: None,
            site_names: BTreeMap::new(),
            layout: Layout::default(),
            meaning: Default::default(),
        });
        self.workspace.sources.last_mut().unwrap()
    }

    pub fn counts(mut self, text: impl AsRef<[u8]>) -> Self {
        self.write("counts.csv", text);
        self.source("counts", SourceKind::Counts(count_columns()));
        self
    }

    pub fn full_counts(mut self, text: impl AsRef<[u8]>) -> Self {
        self.write("counts.csv", text);
        let columns = CountColumns {
            fully_reported: true,
            ..count_columns()
        };
        self.source("counts", SourceKind::Counts(columns));
        self
    }

    pub fn visits(mut self, text: impl AsRef<[u8]>) -> Self {
        self.write("visits.csv", &text);
        let effort = String::from_utf8_lossy(text.as_ref()).contains("Minutes");
        self.source("visits", SourceKind::Visits(visit_columns(effort)));
        self
    }

    pub fn load(&self) -> Result<LoadReport, LoadError> {
        ingest::load(&self.workspace, &self.root(), now(), &mut |_| {})
    }

    pub fn store(&self) -> Store {
        Store::open_existing(&self.root()).unwrap()
    }

    /// Names and bytes of the store's files, the ledger left out; None without a store.
    pub fn batch_files(&self) -> Vec<(String, Vec<u8>)> {
        let Ok(folder) = std::fs::read_dir(self.store_folder()) else {
            return Vec::new();
        };
        let mut files: Vec<(String, Vec<u8>)> = folder
            .map(|entry| entry.unwrap())
            .filter(|entry| !entry.file_name().to_string_lossy().starts_with("ledger"))
            .map(|e| {
                (
                    e.file_name().to_string_lossy().into(),
                    std::fs::read(e.path()).unwrap(),
                )
            })
            .collect();
        files.sort();
        files
    }
}

pub fn now() -> DateTime<Utc> {
    "2026-03-01T12:00:00Z".parse().unwrap()
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

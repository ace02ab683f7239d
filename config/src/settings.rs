//! A workspace's `wingtide.toml`, checked.

use crate::look_alikes::{LookAlikeSet, Region};
use crate::meaning::{DatedName, RecordRules};
use crate::nearest::folded;
use crate::second_look::{Finder, SecondLookSettings};
use crate::sensitive::Sensitive;
use crate::service::{MailSettings, Recipient, ServiceSettings, Webhook};
pub use crate::sources::held::{
    CountColumns, CountTokens, DateOrder, Source, SourceKind, SpeciesColumns, TemperatureColumns,
    TemperatureUnit, VisitColumns,
};
pub use crate::sources::layout::{
    ACROSS_DATE, ACROSS_SPECIES, ACROSS_VALUE, DARWIN_CORE_COUNTS, DARWIN_CORE_VISITS, Given,
    Layout, Wide,
};
use chrono::{NaiveDate, Weekday};
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::time::Duration;

/// Everything a workspace's `wingtide.toml` says, checked, with paths made absolute.
#[derive(Debug, Clone)]
pub struct Workspace {
    /// The folder that holds `wingtide.toml`.
    pub root: PathBuf,
    /// Name of the whole, shown on the digest.
    pub name: String,
    /// What whoever reads its pages and digests is to know of the whole.
    pub about: Option<String>,
    /// Who keeps it; shown as the digest's contact.
    pub keeper: Option<String>,
    /// Language of species names shown (BCP 47 primary tag); the scientific name stands in.
    pub language: String,
    /// Standard visits a week that `chance_week` assumes, at least 1.
    pub visits_assumed: u32,
    /// Sites in the order written.
    pub sites: Vec<Site>,
    /// Species in the order written.
    pub species: Vec<Species>,
    /// Sources in the order written.
    pub sources: Vec<Source>,
    /// How sources with an address are fetched.
    pub fetch: FetchSettings,
    /// How much of what was loaded before is kept.
    pub store: StoreSettings,
    /// The sets that guidance covers, ours and the workspace's own, in order.
    pub look_alikes: Vec<LookAlikeSet>,
    /// Every set that can be shown: what ships, with the workspace's own beside it or in its place.
    pub library: Vec<LookAlikeSet>,
    /// What holds for the records of all sources.
    pub records: RecordRules,
    /// The weekly digest.
    pub digest: DigestSettings,
    /// What others may do with a handout, in its keeper's words.
    pub licence: Option<String>,
    /// The test of the forecasts on past years.
    pub backtest: BacktestSettings,
    /// What stays the same from plan to plan of the visits.
    pub plan: PlanSettings,
    /// How often records are asked about.
    pub second_look: SecondLookSettings,
    /// Observers who may be asked about their records.
    pub finders: Vec<Finder>,
    /// When the service does what.
    pub service: ServiceSettings,
    /// The server that takes the mail.
    pub mail: Option<MailSettings>,
    /// Who gets the digest by mail.
    pub recipients: Vec<Recipient>,
    /// Where the digest is posted.
    pub webhooks: Vec<Webhook>,
}

/// A place where birds are counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Short name used in files and commands.
    pub id: String,
    /// Full name.
    pub name: String,
    /// Degrees north, -90..=90.
    pub latitude: f64,
    /// Degrees east, -180..=180.
    pub longitude: f64,
    /// IANA time zone of its local dates.
    pub time_zone: Tz,
    /// Which region's plumages and months hold here.
    pub region: Region,
    /// The effort of a standard visit; the median of the visits' efforts where absent.
    pub standard_effort: Option<f64>,
    /// Words for the digest: access, tides, what not to disturb.
    pub cautions: Option<String>,
    /// The year's cuts between passages as month and day of a common year, in the order of the
    /// year, by scientific name, where the user overrides them. No cuts: one passage all year.
    pub cuts: BTreeMap<String, Vec<(u8, u8)>>,
    /// Half-years that the user takes otherwise than by their records.
    pub half_years: StatedHalfYears,
    /// How it is kept from those who could do harm there, wherever counts are passed on.
    pub sensitive: Option<Sensitive>,
}

/// Half-years of a site as year and half (1: January to June, 2: July to December). None stands
/// in both sets.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StatedHalfYears {
    /// Taken as not visited, whatever was recorded.
    pub gaps: BTreeSet<(i32, u8)>,
    /// Taken as visited, whether or not anything was recorded.
    pub visited: BTreeSet<(i32, u8)>,
}

/// A species as the workspace knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    /// Accepted scientific name, genus and epithet.
    pub scientific: String,
    /// Vernacular name by language.
    pub names: BTreeMap<String, String>,
    /// Other names that the sources use for it (synonyms, codes, local names).
    pub also: Vec<String>,
    /// How it is kept from those who could harm it, wherever counts are passed on.
    pub sensitive: Option<Sensitive>,
    /// Names that meant it for part of the time. They go before all other names.
    pub synonyms: Vec<DatedName>,
    /// Does the workspace write it down itself? Else it is known from a look-alike set alone.
    pub written: bool,
}

/// How far a fetch may go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FetchSettings {
    /// For one try, from the connection to the last byte.
    pub timeout: Duration,
    /// The longest body, MiB, after its transfer coding is undone.
    pub max_mib: u64,
    /// Tries of one address, at least 1.
    pub tries: u32,
    /// The wait before the second try; it doubles each time.
    pub wait: Duration,
    /// The longest wait that a server may ask for.
    pub longest_wait: Duration,
    /// Redirects followed.
    pub redirects: u32,
    /// Are addresses of this machine or of a private network fetched from?
    pub private: bool,
}

/// How much of what was loaded before is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoreSettings {
    /// Former batches of each source whose rows are kept, so that they can be brought back.
    pub keep_batches: u32,
    /// The most that the rows of all batches may take, MiB; former ones go first. No bound where
    /// absent.
    pub max_mib: Option<u32>,
}

impl Default for StoreSettings {
    fn default() -> Self {
        StoreSettings {
            keep_batches: 5,
            max_mib: None,
        }
    }
}

/// The weekly digest.
#[derive(Debug, Clone, PartialEq)]
pub struct DigestSettings {
    /// Title, before the site and week.
    pub title: String,
    /// Site ids covered; all where empty.
    pub sites: Vec<String>,
    /// From address of the mail, e.g. `Wingtide <counts@example.org>`.
    pub from: String,
    /// To address written into the mail file.
    pub to: String,
    /// Days without a visit after which the digest says that the counts are stale.
    pub stale_after_days: u32,
}

/// The test of the forecasts on past years.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BacktestSettings {
    /// Stretches of the year on whose Mondays forecasts are issued, one at the least.
    pub mondays: Vec<Stretch>,
}

/// What stays the same from plan to plan of the visits.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanSettings {
    /// Visits in all, where stated.
    pub visits: Option<u32>,
    /// Site ids; all where empty.
    pub sites: Vec<String>,
    /// What is looked for, as written: species, `set:ID`, `all`, with `=` and a weight behind them
    /// or without; all where empty.
    pub targets: Vec<String>,
    /// Days of the week on which people go out; all where empty.
    pub weekdays: Vec<Weekday>,
    /// Days on which nobody goes out.
    pub not: Vec<NotOn>,
    /// Least days from one visit of a site to its next.
    pub gap_days: u32,
    /// Most visits in a week, all sites together.
    pub most_per_week: Option<u32>,
    /// Teams that go out.
    pub teams: u32,
    /// How far apart a team's sites of two consecutive days may lie.
    pub farthest_km: Option<f64>,
    /// Days within which a rained-off visit is made up; none where 0.
    pub rain_days: u32,
    /// Minutes from sunrise to the start.
    pub start_minutes: i32,
    /// How long a visit takes.
    pub visit_minutes: u32,
    /// File of tide times.
    pub tides: Option<PathBuf>,
    /// Minutes from high water to the start.
    pub tide_minutes: i32,
}

/// A day on which nobody goes out. Read from and written as `2026-09-12` or `12-25`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotOn {
    /// One date.
    Date(NaiveDate),
    /// Month and day of every year.
    EveryYear(u32, u32),
}

/// A stretch of the year, both days included; one that ends before it begins goes over New Year.
/// Read from and written as `MM-DD..MM-DD`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    pub(crate) from: (u32, u32),
    pub(crate) to: (u32, u32),
}

impl Stretch {
    /// First and last day as (month, day).
    pub fn days(self) -> ((u32, u32), (u32, u32)) {
        (self.from, self.to)
    }
}

impl Workspace {
    /// The site of that id.
    pub fn site(&self, id: &str) -> Option<&Site> {
        self.sites.iter().find(|site| site.id == id)
    }

    /// The species that goes by the name: scientific, vernacular in any language, or another
    /// name that the sources use; without regard to case and blanks.
    pub fn resolve_species(&self, name: &str) -> Option<&Species> {
        let name = folded(name);
        self.species
            .iter()
            .find(|species| species.answers_to(&name))
    }

    /// The name to show for a scientific name: in the workspace's language as the workspace has
    /// it, else as a look-alike set has it, else the scientific name.
    pub fn shown_name<'n>(&'n self, scientific: &'n str) -> &'n str {
        let own = self.species.iter().find(|s| s.scientific == scientific);
        let own = own.and_then(|s| s.names.get(&self.language));
        let in_sets = || {
            let mut members = self
                .look_alikes
                .iter()
                .filter_map(|set| set.member(scientific));
            members.find_map(|m| m.names.get(&self.language))
        };
        own.or_else(in_sets).map_or(scientific, String::as_str)
    }
}

impl Species {
    /// Its name in a language, else the scientific one.
    pub fn display_name(&self, language: &str) -> &str {
        self.names.get(language).unwrap_or(&self.scientific)
    }

    /// Every name it goes by, the scientific first.
    pub fn all_names(&self) -> impl Iterator<Item = &str> {
        let others = self.names.values().chain(&self.also).map(String::as_str);
        std::iter::once(self.scientific.as_str()).chain(others)
    }

    /// Does it go by the name, without regard to case and blanks?
    pub(crate) fn answers_to_name(&self, name: &str) -> bool {
        self.answers_to(&folded(name))
    }

    /// Does it go by the [`folded`] name?
    pub(crate) fn answers_to(&self, folded_name: &str) -> bool {
        self.all_names().any(|name| folded(name) == folded_name)
    }
}

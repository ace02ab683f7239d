//! The documents' types, for their description alone: what fills them is the commands' own JSON,
//! and a test holds the one to the other.
#![expect(dead_code, reason = "they describe and are never made")]

use utoipa::ToSchema;

/// A site.
#[derive(ToSchema)]
pub(super) struct Site {
    /// Its id.
    site: String,
    /// Its name.
    name: String,
    /// IANA time zone.
    time_zone: String,
    /// Part of the world whose plumages and months hold.
    region: String,
    /// The date there.
    #[schema(format = Date)]
    today: String,
    /// Whether counts are loaded and fitted.
    ready: bool,
}

/// A week at a site.
#[derive(ToSchema)]
pub(super) struct Week {
    /// Id of the site.
    site: String,
    /// ISO week.
    #[schema(pattern = "^[0-9]{4}-W[0-9]{2}$")]
    week: String,
    /// Is the site watched on the date?
    watched: bool,
    /// Visits that the week's chances assume.
    visits_assumed: u32,
    /// Look-alike sets.
    sets: Vec<WeekSet>,
    /// Species of no set.
    others: Vec<Member>,
    /// Names of species found about the date of which finds alone are known, so that no chance is
    /// told; null where there is no such species.
    finds_alone: Option<Vec<String>>,
    /// What temperature says, or null.
    temperature: Option<Temperature>,
}

/// A set in a week.
#[derive(ToSchema)]
pub(super) struct WeekSet {
    /// Id of the set.
    set: String,
    /// Largest chance that two members are both found, or null where none can be told.
    #[schema(minimum = 0, maximum = 1)]
    chance_together: Option<f64>,
    /// Birds on which the shares rest.
    #[schema(minimum = 0)]
    effective_birds: f64,
    /// Its members.
    members: Vec<Member>,
}

/// A species in a week.
#[derive(ToSchema)]
pub(super) struct Member {
    /// Scientific name.
    species: String,
    /// Chance of one or more on a standard visit, or null where finds alone are known.
    #[schema(minimum = 0, maximum = 1)]
    chance_visit: Option<f64>,
    /// Chance of one or more in the week's visits, or null likewise.
    #[schema(minimum = 0, maximum = 1)]
    chance_week: Option<f64>,
    /// Where the chances come from.
    basis: Basis,
    /// Was it ever recorded here?
    recorded: bool,
    /// Part of the set's birds.
    #[schema(minimum = 0, maximum = 1)]
    share: f64,
    /// Where it stands in its passage, or null.
    stands: Option<String>,
    /// Where its few records lie, or null.
    records: Option<Vec<Records>>,
}

/// Where chances come from.
#[derive(ToSchema)]
#[schema(rename_all = "kebab-case")]
pub(super) enum Basis {
    /// A curve.
    Curve,
    /// Visits of earlier years about the date.
    Frequency,
    /// None, where finds alone are known.
    FindsAlone,
}

/// First and last records of a scarce species in a season.
#[derive(ToSchema)]
pub(super) struct Records {
    first: Extreme,
    last: Extreme,
    seasons: u64,
    days_found: u64,
}

/// An extreme record, and where the season may begin or end beyond it.
#[derive(ToSchema)]
pub(super) struct Extreme {
    #[schema(format = Date)]
    record: String,
    /// Month and day, or null.
    about: Option<String>,
}

/// What temperature says of a week.
#[derive(ToSchema)]
pub(super) struct Temperature {
    looked_at: u64,
    links_found: u64,
    links: Vec<serde_json::Map<String, serde_json::Value>>,
}

/// A passage.
#[derive(ToSchema)]
pub(super) struct Window {
    /// Id of the site.
    site: String,
    /// Scientific name.
    species: String,
    /// Its season.
    passage: PassageName,
    /// What can be said of it.
    verdict: Verdict,
    birds: u64,
    seasons: u64,
    watched_days: u64,
    arrival: Option<Day>,
    median: Option<Day>,
    peak: Option<Day>,
    departure: Option<Day>,
    /// Whether its timing follows the temperature, or null.
    #[schema(value_type = Option<Object>)]
    temperature: Option<()>,
    /// How its dates have moved, or null.
    #[schema(value_type = Option<Object>)]
    change: Option<()>,
    records: Vec<Records>,
}

/// A season.
#[derive(ToSchema)]
#[schema(rename_all = "kebab-case")]
pub(super) enum PassageName {
    Spring,
    Autumn,
    Winter,
    Summer,
    AllYear,
}

/// What counts allow to be said.
#[derive(ToSchema)]
#[schema(rename_all = "kebab-case")]
pub(super) enum Verdict {
    Curve,
    AllYear,
    NoSeason,
    TooFew,
}

/// A date as month and day with its 80 % intervals.
#[derive(ToSchema)]
pub(super) struct Day {
    #[schema(pattern = "^[0-9]{2}-[0-9]{2}$")]
    day: String,
    /// Of the long-term date.
    #[schema(min_items = 2, max_items = 2)]
    known: Vec<String>,
    /// Of where it falls in any one year, or null.
    any_year: Option<Vec<String>>,
}

/// A year curve.
#[derive(ToSchema)]
pub(super) struct Curve {
    /// Size of the negative binomial; null where counts scatter no more than a Poisson's.
    theta: Option<f64>,
    edf: f64,
    lambda: f64,
    year_effect_sd: f64,
    /// Log of the birds expected on a standard visit, by day of the year.
    #[schema(min_items = 366, max_items = 366)]
    log_mean: Vec<f64>,
    /// Whether the site is watched, by day of the year.
    #[schema(min_items = 366, max_items = 366)]
    watched: Vec<bool>,
}

/// A look-alike set.
#[derive(ToSchema)]
pub(super) struct Set {
    /// Its id.
    set: String,
    title: String,
    members: Vec<SetMember>,
    /// Who has reviewed its marks.
    review: String,
    /// Where they come from.
    source: String,
}

/// A species of a set.
#[derive(ToSchema)]
pub(super) struct SetMember {
    /// Scientific name.
    species: String,
    /// Name shown.
    name: String,
    /// Was it ever recorded here?
    recorded: bool,
    /// What to ask its curve by, or null where it has none.
    curve: Option<String>,
}

/// A plan of visits. What is null where it could be a number no longer holds, as visits of the plan
/// were planned anew, or is not told.
#[derive(ToSchema)]
pub(super) struct Plan {
    #[schema(format = Date)]
    from: String,
    #[schema(format = Date)]
    to: String,
    /// The day of planning.
    #[schema(format = Date)]
    today: String,
    /// Ids of its sites.
    sites: Vec<String>,
    /// Targets expected to be found, with their weights, or null.
    expected: Option<f64>,
    /// What no plan within the rules exceeds, or null.
    at_most: Option<f64>,
    /// How sure it was to be made, or null.
    #[schema(minimum = 0, maximum = 1)]
    sure: Option<f64>,
    /// Null, as all that is worked out over the whole plan, where visits or sites were taken out of it.
    dates_to_choose_from: Option<u64>,
    unwatched_dates: Option<u64>,
    visits: Vec<PlannedVisit>,
    targets: Vec<PlanTarget>,
}

/// A visit of a plan.
#[derive(ToSchema)]
pub(super) struct PlannedVisit {
    /// Id of the site.
    site: String,
    #[schema(format = Date)]
    date: String,
    /// It was past on the day of planning.
    past: bool,
    /// When it begins (UTC), or null.
    #[schema(format = DateTime)]
    start: Option<String>,
    /// Local times, or null.
    sunrise: Option<String>,
    sunset: Option<String>,
    high_water: Option<String>,
    /// What it may find.
    r#for: Vec<PlanPurpose>,
    /// Targets fewer without it, with their weights, or null.
    lost_without: Option<f64>,
    #[schema(format = Date)]
    rain_date: Option<String>,
    lost_by_rain: Option<f64>,
    /// Why there is no rain date, or null.
    no_rain_date: Option<String>,
}

/// What a visit does for a target.
#[derive(ToSchema)]
pub(super) struct PlanPurpose {
    /// Scientific name.
    species: String,
    /// Chance on that visit.
    #[schema(minimum = 0, maximum = 1)]
    chance: f64,
    /// What its chance over the plan loses without it, or null.
    lost: Option<f64>,
}

/// A species that is looked for.
#[derive(ToSchema)]
pub(super) struct PlanTarget {
    /// Scientific name.
    species: String,
    /// Name shown.
    name: String,
    weight: f64,
    #[schema(format = Date)]
    found_on: Option<String>,
    /// Over the visits to come, or null.
    #[schema(minimum = 0, maximum = 1)]
    chance: Option<f64>,
    visits_for_80: Option<u64>,
    visits_for_90: Option<u64>,
    visits_for_95: Option<u64>,
    /// No curve at any site, or null.
    few_records: Option<bool>,
    /// Not made as sure as asked for, or null.
    out_of_reach: Option<bool>,
}

/// Why there is no answer (RFC 9457).
#[derive(ToSchema)]
pub(super) struct Problem {
    /// Always `about:blank`: the status says it all.
    r#type: String,
    title: String,
    status: u16,
    detail: String,
}

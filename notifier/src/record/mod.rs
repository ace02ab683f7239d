//! How often forecasts came true: those issued, and those that past seasons would have had.

mod bins;
mod issued;
mod look_back;

pub use bins::{Bin, Bins, BySpecies};
pub use issued::{ENOUGH, Issued};
pub use look_back::LookBack;

use crate::columns::wrap;
use crate::guidance::SiteView;
use crate::guidance::types::{MemberGuidance, WeekGuidance};
use crate::words;
use forecast::calendar::IsoWeek;

/// One plain sentence for the digest's footer: of the forecasts issued where there are enough of
/// them, else of those that past seasons would have had.
pub fn sentence(view: &SiteView, week: IsoWeek) -> Option<String> {
    let issued = Issued::of(view, week.monday()).and_then(|i| i.sentence());
    issued.or_else(|| view.look_back.and_then(LookBack::sentence))
}

/// How often chances as those shown came true: each species' own, then those of all together, as
/// text of so many columns.
pub fn text(view: &SiteView, week: &WeekGuidance, width: usize) -> String {
    let issued = Issued::of(view, week.week.monday());
    let mut lines = vec!["How often such chances came true here".to_owned()];
    let mut say = |first: &str, text: &str| lines.push(wrap(text, first, "    ", width));
    say("  ", &of_issued(issued.as_ref()));
    say("  ", &of_look_back(view.look_back));
    if issued.is_none() && view.look_back.is_none() {
        return lines.join("\n") + "\n";
    }
    let members = week.sets.iter().flat_map(|s| &s.members);
    let shown = || members.clone().chain(&week.others);
    let told: Vec<&MemberGuidance> = shown()
        .filter(|m| m.has_chance() && words::about_now(m))
        .collect();
    for m in &told {
        say("  - ", &own(m, issued.as_ref(), view.look_back));
    }
    let mut ranges: Vec<(f64, f64)> = told.iter().map(|m| Bins::range(m.chance_week)).collect();
    ranges.sort_by(|a, b| b.0.total_cmp(&a.0));
    ranges.dedup();
    if !ranges.is_empty() {
        say("  ", "All species together:");
    }
    for range in ranges {
        say("  - ", &together(range, issued.as_ref(), view.look_back));
    }
    lines.join("\n") + "\n"
}

fn of_issued(issued: Option<&Issued>) -> String {
    match issued {
        Some(Issued { weeks, bins, .. }) => format!(
            "issued: {} given before their weeks, from {} to {}, each held to the visits made.",
            words::count_of(bins.times(), "forecast", "forecasts"),
            words::day_month_year(weeks.0),
            words::day_month_year(IsoWeek::of(weeks.1).days()[6]),
        ),
        None => "issued: no forecast yet whose week is over and was visited.".to_owned(),
    }
}

fn of_look_back(look_back: Option<&LookBack>) -> String {
    match look_back {
        Some(LookBack { years, bins, .. }) => format!(
            "looking back: {} of {} to {}, made from what was known on each Monday.",
            words::count_of(bins.times(), "forecast", "forecasts"),
            years.0,
            years.1
        ),
        None => "looking back: too few seasons.".to_owned(),
    }
}

/// What came of chances like a species' own, of that species alone.
fn own(m: &MemberGuidance, issued: Option<&Issued>, look_back: Option<&LookBack>) -> String {
    let of = |by_species: &BySpecies| by_species.get(&m.species)?.like(m.chance_week);
    format!(
        "{} ({}): {}",
        m.name,
        words::chance(m.chance_week),
        came(
            issued.map(|i| of(&i.by_species)),
            look_back.map(|l| of(&l.by_species))
        )
    )
}

/// What came of the chances within a range, of every species.
fn together(
    (from, to): (f64, f64),
    issued: Option<&Issued>,
    look_back: Option<&LookBack>,
) -> String {
    format!(
        "{:.0} to {:.0} %: {}",
        100.0 * from,
        100.0 * to,
        came(
            issued.map(|i| i.bins.like(from)),
            look_back.map(|l| l.bins.like(from))
        )
    )
}

/// "issued, found in 12 of 15; looking back, said too seldom to tell".
fn came(issued: Option<Option<Bin>>, look_back: Option<Option<Bin>>) -> String {
    let of = |(name, bin): (&str, Option<Bin>)| match bin {
        Some(bin) => format!("{name}, found in {} of {}", bin.found, bin.times),
        None => format!("{name}, said too seldom to tell"),
    };
    let both = [("issued", issued), ("looking back", look_back)];
    let known = both
        .into_iter()
        .filter_map(|(name, bin)| Some((name, bin?)));
    known.map(of).collect::<Vec<_>>().join("; ")
}

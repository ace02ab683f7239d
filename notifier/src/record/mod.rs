//! How often forecasts came true: those issued, and those that past seasons would have had.

mod bins;
mod issued;
mod look_back;

pub use bins::{Bin, Bins};
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

/// For each chance shown how often such chances came true, as text of so many columns.
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
    for m in members.chain(&week.others).filter(|m| words::about_now(m)) {
        say("  - ", &told(m, issued.as_ref(), view.look_back));
    }
    lines.join("\n") + "\n"
}

fn of_issued(issued: Option<&Issued>) -> String {
    match issued {
        Some(Issued { weeks, bins }) => format!(
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
        Some(LookBack { years, bins }) => format!(
            "looking back: {} of {} to {}, made from what was known on each Monday.",
            words::count_of(bins.times(), "forecast", "forecasts"),
            years.0,
            years.1
        ),
        None => "looking back: too few seasons.".to_owned(),
    }
}

fn told(m: &MemberGuidance, issued: Option<&Issued>, look_back: Option<&LookBack>) -> String {
    let of = |name: &str, bins: &Bins| match bins.like(m.chance_week) {
        Some(bin) => format!("{name}, found in {} of {}", bin.found, bin.times),
        None => format!("{name}, too seldom said to tell"),
    };
    let parts = [
        issued.map(|i| of("issued", &i.bins)),
        look_back.map(|l| of("looking back", &l.bins)),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    format!(
        "{} ({}): {}",
        m.name,
        words::chance(m.chance_week),
        parts.join("; ")
    )
}

//! The plan for the screen.

use super::target_table::target_table;
use super::{NoRainDate, Plan, Planned, Rain};
use crate::columns::wrap;
use crate::words::{self, chance, count_of, list, weekday_date};

/// Targets named with a visit at most; the sheet and the JSON have all.
const NAMED: usize = 6;
/// So many days on, people who go out on some days of the week go out again.
const WEEK: u32 = 7;
/// So small a part of what a plan is expected to find is next to nothing. A choice ...
const MISSED: f64 = 0.01;
/// ... as long as it is not so much of a target, in plans of many.
const HALF_A_TENTH: f64 = 0.05;

impl Plan {
    /// What a visit is for.
    pub fn purpose_words(&self, visit: &Planned) -> String {
        self.for_these(visit.purpose.iter().collect())
    }

    /// The same without species that are sensitive, for what others follow.
    pub fn open_words(&self, visit: &Planned) -> String {
        let open = visit.purpose.iter();
        self.for_these(open.filter(|p| !self.targets[p.target].sensitive).collect())
    }

    fn for_these(&self, purpose: Vec<&super::Purpose>) -> String {
        if purpose.is_empty() {
            return String::new();
        }
        let told =
            |p: &&super::Purpose| format!("{} ({})", self.targets[p.target].name, chance(p.chance));
        let listed = self.listed_of(purpose);
        let mut named: Vec<String> = listed.named.iter().take(NAMED).map(told).collect();
        if listed.named.len() > NAMED {
            let more = listed.named.len() - NAMED;
            named.push(count_of(more, "other", "others"));
        }
        let named = format!("For {}.", list(&named));
        let sentences: Vec<String> = { [named] }
            .into_iter()
            .chain(listed.left_out_words())
            .collect();
        sentences.join(" ")
    }

    /// When it was planned, and what is expected of it.
    pub fn whole_words(&self) -> String {
        let planned = words::day_month_year(self.today);
        if self.parted {
            return format!(
                "Planned on {planned}. These are visits of that plan, not the whole of it, so that \
                 nothing is said of it as a whole."
            );
        }
        let to_come = self.visits.iter().filter(|v| !v.past).count();
        let open = self.targets.iter().filter(|t| t.found.is_none());
        let found: f64 = open.clone().map(|t| t.chance).sum();
        let weights = match self.is_weighed() {
            true => format!("; by their weights worth {}", amount(self.expected)),
            false => String::new(),
        };
        format!(
            "Planned on {planned}: {} to come, expected to find {} of {}{weights}.",
            count_of(to_come, "visit", "visits"),
            amount(found),
            count_of(open.count(), "target", "targets"),
        )
    }

    /// How far it is from the best.
    pub fn distance_words(&self) -> String {
        let Some(at_most) = self.at_most else {
            return "The visits are few, and not proven to be the fewest.".to_owned();
        };
        distance(self.expected, at_most, self.is_weighed())
    }

    /// Does any target count otherwise than the rest?
    pub fn is_weighed(&self) -> bool {
        self.targets.iter().any(|t| t.weight != 1.0)
    }
}

/// How far a plan of that value is from the best.
pub(crate) fn distance(expected: f64, at_most: f64, weighed: bool) -> String {
    let what = match weighed {
        true => "be worth",
        false => "find",
    };
    let lacking = (at_most - expected).max(0.0);
    if lacking < 1e-6 * (1.0 + at_most) {
        return format!("No choice within the rules is expected to {what} more.");
    }
    let part = 100.0 * lacking / at_most;
    let part = match part < 0.1 {
        true => format!("under 0.1{}%", words::TIE),
        false => format!("{part:.1}{}%", words::TIE),
    };
    let most = amount(at_most);
    format!("No choice within the rules is expected to {what} more than {most} ({part} more).")
}

impl Plan {
    /// What it is without one of its visits.
    pub fn without_words(&self, visit: &Planned) -> String {
        let lost = visit.lost;
        match (self.is_next_to_nothing(lost), self.is_weighed()) {
            (true, _) => "Without it next to nothing is lost.".to_owned(),
            (false, false) => format!("Without it {} targets fewer.", amount(lost)),
            (false, true) => format!("Without it {} less, by the targets' weights.", amount(lost)),
        }
    }

    /// Where to go when it rains, and what it costs; None where nobody asked.
    pub fn rain_words(&self, visit: &Planned) -> Option<String> {
        let lost = |lost: f64| match (self.is_next_to_nothing(lost), self.is_weighed()) {
            (true, _) => "at no loss to speak of".to_owned(),
            (false, false) => format!("with {} targets fewer", amount(lost)),
            (false, true) => format!("worth {} less", amount(lost)),
        };
        match &visit.rain {
            Rain::NotAsked => None,
            Rain::Date(date, less) => Some(format!(
                "If it rains: {}, {}.",
                weekday_date(*date),
                lost(*less)
            )),
            // said once for all of them
            Rain::None(NoRainDate::NobodyOut(_)) => Some("If it rains: no other date.".to_owned()),
            Rain::None(why) => Some(format!("If it rains: no other date, as {}.", why.words())),
        }
    }

    /// Why visits have no rain date which it is not said with; None where there is no such visit.
    pub fn rain_note(&self) -> Option<String> {
        let (days, visits) = self.nobody_out()?;
        let visits = count_of(visits, "visit has", "visits have");
        let days = count_of(days as usize, "day", "days");
        Some(format!(
            "{visits} no date to go instead, as nobody goes out on the {days} after."
        ))
    }

    /// Within how many days nobody goes out instead, and for how many visits.
    fn nobody_out(&self) -> Option<(u32, usize)> {
        let to_come = self.visits.iter().filter(|v| !v.past);
        let days = to_come.filter_map(|v| match v.rain {
            Rain::None(NoRainDate::NobodyOut(days)) => Some(days),
            _ => None,
        });
        let days: Vec<u32> = days.collect();
        Some((*days.first()?, days.len()))
    }

    /// A part of the whole that nobody would miss, whatever the targets weigh.
    fn is_next_to_nothing(&self, lost: f64) -> bool {
        let part = lost <= MISSED * self.expected;
        part && (self.is_weighed() || lost < HALF_A_TENTH)
    }
}

/// The plan in so many columns.
pub fn text(plan: &Plan, width: usize) -> String {
    let mut out = String::new();
    let mut line = |text: &str, first: &str, rest: &str| {
        out.push_str(&wrap(text, first, rest, width));
        out.push('\n');
    };
    let names: Vec<&str> = plan.sites.iter().map(|(_, name)| name.as_str()).collect();
    line(&format!("Visits to {}", list(&names)), "", "");
    line(&format!("{}.", sentence_of(plan)), "", "");
    line(&plan.distance_words(), "", "");
    for visit in &plan.visits {
        line("", "", "");
        let site = &plan.sites[visit.site].1;
        line(&format!("{}, {site}", weekday_date(visit.date)), "", "  ");
        for words in visit_words(plan, visit) {
            line(&words, "  ", "    ");
        }
    }
    line("", "", "");
    for row in target_table(plan, width) {
        out.push_str(&row);
        out.push('\n');
    }
    for words in footnotes(plan) {
        out.push_str(&wrap(&words, "", "  ", width));
        out.push('\n');
    }
    out
}

fn sentence_of(plan: &Plan) -> String {
    let to_come = plan.visits.iter().filter(|v| !v.past).count();
    let open = plan.targets.iter().filter(|t| t.found.is_none()).count();
    let visits = count_of(to_come, "visit", "visits");
    let span = words::span(plan.from, plan.to);
    let targets = count_of(open, "target", "targets");
    let found: f64 = plan.targets.iter().map(|t| t.chance).sum();
    let weights = match plan.is_weighed() {
        true => format!("; by their weights worth {}", amount(plan.expected)),
        false => String::new(),
    };
    let found = amount(found);
    format!("{span}: {visits} to come, expected to find {found} of {targets}{weights}")
}

/// To a tenth of a target, or of what one counts, and finer where that says nothing.
fn amount(value: f64) -> String {
    match value {
        v if v <= 0.0 || v >= 0.095 => format!("{v:.1}"),
        v if v >= 0.0095 => format!("{v:.2}"),
        v if v >= 0.000_95 => format!("{v:.3}"),
        _ => "under 0.001".to_owned(),
    }
}

fn visit_words(plan: &Plan, visit: &Planned) -> Vec<String> {
    if visit.past {
        return vec!["Past: it stays as it was planned.".to_owned()];
    }
    let mut all = vec![visit.start.words(), plan.purpose_words(visit)];
    all.push(plan.without_words(visit));
    all.extend(plan.rain_words(visit));
    all.retain(|words| !words.is_empty());
    all
}

fn footnotes(plan: &Plan) -> Vec<String> {
    let mut all = vec![
        "Found: the chance of one or more on the visits to come. For 80 %: how many visits like \
         the best date would be so sure, for that target alone."
            .to_owned(),
    ];
    if plan
        .targets
        .iter()
        .any(|t| t.few_records && t.found.is_none())
    {
        all.push(words::STARRED.to_owned());
    }
    if let Some(sure) = plan.sure {
        let short = plan.targets.iter().filter(|t| t.out_of_reach);
        let short: Vec<&str> = short.map(|t| t.name.as_str()).collect();
        if !short.is_empty() {
            let percent = (100.0 * sure).round();
            all.push(format!(
                "Not made {percent}{}% sure by this plan: {}.",
                words::TIE,
                list(&short)
            ));
        }
    }
    if let Some((note, (days, _))) = plan.rain_note().zip(plan.nobody_out()) {
        let reach = match days < WEEK {
            true => format!(" --rain {WEEK} reaches the same day of the next week."),
            false => String::new(),
        };
        all.push(note + &reach);
    }
    if plan.unwatched > 0 {
        let dates = count_of(plan.unwatched, "date was", "dates were");
        all.push(format!(
            "{dates} left out because the site is not watched at that time of the year."
        ));
    }
    all.extend(crate::guidance::CAUTIONS.map(str::to_owned));
    all.push(crate::guidance::REMINDER.to_owned());
    all
}

#[cfg(test)]
pub(super) mod tests {
    use super::super::Target;
    use super::super::start::Start;
    use super::*;
    use chrono::NaiveDate;

    /// A plan of one visit for two targets of that weight, which would lose so much without it.
    pub(in crate::plan) fn plan(weight: f64, expected: f64, lost: f64) -> Plan {
        let date = NaiveDate::from_ymd_opt(2026, 9, 5).expect("a date");
        let target = |name: &str| Target {
            species: name.to_owned(),
            name: name.to_owned(),
            sensitive: false,
            weight,
            found: None,
            chance: expected / weight / 2.0,
            needed: None,
            few_records: false,
            out_of_reach: false,
        };
        Plan {
            from: date,
            to: date,
            today: date,
            sites: vec![("long-bank".to_owned(), "Long Bank".to_owned())],
            visits: vec![Planned {
                site: 0,
                date,
                past: false,
                start: Start::default(),
                purpose: Vec::new(),
                lost,
                rain: Rain::Date(date, lost),
                former: Vec::new(),
            }],
            targets: ["Dunlin", "Little Stint"].map(target).to_vec(),
            expected,
            at_most: Some(expected),
            sure: None,
            unwatched: 0,
            candidates: 1,
            parted: false,
        }
    }

    fn without(weight: f64, expected: f64, lost: f64) -> String {
        let plan = plan(weight, expected, lost);
        plan.without_words(&plan.visits[0])
    }

    #[test]
    fn small_weights_keep_their_numbers() {
        let small = plan(0.02, 0.03, 0.02);
        assert!(
            sentence_of(&small).ends_with("worth 0.03"),
            "{}",
            sentence_of(&small)
        );
        assert_eq!(
            small.without_words(&small.visits[0]),
            "Without it 0.02 less, by the targets' weights."
        );
        let rain = small.rain_words(&small.visits[0]).expect("a date");
        assert!(rain.ends_with("worth 0.02 less."), "{rain}");
        assert_eq!(amount(0.0), "0.0");
        assert_eq!(amount(0.004), "0.004");
        assert_eq!(amount(0.000_2), "under 0.001");
        assert_eq!(amount(1.26), "1.3");
    }

    #[test]
    fn why_nobody_goes_instead_is_said_once() {
        let mut plan = plan(1.0, 1.8, 0.5);
        plan.visits[0].rain = Rain::None(NoRainDate::NobodyOut(3));
        plan.visits.push(plan.visits[0].clone());
        let all = words::plain_spaces(&text(&plan, 200));
        assert_eq!(all.matches("nobody goes out").count(), 1, "{all}");
        assert_eq!(
            all.matches("If it rains: no other date.").count(),
            2,
            "{all}"
        );
        let note = "2 visits have no date to go instead, as nobody goes out on the 3 days after. \
                    --rain 7 reaches the same day of the next week.";
        assert!(all.contains(note), "{all}");
        for visit in &mut plan.visits {
            visit.rain = Rain::None(NoRainDate::NobodyOut(7));
        }
        assert!(!text(&plan, 200).contains("--rain"));
    }

    /// A hundredth of the whole is next to nothing, whatever the weights; half a tenth of a target
    /// is worth a word in any plan of targets that count alike.
    #[test]
    fn next_to_nothing_is_a_part_of_the_whole() {
        const NOTHING: &str = "Without it next to nothing is lost.";
        assert_eq!(without(0.02, 0.03, 0.000_2), NOTHING);
        assert_eq!(without(50.0, 60.0, 0.3), NOTHING);
        assert_eq!(without(1.0, 1.8, 0.01), NOTHING);
        assert_eq!(without(1.0, 0.04, 0.04), "Without it 0.04 targets fewer.");
        assert_eq!(without(1.0, 20.0, 0.12), "Without it 0.1 targets fewer.");
    }
}

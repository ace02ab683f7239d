//! The plan for the screen.

use super::{Plan, Planned, Target};
use crate::columns::wrap;
use crate::words::{self, chance, count_of, list, weekday_date};
use unicode_width::UnicodeWidthStr;

/// Targets named with a visit at most; the sheet and the JSON have all.
const NAMED: usize = 6;

impl Plan {
    /// What a visit is for, in a sentence.
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
        let mut named: Vec<String> = purpose.iter().take(NAMED).map(told).collect();
        if purpose.len() > NAMED {
            let more = purpose.len() - NAMED;
            named.push(count_of(more, "other", "others"));
        }
        format!("For {}.", list(&named))
    }

    /// How far it is from the best.
    pub fn distance_words(&self) -> String {
        let Some(at_most) = self.at_most else {
            return "The visits are few, and not proven to be the fewest.".to_owned();
        };
        let lacking = (at_most - self.expected).max(0.0);
        if lacking < 1e-6 * (1.0 + at_most) {
            return "No choice within the rules is expected to find more.".to_owned();
        }
        let part = 100.0 * lacking / at_most;
        format!(
            "No choice within the rules is expected to find more than {} ({} more).",
            tenths(at_most),
            match part < 0.1 {
                true => format!("under 0.1{}%", words::TIE),
                false => format!("{part:.1}{}%", words::TIE),
            }
        )
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
    format!(
        "{span}: {visits} to come, expected to find {} of {targets}",
        tenths(plan.expected)
    )
}

/// To a tenth of a target.
fn tenths(value: f64) -> String {
    format!("{value:.1}")
}

fn visit_words(plan: &Plan, visit: &Planned) -> Vec<String> {
    if visit.past {
        return vec!["Past: it stays as it was planned.".to_owned()];
    }
    let mut all = vec![visit.start.words(), plan.purpose_words(visit)];
    all.push(match visit.lost < 0.05 {
        true => "Without it next to nothing is lost.".to_owned(),
        false => format!("Without it {} targets fewer.", tenths(visit.lost)),
    });
    if let Some((date, lost)) = visit.rain {
        let lost = match lost {
            l if l < 0.05 => "at no loss to speak of".to_owned(),
            l => format!("with {} targets fewer", tenths(l)),
        };
        all.push(format!("If it rains: {}, {lost}.", weekday_date(date)));
    }
    all.retain(|words| !words.is_empty());
    all
}

/// A line a target: chance, and the visits that would make it sure.
fn target_table(plan: &Plan, width: usize) -> Vec<String> {
    let shown = |t: &Target| format!("{}{}", t.name, if t.few_records { "*" } else { "" });
    let widest = plan
        .targets
        .iter()
        .map(|t| shown(t).width())
        .max()
        .unwrap_or(0);
    let name_width = widest.min(width.saturating_sub(45)).max(12);
    let row = |name: &str, cells: [String; 4]| {
        let name = wrap(name, "", "  ", name_width);
        let mut lines: Vec<String> = name.split('\n').map(|l| format!("  {l}")).collect();
        if let Some(first) = lines.first_mut() {
            let pad = (name_width + 2).saturating_sub(first.width());
            first.push_str(&" ".repeat(pad));
            for cell in cells {
                first.push_str(&format!("{cell:>11}"));
            }
        }
        lines
            .iter()
            .map(|l| l.trim_end().to_owned())
            .collect::<Vec<_>>()
    };
    let heads = ["found", "for 80 %", "for 90 %", "for 95 %"].map(str::to_owned);
    let mut all = row("Target", heads);
    for target in &plan.targets {
        let cells = match target.found {
            Some(date) => {
                let day = words::plain_spaces(&words::day_month(date));
                all.extend(row(
                    &format!("{}: found on {day}", target.name),
                    Default::default(),
                ));
                continue;
            }
            None => {
                let needed = target.needed.map(|n| n.map(|n| n.to_string()));
                let [a, b, c] = needed.unwrap_or_else(|| ["-", "-", "-"].map(str::to_owned));
                [words::plain_spaces(&chance(target.chance)), a, b, c]
            }
        };
        all.extend(row(&shown(target), cells));
    }
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

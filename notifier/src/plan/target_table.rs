//! The targets of a plan for the screen: a line each.

use super::{Plan, Target};
use crate::columns::wrap;
use crate::words::{self, chance};
use unicode_width::UnicodeWidthStr;

/// A line a target: chance, and the visits that would make it sure.
pub(super) fn target_table(plan: &Plan, width: usize) -> Vec<String> {
    let names = plan.targets.iter().map(|t| starred(t).width());
    let widest = names.max().unwrap_or(0);
    let name_width = widest.min(width.saturating_sub(45)).max(12);
    let heads = ["found", "for 80 %", "for 90 %", "for 95 %"].map(str::to_owned);
    let mut all = row("Target", name_width, heads);
    for target in &plan.targets {
        all.extend(match target.found {
            Some(date) => {
                let day = words::plain_spaces(&words::day_month(date));
                let found = format!("{}: found on {day}", target.name);
                row(&found, name_width, Default::default())
            }
            None => row(&starred(target), name_width, cells(target)),
        });
    }
    all
}

fn starred(target: &Target) -> String {
    let star = if target.few_records { "*" } else { "" };
    match target.weight == 1.0 {
        true => format!("{}{star}", target.name),
        false => format!("{}{star} (weight {})", target.name, target.weight),
    }
}

fn cells(target: &Target) -> [String; 4] {
    let needed = target.needed.map(|n| n.map(|n| n.to_string()));
    let [a, b, c] = needed.unwrap_or_else(|| ["-", "-", "-"].map(str::to_owned));
    [words::plain_spaces(&chance(target.chance)), a, b, c]
}

/// A name, in as many lines as it takes, with its cells behind the first.
fn row(name: &str, name_width: usize, cells: [String; 4]) -> Vec<String> {
    let name = wrap(name, "", "  ", name_width);
    let mut lines: Vec<String> = name.split('\n').map(|l| format!("  {l}")).collect();
    if let Some(first) = lines.first_mut() {
        let pad = (name_width + 2).saturating_sub(first.width());
        first.push_str(&" ".repeat(pad));
        for cell in cells {
            first.push_str(&format!("{cell:>11}"));
        }
    }
    lines.iter().map(|l| l.trim_end().to_owned()).collect()
}

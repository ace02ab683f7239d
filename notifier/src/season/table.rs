//! A season as text on a screen.

use super::named::typed;
use super::{PassageSeason, SeasonReport, words};
use crate::columns::wrap;
use crate::words::{TIE, plain_spaces};
use forecast::season::{Estimate, Untold};
use unicode_width::UnicodeWidthStr;

const COLUMNS: usize = 6;
const HEADINGS: [&str; COLUMNS] = ["", "days late", "times usual", "% through", "first", "odd"];
const GAP: &str = "  ";
/// Passages that get their sentences below the table, where not all do.
const FEW: usize = 3;

/// The report, at most `width` columns wide; sentences of every passage where `all`.
pub fn text(report: &SeasonReport, all: bool, width: usize) -> String {
    let mut lines = vec![
        wrap(&words::heading(report), "", "", width),
        wrap(&words::ground(report), "", "  ", width),
    ];
    lines.extend(words::nobody_looked(report).map(|text| wrap(&text, "", "  ", width)));
    if report.passages.is_empty() {
        lines.push(words::nothing(report).to_owned());
    } else {
        lines.push(String::new());
        lines.extend(table(report, width));
        lines.push(String::new());
        let shown = if all { report.passages.len() } else { FEW };
        for p in report.passages.iter().take(shown) {
            lines.push(wrap(&words::sentences(p).join(" "), "- ", "  ", width));
        }
        if shown < report.passages.len() {
            let more = "The others in sentences: --all";
            lines.push(wrap(more, "", "", width));
        }
        lines.push(String::new());
    }
    let together = words::summary(report);
    for text in together.into_iter().chain(words::left_out(report)) {
        lines.push(wrap(&text, "", "  ", width));
    }
    if !report.passages.is_empty() {
        lines.extend(words::MEANING.map(|text| wrap(text, "", "  ", width)));
    }
    lines.extend(past(report).map(|text| wrap(&text, "", "  ", width)));
    plain_spaces(&lines.join("\n")) + "\n"
}

/// How another season is asked for, to those who asked for none.
fn past(report: &SeasonReport) -> Option<String> {
    let is_asked = report.season.is_some() && report.lead.is_none();
    let mut past = report.past.iter().filter(|p| Some(**p) != report.season);
    let season = past.next().filter(|_| !is_asked)?;
    Some(format!(
        "A past season: --season{TIE}{}, for one",
        typed(*season)
    ))
}

fn table(report: &SeasonReport, width: usize) -> Vec<String> {
    let mut rows = vec![HEADINGS.map(str::to_owned)];
    rows.extend(report.passages.iter().map(|p| cells(report, p)));
    let mut widths: [usize; COLUMNS] =
        std::array::from_fn(|c| rows.iter().map(|r| r[c].width()).max().unwrap_or(0));
    let others: usize = widths[1..].iter().map(|w| w + GAP.len()).sum();
    widths[0] = widths[0].min(width.saturating_sub(others).max(8));
    rows.iter().flat_map(|row| row_lines(row, widths)).collect()
}

/// A name that is too long goes on in the next line.
fn row_lines(row: &[String; COLUMNS], widths: [usize; COLUMNS]) -> Vec<String> {
    let name = wrap(&row[0], "", "  ", widths[0]);
    let mut lines: Vec<String> = Vec::new();
    for (i, part) in name.split('\n').enumerate() {
        let mut line = part.to_owned() + &" ".repeat(widths[0].saturating_sub(part.width()));
        if i == 0 {
            for (cell, width) in row.iter().zip(widths).skip(1) {
                line.push_str(GAP);
                line.push_str(&" ".repeat(width.saturating_sub(cell.width())));
                line.push_str(cell);
            }
        }
        lines.push(line.trim_end().to_owned());
    }
    lines
}

/// The cells of a row, headings left out.
pub fn cells(report: &SeasonReport, p: &PassageSeason) -> [String; COLUMNS] {
    let name = words::name(report, p);
    let first = p
        .first
        .date
        .map_or_else(|| "-".to_owned(), |d| d.format("%m-%d").to_string());
    let Some(s) = p.standing() else {
        let dash = || "-".to_owned();
        let seen = match p.course.standing {
            Err(Untold::NotLooked) => "nobody looked".to_owned(),
            _ => format!("{} birds", birds(p)),
        };
        return [name, dash(), seen, dash(), first, dash()];
    };
    let whole = |x: f64| format!("{:.0}", x.round() + 0.0);
    let percent = |x: f64| match x {
        x if x < 0.005 => "<1".to_owned(),
        x if x >= 0.995 => ">99".to_owned(),
        x => format!("{:.0}", 100.0 * x),
    };
    [
        name,
        told(&s.shift, whole),
        told(&s.times, words::times),
        match p.tells_share() {
            true => told(&s.share, percent),
            false => "over".to_owned(),
        },
        first,
        odd(s.oddness.chance),
    ]
}

/// "34 of 52": birds counted, and those usual on the same visits.
pub fn birds(p: &PassageSeason) -> String {
    let usual = crate::words::birds(p.course.usual_birds);
    format!("{} of {usual}", p.course.birds)
}

/// "-4 (-7..-2)".
fn told(e: &Estimate, number: impl Fn(f64) -> String) -> String {
    format!(
        "{} ({}..{})",
        number(e.middle),
        number(e.low),
        number(e.high)
    )
}

fn odd(chance: f64) -> String {
    match chance {
        c if c < 0.01 => "<1".to_owned(),
        c => format!("{:.0}", 100.0 * c),
    }
}

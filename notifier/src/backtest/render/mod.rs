//! The summary as text.

mod tables;

use super::summary::{Comparison, Counts, Gain, LeftOut, Part, SiteSummary, Summary, Weeks};
use crate::columns::wrap;
use crate::words::{self, list};
use forecast::climatology::{LAST_YEARS, NEAR_DAYS};

/// The whole summary in lines of `width` columns (70 at the least).
pub fn text(summary: &Summary, width: usize) -> String {
    let mut parts = vec![opening(summary, width)];
    for (i, site) in summary.all_sites.iter().chain(&summary.sites).enumerate() {
        parts.push(of_site(site, i == 0, width));
    }
    parts.extend(summary.left_out.iter().map(|l| left_out(l, width)));
    parts.join("\n\n") + "\n"
}

/// What the scores are, below the first table that has them. CRPS, log score and Brier score are
/// those of Gneiting & Raftery (2007), J. Am. Stat. Assoc. 102:359-378.
const TERMS: [&str; 5] = [
    "CRPS: how far the count lay from what was forecast, in birds; a forecast that spreads \
     wide is charged for it.",
    "Log score and log loss: minus the logarithm of the chance that was given to what came; \
     being sure and wrong costs most.",
    "Brier score: mean square of the chance said less what came (1 found, 0 not); always \
     saying 50 % scores 0.25.",
    "Calibration error: by how much what came differs on average from the chance said; 0.02 is 2 \
     percentage points.",
    "PIT (below): in which part of its forecast a count fell; right forecasts fill all \
     parts alike.",
];

fn opening(summary: &Summary, width: usize) -> String {
    let stretches: Vec<String> = summary
        .issued
        .iter()
        .map(|[a, b]| format!("{} to {}", day(a), day(b)))
        .collect();
    let learnt = match summary.history {
        Some(1) => "the counts of the preceding year".to_owned(),
        Some(n) => format!("the counts of the {n} preceding years"),
        None => "the counts of all earlier years".to_owned(),
    };
    let paragraphs = [
        format!(
            "Backtest of {}: what would have been forecast, against what was found.",
            summary.years()
        ),
        format!(
            "Forecasts were issued on every Monday from {}, for the visits of {} weeks, the \
             first of which begins on that Monday. They rest on {learnt}, and on what the season's \
             visits had shown by then.",
            list(&stretches),
            summary.weeks,
        ),
        climatologies(summary),
        format!(
            "Gains: by how many percent our score is lower, which is better, with {:.0} % intervals from \
             resampling whole years. + or - stands where the interval leaves out 0; of those that do \
             not differ, {:.0} in 100 get a sign by chance. Every visit is forecast from up \
             to {} Mondays and counts as often.",
            100.0 * summary.interval_level,
            100.0 * (1.0 - summary.interval_level),
            summary.weeks
        ),
    ];
    paragraphs.map(|p| wrap(&p, "", "", width)).join("\n\n")
}

/// What the forecasts are held to.
fn climatologies(summary: &Summary) -> String {
    let years = match summary.history {
        Some(_) => "the same",
        None => "all",
    };
    let agree = match summary.climatologies_agree {
        true => " With this history the two are the same.",
        false => "",
    };
    format!(
        "hand: the hand climatology, from {years} earlier years' counts on visits within {NEAR_DAYS} \
         days of the date. five: the last-five-years climatology, the same from the last {LAST_YEARS} \
         years.{agree}"
    )
}

/// "03-01" as "1 March".
fn day(month_day: &str) -> String {
    let (month, day) = month_day.split_once('-').unwrap_or((month_day, ""));
    let month = month
        .parse()
        .map_or_else(|_| month.to_owned(), |m| words::month(m).to_owned());
    format!("{}{}{month}", day.trim_start_matches('0'), words::TIE)
}

fn of_site(site: &SiteSummary, explained: bool, width: usize) -> String {
    let mut parts = vec![heading(site, width), tables::scores(site, width)];
    if explained {
        parts.push(TERMS.map(|t| wrap(t, "  ", "    ", width)).join("\n"));
    }
    parts.extend([
        tables::counts(&rows(site), width),
        tables::weeks(&rows(site), width),
    ]);
    parts.extend(
        site.reliability
            .as_ref()
            .map(|r| tables::reliability(r, width)),
    );
    parts.extend(site.pit.as_ref().map(|p| tables::pit(p, width)));
    if !site.coverage.is_empty() {
        parts.push(tables::coverage(&site.coverage, width));
    }
    parts.retain(|p| !p.is_empty());
    parts.join("\n\n")
}

/// Parts of a site's forecasts with their names.
fn rows(site: &SiteSummary) -> Vec<(String, Part)> {
    let weeks = site
        .by_horizon
        .iter()
        .map(|h| (format!("week {}", h.weeks_ahead), h.part));
    let species = site.by_species.iter().map(|s| (s.species.clone(), s.part));
    let all = ("all forecasts".to_owned(), site.overall);
    [all].into_iter().chain(weeks).chain(species).collect()
}

fn heading(site: &SiteSummary, width: usize) -> String {
    let name = match &site.site {
        Some(id) if *id != site.name => format!("{} ({id})", site.name),
        _ => site.name.clone(),
    };
    let number = site.by_species.len();
    let species = if number > 0 {
        format!("{}, ", words::count_of(number, "species", "species"))
    } else {
        String::new()
    };
    let scored = |n: Option<usize>| n.unwrap_or(0);
    let text = format!(
        "{name}: {species}{} of counts on visits and {} of weeks.",
        words::count_of(
            scored(site.overall.counts.map(|c| c.scored)),
            "forecast",
            "forecasts"
        ),
        scored(site.overall.weeks.map(|w| w.scored)),
    );
    let unnumbered = match site.unnumbered {
        0 => String::new(),
        n => format!(
            " Another {} of visits whose count has no number.",
            words::count_of(n, "forecast is", "forecasts are")
        ),
    };
    let rule = "-".repeat(name_width(&text, width));
    format!(
        "{}\n{rule}\n{}",
        wrap(&format!("{text}{unnumbered}"), "", "", width),
        verdict(site, width)
    )
}

fn name_width(text: &str, width: usize) -> usize {
    text.chars().count().min(width)
}

/// What the numbers come to, in words.
fn verdict(site: &SiteSummary, width: usize) -> String {
    let against = |of: fn(&Comparison) -> Gain, whom: &str| {
        let counts = site
            .overall
            .counts
            .map(|c: Counts| format!("counts {}", in_words(of(&c.crps))));
        let weeks = site
            .overall
            .weeks
            .map(|w: Weeks| format!("chances {}", in_words(of(&w.brier))));
        let both: Vec<String> = counts.into_iter().chain(weeks).collect();
        format!("Against the {whom}: {}.", both.join("; "))
    };
    let mut sentences = vec![
        against(|c| c.gain_on_hand, "hand climatology"),
        against(|c| c.gain_on_last_five, "last-five-years climatology"),
    ];
    let gains = site
        .by_species
        .iter()
        .filter_map(|s| s.part.weeks.map(|w| w.brier.gain_on_hand));
    let signs: Vec<&str> = gains.map(sign).collect();
    let number = |s: &str| signs.iter().filter(|t| **t == s).count();
    if !signs.is_empty() {
        sentences.push(format!(
            "Of {} species the chances of {} are clearly better than the hand climatology's (+), of {} \
             clearly worse (-).",
            signs.len(),
            number("+"),
            number("-")
        ));
    }
    wrap(&sentences.join(" "), "", "", width)
}

fn in_words(gain: Gain) -> String {
    let Some(estimate) = gain.estimate else {
        return "not to be compared".to_owned();
    };
    let said = format!("{0}{1}%{1}better", tenths(estimate), words::TIE);
    match gain.interval {
        Some((low, high)) => format!("{said} ({} to {})", tenths(low), tenths(high)),
        None => format!("{said} (no interval)"),
    }
}

fn left_out(left: &LeftOut, width: usize) -> String {
    let years: Vec<String> = left.years.iter().map(i32::to_string).collect();
    let text = format!("Left out: {} in {}: {}.", left.site, list(&years), left.why);
    wrap(&text, "", "  ", width)
}

fn sign(gain: Gain) -> &'static str {
    match gain.interval {
        Some((low, _)) if low > 0.0 => "+",
        Some((_, high)) if high < 0.0 => "-",
        _ => " ",
    }
}

/// In percent to a tenth, from 100 on to a whole one; what rounds to nothing has no sign.
fn tenths(p: f64) -> String {
    let percent = 100.0 * p;
    let decimals = if percent.abs() < 99.95 { 1 } else { 0 };
    let text = format!("{percent:.decimals$}");
    if text == "-0.0" {
        "0.0".to_owned()
    } else {
        text
    }
}

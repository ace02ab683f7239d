//! The summary's tables.

use super::super::summary::{
    Calibration, Comparison, Counts, Coverage, Gain, Held, Means, Part, SiteSummary, Weeks,
};
use super::super::table::{Align, table};
use super::{sign, tenths};
use crate::columns::wrap;

/// Mean scores.
pub(super) fn scores(site: &SiteSummary, width: usize) -> String {
    let row = |name: &str, m: Means<f64>| -> Vec<String> {
        let number = |v: f64| format!("{v:.4}");
        vec![
            name.to_owned(),
            number(m.ours),
            number(m.hand),
            number(m.last_five),
        ]
    };
    let mut rows = vec![
        ["lower is better", "ours", "hand", "five"]
            .map(str::to_owned)
            .to_vec(),
    ];
    if let Some(counts) = &site.overall.counts {
        rows.push(row("count on a visit, CRPS (birds)", counts.crps.mean));
        let log_score = counts.log_score.mean;
        rows.push(row("count on a visit, log score (nats)", log_score));
    }
    if let Some(weeks) = &site.overall.weeks {
        rows.push(row("found in a week, Brier score", weeks.brier.mean));
        rows.push(row("found in a week, log loss (nats)", weeks.log_loss.mean));
    }
    if let Some(r) = &site.reliability {
        let error = |c: &Calibration| c.calibration_error;
        let means = Means {
            ours: error(&r.ours),
            hand: error(&r.hand),
            last_five: error(&r.last_five),
        };
        rows.push(row("found in a week, calibration error", means));
    }
    let [left, right] = [Align::Left, Align::Right];
    table(&rows, &[left, right, right, right], width)
}

/// Gains in counts, with the mean count.
pub(super) fn counts(parts: &[(String, Part)], width: usize) -> String {
    let birds = |c: &Counts| format!("{:.2}", c.birds as f64 / c.scored as f64);
    let row = |(name, part): &(String, Part)| {
        let counts = part.counts.as_ref()?;
        Some([vec![name.clone(), birds(counts)], gains(&counts.crps)].concat())
    };
    let rows = parts.iter().filter_map(row).collect();
    gain_table(
        "Counts on a visit: mean number, and gain in CRPS, %",
        "birds",
        rows,
        width,
    )
}

/// Gains in chances, with the part of the weeks in which the species was found.
pub(super) fn weeks(parts: &[(String, Part)], width: usize) -> String {
    let found = |w: &Weeks| tenths(w.found as f64 / w.scored as f64);
    let row = |(name, part): &(String, Part)| {
        let weeks = part.weeks.as_ref()?;
        Some([vec![name.clone(), found(weeks)], gains(&weeks.brier)].concat())
    };
    let rows = parts.iter().filter_map(row).collect();
    gain_table(
        "Found in a week or not: how often, %, and gain in Brier score, %",
        "found",
        rows,
        width,
    )
}

fn gains(comparison: &Comparison) -> Vec<String> {
    vec![
        cell(comparison.gain_on_hand),
        cell(comparison.gain_on_last_five),
    ]
}

/// "12.3 (8.1 to 15.2) +"
fn cell(gain: Gain) -> String {
    let Some(estimate) = gain.estimate else {
        return "-  ".to_owned();
    };
    match gain.interval {
        Some((low, high)) => {
            format!(
                "{} ({} to {}) {}",
                tenths(estimate),
                tenths(low),
                tenths(high),
                sign(gain)
            )
        }
        None => format!("{}  ", tenths(estimate)),
    }
}

fn gain_table(title: &str, number: &str, rows: Vec<Vec<String>>, width: usize) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let heads = ["", number, "on hand  ", "on five  "]
        .map(str::to_owned)
        .to_vec();
    let rows: Vec<Vec<String>> = [heads].into_iter().chain(rows).collect();
    let aligns = [Align::Left, Align::Right, Align::Right, Align::Right];
    titled(title, &table(&rows, &aligns, width), width)
}

fn percent(p: Option<f64>) -> String {
    p.map_or_else(|| "-".to_owned(), tenths)
}

/// What was said and what came, by the chance said.
pub(super) fn reliability(r: &Means<Calibration>, width: usize) -> String {
    let each = [&r.ours, &r.hand, &r.last_five];
    let mut rows = vec![
        [
            "chance, %",
            "ours",
            "said",
            "came",
            "hand",
            "said",
            "came",
            "five",
            "said",
            "came",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for (i, bin) in r.ours.bins.iter().enumerate() {
        let mut row = vec![format!("{:.0} to {:.0}", 100.0 * bin.from, 100.0 * bin.to)];
        for bin in each.map(|c| &c.bins[i]) {
            let came = (bin.weeks > 0).then(|| bin.found as f64 / bin.weeks as f64);
            row.extend([
                bin.weeks.to_string(),
                percent(bin.mean_chance),
                percent(came),
            ]);
        }
        rows.push(row);
    }
    let aligns = [&[Align::Left][..], &[Align::Right; 9]].concat();
    titled(
        "Chances of finding at least one in a week: number of weeks, mean chance said, and in how many \
         it came true, %",
        &table(&rows, &aligns, width),
        width,
    )
}

/// The probability integral transform.
pub(super) fn pit(p: &Means<[f64; 10]>, width: usize) -> String {
    let row = |name: &str, masses: [f64; 10]| -> Vec<String> {
        [name.to_owned()]
            .into_iter()
            .chain(masses.map(tenths))
            .collect()
    };
    let rows = [
        row("ours", p.ours),
        row("hand", p.hand),
        row("five", p.last_five),
    ];
    let aligns = [&[Align::Left][..], &[Align::Right; 10]].concat();
    titled(
        "Counts by where they fell in their forecast distribution (PIT), % in each tenth from low to \
         high; 10 each if forecasts are right",
        &table(&rows, &aligns, width),
        width,
    )
}

/// Central intervals.
pub(super) fn coverage(levels: &[Coverage], width: usize) -> String {
    let mut rows = vec![
        [
            "level, %",
            "ours: said",
            "inside",
            "hand: said",
            "inside",
            "five: said",
            "inside",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for level in levels {
        let each = |h: Held| [percent(Some(h.said)), percent(Some(h.inside))];
        let Means {
            ours,
            hand,
            last_five,
        } = level.intervals;
        let cells = [ours, hand, last_five].into_iter().flat_map(each);
        rows.push(
            [format!("{:.0}", 100.0 * level.level)]
                .into_iter()
                .chain(cells)
                .collect(),
        );
    }
    let aligns = [&[Align::Left][..], &[Align::Right; 6]].concat();
    titled(
        "Intervals of counts: probability said (more than the level, as counts are whole) and part of \
         the counts inside, %",
        &table(&rows, &aligns, width),
        width,
    )
}

fn titled(title: &str, table: &str, width: usize) -> String {
    format!("{}\n{table}", wrap(title, "", "", width))
}

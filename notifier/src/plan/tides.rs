//! A file of tide times: `date,time,height`, in the site's local time.

use super::PlanError;
use chrono::{NaiveDate, NaiveTime};
use serde::{Deserialize, Serialize};
use std::path::Path;

/// The columns, by their headings.
const COLUMNS: [&str; 3] = ["date", "time", "height"];

/// A time and the height of the water, in the file's own unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tide {
    /// Local date.
    pub date: NaiveDate,
    /// Local time.
    pub time: NaiveTime,
    /// Height.
    pub height: f64,
}

/// High waters in order of time: rows that stand above their neighbours in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Tides {
    high: Vec<Tide>,
}

impl Tides {
    /// Reads the file. Rows of high and low water, or of every hour, will both do.
    ///
    /// # Errors
    /// [`PlanError::Tides`] with the line and what was expected.
    pub fn read(path: &Path) -> Result<Self, PlanError> {
        let wrong = |line: Option<u64>, problem: String| PlanError::Tides {
            path: path.to_owned(),
            line,
            problem,
        };
        let text = std::fs::read_to_string(path)
            .map_err(|e| wrong(None, format!("this file cannot be read: {e}")))?;
        let text = text.trim_start_matches('\u{feff}');
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let header = reader
            .headers()
            .map_err(|e| wrong(Some(1), e.to_string()))?;
        let places = places(header).map_err(|problem| wrong(Some(1), problem))?;
        let mut all: Vec<Tide> = Vec::new();
        for row in reader.records() {
            let row =
                row.map_err(|e| wrong(e.position().map(csv::Position::line), e.to_string()))?;
            let line = row.position().map(csv::Position::line);
            let tide = tide(&row, places).map_err(|problem| wrong(line, problem))?;
            if all
                .last()
                .is_some_and(|last| (last.date, last.time) >= (tide.date, tide.time))
            {
                let problem = "this time is not later than the one before; expected rows in order";
                return Err(wrong(line, problem.to_owned()));
            }
            all.push(tide);
        }
        Ok(Tides { high: high(&all) })
    }

    /// High waters of a date.
    pub fn on(&self, date: NaiveDate) -> impl Iterator<Item = &Tide> {
        self.high.iter().filter(move |t| t.date == date)
    }

    /// Those highest by their neighbours, from rows in order.
    #[cfg(test)]
    fn of(all: &[Tide]) -> Self {
        Tides { high: high(all) }
    }
}

/// Rows that are higher than those before and after; of equal ones the middle. The file's ends are
/// high waters where all its rows are high and low waters in turn.
fn high(all: &[Tide]) -> Vec<Tide> {
    let runs: Vec<&[Tide]> = all.chunk_by(|a, b| a.height == b.height).collect();
    let above = |i: usize, other: usize| runs[other][0].height < runs[i][0].height;
    let last = runs.len().saturating_sub(1);
    let in_turn = (1..last).all(|i| above(i, i - 1) == above(i, i + 1));
    let is_high = |i: &usize| {
        let before = if *i == 0 { in_turn } else { above(*i, i - 1) };
        let after = if *i == last {
            in_turn
        } else {
            above(*i, i + 1)
        };
        before && after
    };
    let high = (0..runs.len()).filter(is_high);
    high.map(|i| runs[i][runs[i].len() / 2]).collect()
}

fn places(header: &csv::StringRecord) -> Result<[usize; 3], String> {
    let place = |name: &str| {
        let found = header.iter().position(|h| h.eq_ignore_ascii_case(name));
        found.ok_or_else(|| {
            let names: Vec<&str> = header.iter().collect();
            let near = config::nearest::nearest(name, names.iter().copied());
            let near = near
                .map(|n| format!("; is \"{n}\" meant?"))
                .unwrap_or_default();
            format!(
                "there is no column {name}; expected date, time and height, found {}{near}",
                names.join(", ")
            )
        })
    };
    let [date, time, height] = COLUMNS.map(place);
    Ok([date?, time?, height?])
}

fn tide(row: &csv::StringRecord, places: [usize; 3]) -> Result<Tide, String> {
    let cell = |i: usize| row.get(places[i]).unwrap_or_default();
    let date = NaiveDate::parse_from_str(cell(0), "%Y-%m-%d")
        .map_err(|_| format!("date is \"{}\"; expected such as 2026-09-02", cell(0)))?;
    let time = NaiveTime::parse_from_str(cell(1), "%H:%M")
        .or_else(|_| NaiveTime::parse_from_str(cell(1), "%H:%M:%S"))
        .map_err(|_| format!("time is \"{}\"; expected such as 05:48", cell(1)))?;
    let height: f64 = cell(2)
        .parse()
        .ok()
        .filter(|h: &f64| h.is_finite())
        .ok_or_else(|| format!("height is \"{}\"; expected a number such as 4.2", cell(2)))?;
    Ok(Tide { date, time, height })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn high_waters_are_those_above_their_neighbours() {
        let date = NaiveDate::from_ymd_opt(2026, 9, 2).expect("a date");
        let row = |hour, height| Tide {
            date,
            time: NaiveTime::from_hms_opt(hour, 10, 0).expect("a time"),
            height,
        };
        let rows = [
            row(1, 0.9),
            row(7, 4.1),
            row(13, 1.0),
            row(19, 4.3),
            row(23, 2.0),
        ];
        let tides = Tides::of(&rows);
        let heights: Vec<f64> = tides.on(date).map(|t| t.height).collect();
        assert_eq!(heights, [4.1, 4.3]);
        assert_eq!(Tides::of(&rows[1..2]).on(date).count(), 1);
        // of every hour, to a tenth: no high water at a step of the flood, nor at the file's ends
        let hours = [3.0, 2.9, 3.4, 4.0, 4.2, 4.2, 4.4, 4.4, 4.4, 4.1, 3.0, 3.1];
        let hourly: Vec<Tide> = (4..16).zip(hours).map(|(h, m)| row(h, m)).collect();
        let tides = Tides::of(&hourly);
        let told: Vec<Tide> = tides.on(date).copied().collect();
        assert_eq!(told, [row(11, 4.4)]);
    }
}

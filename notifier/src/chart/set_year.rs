//! The year of a set on paper: for each member its curve with an interval, its windows, and its
//! share of the set's birds by week. In millimetres, black where it matters, so that a copier in
//! grey loses nothing.

use super::scale::{round_below, tick_label};
use super::year_axis::{months, pieces, runs};
use super::{SpeciesCurve, escape};
use crate::findings::temperature;
use crate::words;
use forecast::calendar::{DAYS, DayOfYear, MonthDay};
use std::fmt::Write;

/// Width of the picture, millimetres: that of an A4 page within its margins.
const WIDTH: f64 = 186.0;
const LEFT: f64 = 11.0;
const RIGHT: f64 = 1.0;
const LABEL: f64 = 5.2;
const AXIS: f64 = 5.0;
const BETWEEN: f64 = 1.2;
/// Part of a row that its curve takes; its shares take the rest.
const CURVE_PART: f64 = 0.6;
/// Letters of names, and of scales.
const NAME: f64 = 3.2;
const SMALL: f64 = 2.6;
/// A band is cut where it runs higher than this many times the highest mean.
const BAND_REACH: f64 = 2.0;
/// Half a week, less a gap to the next bar.
const HALF_BAR: f64 = 3.1;

const INK: &str = "#222b2a";
const PENCIL: &str = "#565f5b";
const RULE: &str = "#d5d2ca";
const BAND: &str = "#c4cfd1";
const CURVE: &str = "#0f5f73";
const UNWATCHED: &str = "#ececec";

/// A set's year at a site.
#[derive(Debug, Clone)]
pub(crate) struct SetYear {
    /// What it is of.
    pub(crate) title: String,
    /// Watched days of the year.
    pub(crate) watched: Vec<bool>,
    /// The middles of the weeks that shares are told for.
    pub(crate) weeks: Vec<DayOfYear>,
    /// The members.
    pub(crate) rows: Vec<YearRow>,
}

/// A member's year.
#[derive(Debug, Clone)]
pub(crate) struct YearRow {
    /// Name, and what is said behind it.
    pub(crate) name: String,
    pub(crate) detail: String,
    /// None with too few records.
    pub(crate) curve: Option<SpeciesCurve>,
    /// First and last day of each window, on the circle of the year.
    pub(crate) windows: Vec<(f64, f64)>,
    /// By week; None where nobody watches or no bird of the set was counted.
    pub(crate) shares: Vec<Option<f64>>,
}

impl SetYear {
    /// Its height where each row is so high.
    pub(crate) fn height(&self, row: f64) -> f64 {
        AXIS + self.rows.len() as f64 * row
    }

    /// What it shows, for those who do not see it.
    pub(crate) fn text(&self) -> String {
        let rows = self.rows.iter().map(|row| self.told(row));
        let rows: Vec<String> = rows.collect();
        words::plain_spaces(&rows.join(" "))
    }

    fn told(&self, row: &YearRow) -> String {
        let peak = row.curve.as_ref().and_then(|c| c.peak(&self.watched));
        match peak {
            Some((day, birds)) => {
                let date = temperature::day(MonthDay::of_position(f64::from(day.get())));
                let birds = words::birds(birds);
                format!("{}: highest {birds} about {date}.", row.name)
            }
            None => format!("{}: no curve, too few records.", row.name),
        }
    }

    /// The picture as a document of its own, so many millimetres high.
    pub(crate) fn svg(&self, height: f64, id: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height:.1}\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-text\">\n<title id=\"{id}-title\">{}</title>\n\
             <desc id=\"{id}-text\">{}</desc>\n{}</svg>",
            escape(&self.title),
            escape(&self.text()),
            self.body(height)
        )
    }

    /// What is drawn, from the origin on.
    pub(crate) fn body(&self, height: f64) -> String {
        let mut pen = Pen::default();
        let axis = height - AXIS;
        let each = axis / self.rows.len().max(1) as f64;
        for (place, row) in self.rows.iter().enumerate() {
            let frame = Frame::new(place as f64 * each, each);
            self.ground(&mut pen, &frame);
            self.row(&mut pen, row, &frame);
        }
        for (_, middle, name) in months() {
            pen.text((across(middle), axis + 3.6), SMALL, "middle", name, INK);
        }
        pen.0
    }

    /// Unwatched days, months, and the lines that curve and shares stand on.
    fn ground(&self, pen: &mut Pen, frame: &Frame) {
        let (top, bottom) = (frame.top, frame.bottom);
        for (first, last) in runs(&self.watched, false) {
            let (left, right) = (across(first - 0.5), across(last + 0.5));
            pen.rect((left, top), (right - left, bottom - top), UNWATCHED);
        }
        for (begins, ..) in months() {
            let x = across(begins);
            pen.line(&format!("M{x:.1},{top:.1}V{bottom:.1}"), RULE, 0.15);
        }
        for y in [frame.base, bottom] {
            let right = WIDTH - RIGHT;
            pen.line(&format!("M{LEFT},{y:.1}H{right}"), PENCIL, 0.2);
        }
    }

    fn row(&self, pen: &mut Pen, row: &YearRow, frame: &Frame) {
        pen.label(row, frame.top - 1.4);
        if let Some(curve) = &row.curve {
            self.curve(pen, curve, frame);
        }
        for (from, to) in &row.windows {
            for (left, right) in pieces(*from, *to) {
                let bar = (across(right) - across(left), 0.8);
                pen.rect((across(left), frame.base - 0.4), bar, INK);
            }
        }
        pen.text(
            (LEFT - 1.0, frame.shares + 2.0),
            SMALL,
            "end",
            "100 %",
            PENCIL,
        );
        let full = frame.bottom - frame.shares;
        for (week, share) in self.weeks.iter().zip(&row.shares) {
            if let Some(share) = share {
                let day = f64::from(week.get());
                // a week over New Year ends with the plot
                let left = across(day - HALF_BAR).max(LEFT);
                let right = across(day + HALF_BAR).min(WIDTH - RIGHT);
                let high = (share * full).max(0.15);
                pen.rect((left, frame.bottom - high), (right - left, high), PENCIL);
            }
        }
    }

    fn curve(&self, pen: &mut Pen, curve: &SpeciesCurve, frame: &Frame) {
        let top = curve.top(&self.watched, BAND_REACH);
        let up = |birds: f64| frame.base - birds.min(top) / top * (frame.base - frame.top);
        let point = |(day, birds): (usize, f64)| {
            let x = across(day as f64 + 1.0);
            format!("{x:.1},{:.2}", up(birds))
        };
        let joined = |points: Vec<String>| points.join(" ");
        for (first, last) in runs(&self.watched, true) {
            let days = (first as usize - 1)..(last as usize);
            let high = days.clone().map(|d| point((d, curve.interval[d].1)));
            let low = days.clone().rev().map(|d| point((d, curve.interval[d].0)));
            pen.area(&format!("M{}Z", joined(high.chain(low).collect())));
            let mean = days.map(|d| point((d, curve.mean[d])));
            pen.line(&format!("M{}", joined(mean.collect())), CURVE, 0.55);
        }
        let tick = round_below(top);
        let (y, right) = (up(tick), WIDTH - RIGHT);
        pen.line(&format!("M{LEFT},{y:.1}H{right}"), RULE, 0.2);
        pen.text(
            (LEFT - 1.0, y + 0.9),
            SMALL,
            "end",
            &tick_label(tick),
            PENCIL,
        );
    }
}

/// Where a row's parts stand, from above.
struct Frame {
    top: f64,
    base: f64,
    shares: f64,
    bottom: f64,
}

impl Frame {
    fn new(above: f64, height: f64) -> Self {
        let top = above + LABEL;
        let room = height - LABEL - BETWEEN - 0.8;
        let base = top + CURVE_PART * room;
        Frame {
            top,
            base,
            shares: base + BETWEEN,
            bottom: base + BETWEEN + (1.0 - CURVE_PART) * room,
        }
    }
}

#[derive(Default)]
struct Pen(String);

impl Pen {
    fn put(&mut self, element: std::fmt::Arguments<'_>) {
        // a String takes all that is written to it
        let _ = self.0.write_fmt(element);
        self.0.push('\n');
    }

    fn rect(&mut self, (x, y): (f64, f64), (w, h): (f64, f64), fill: &str) {
        self.put(format_args!(
            "<rect x=\"{x:.2}\" y=\"{y:.2}\" width=\"{w:.2}\" height=\"{h:.2}\" fill=\"{fill}\"/>"
        ));
    }

    fn line(&mut self, d: &str, stroke: &str, width: f64) {
        self.put(format_args!(
            "<path d=\"{d}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{width}\"/>"
        ));
    }

    fn area(&mut self, d: &str) {
        self.put(format_args!("<path d=\"{d}\" fill=\"{BAND}\"/>"));
    }

    fn text(&mut self, (x, y): (f64, f64), size: f64, anchor: &str, text: &str, fill: &str) {
        self.put(format_args!(
            "<text x=\"{x:.1}\" y=\"{y:.1}\" font-family=\"Noto Sans\" font-size=\"{size}\" \
             text-anchor=\"{anchor}\" fill=\"{fill}\">{}</text>",
            escape(text)
        ));
    }

    fn label(&mut self, row: &YearRow, y: f64) {
        self.put(format_args!(
            "<text x=\"{LEFT}\" y=\"{y:.1}\" font-family=\"Noto Sans\" font-size=\"{NAME}\" fill=\"{INK}\">\
             <tspan font-weight=\"bold\">{}</tspan> <tspan font-size=\"{SMALL}\">{}</tspan></text>",
            escape(&row.name),
            escape(&row.detail)
        ));
    }
}

/// Where the middle of a day stands.
fn across(day: f64) -> f64 {
    LEFT + (day - 0.5) / DAYS as f64 * (WIDTH - LEFT - RIGHT)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A curve of one bird on every day, half of all birds: heights of a known share.
    #[test]
    fn bars_are_as_high_as_shares() {
        let year = SetYear {
            title: "Pair".to_owned(),
            watched: vec![true; DAYS],
            weeks: vec![DayOfYear::try_from(100).unwrap()],
            rows: vec![YearRow {
                name: "A".to_owned(),
                detail: String::new(),
                curve: None,
                windows: Vec::new(),
                shares: vec![Some(0.5)],
            }],
        };
        let frame = Frame::new(0.0, 40.0 - AXIS);
        let half = (frame.bottom - frame.shares) / 2.0;
        let body = year.body(40.0);
        assert!(body.contains(&format!("height=\"{half:.2}\"")), "{body}");
        assert!(year.text().contains("A: no curve"));
    }
}

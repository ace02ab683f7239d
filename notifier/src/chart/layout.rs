//! Where things stand on the chart, in pixels of a drawing 480 wide.
//!
//! So narrow that letters stay readable where a phone shows it 340 wide.

use super::{ChartError, SetChart, raster};

/// Width of the drawing.
pub(super) const WIDTH: i32 = 480;
/// The drawing library counts in whole numbers: this many of them are one pixel.
pub(super) const UNITS: i32 = 8;

pub(super) const LEFT: i32 = 42;
pub(super) const RIGHT: i32 = 12;
pub(super) const TITLE_SIZE: f64 = 16.0;
pub(super) const LABEL_SIZE: f64 = 13.5;
pub(super) const SMALL_SIZE: f64 = 12.0;
pub(super) const LINE: i32 = 17;

const TITLE_LINE: i32 = 21;
const LABEL_ROW: i32 = 24;
const CURVE: i32 = 52;
const STRIP_GAP: i32 = 8;
const DATE_ROW: i32 = 24;
const MONTH_ROW: i32 = 26;
const EDGE: i32 = 12;

/// The chart cut into rows.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub title: Vec<String>,
    pub subtitle: Vec<String>,
    pub notes: Vec<String>,
    strips: i32,
}

impl Layout {
    pub fn new(chart: &SetChart, notes: &[String]) -> Result<Self, ChartError> {
        let title = format!("{}, {}", chart.title, chart.site);
        let mut lines = Vec::new();
        for note in notes {
            lines.extend(break_lines(note, SMALL_SIZE, false)?);
        }
        Ok(Layout {
            title: break_lines(&title, TITLE_SIZE, true)?,
            subtitle: break_lines(
                "Birds on a standard visit. Each has its own scale, up to its year's highest.",
                SMALL_SIZE,
                false,
            )?,
            notes: lines,
            strips: chart.species.len() as i32,
        })
    }

    /// Middle of a line of the title.
    pub fn title_line(&self, line: usize) -> i32 {
        EDGE + TITLE_LINE / 2 + line as i32 * TITLE_LINE
    }

    /// Middle of a line of the subtitle.
    pub fn subtitle_line(&self, line: usize) -> i32 {
        self.title_line(self.title.len()) + line as i32 * LINE
    }

    /// Top of the row that names the date.
    pub fn date_row(&self) -> i32 {
        self.subtitle_line(self.subtitle.len()) + 2
    }

    /// Top of the first strip.
    pub fn strips_top(&self) -> i32 {
        self.date_row() + DATE_ROW
    }

    /// Middle of a strip's label.
    pub fn label_middle(&self, strip: usize) -> i32 {
        self.strip_top(strip) + LABEL_ROW / 2
    }

    fn strip_top(&self, strip: usize) -> i32 {
        self.strips_top() + strip as i32 * (LABEL_ROW + CURVE + STRIP_GAP)
    }

    /// Top and bottom of a strip's curve.
    pub fn curve(&self, strip: usize) -> (i32, i32) {
        let top = self.strip_top(strip) + LABEL_ROW;
        (top, top + CURVE)
    }

    /// Bottom of the last strip, where the months are written.
    pub fn axis(&self) -> i32 {
        self.strips_top() + self.strips * (LABEL_ROW + CURVE + STRIP_GAP) - STRIP_GAP
    }

    /// Middle of a line of the notes.
    pub fn note_line(&self, line: usize) -> i32 {
        self.axis() + MONTH_ROW + LINE / 2 + line as i32 * LINE
    }

    /// Height of the drawing.
    pub fn height(&self) -> i32 {
        self.note_line(self.notes.len()) + EDGE - LINE / 2
    }

    /// Width of the plot.
    pub fn plot_width() -> i32 {
        WIDTH - LEFT - RIGHT
    }
}

/// Breaks a text into lines that fit the drawing; a single word that does not fit stands alone.
pub(super) fn break_lines(text: &str, size: f64, bold: bool) -> Result<Vec<String>, ChartError> {
    let room = f64::from(WIDTH - 2 * RIGHT);
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let longer = match lines.last() {
            Some(line) => format!("{line} {word}"),
            None => word.to_string(),
        };
        let fits = lines.is_empty() || raster::text_width(&longer, size, bold)? <= room;
        match lines.last_mut() {
            Some(line) if fits => *line = longer,
            _ => lines.push(word.to_string()),
        }
    }
    Ok(lines)
}

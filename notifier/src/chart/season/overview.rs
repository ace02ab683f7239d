//! All passages of a season at a glance: a row each, the earliest at the top, so that the marks
//! slant from early to late. A mark's shape tells weak from strong, its filling what is out of
//! the ordinary; colour only helps.

use super::super::layout::{LINE, RIGHT, SMALL_SIZE, TITLE_SIZE, UNITS, WIDTH, break_lines};
use super::super::sheet::{
    EDGE, Lettering, SMALL, Sheet, TITLE, at, disc, on_sheet, path, refused,
};
use super::super::style::{INK, PAPER, PENCIL, RULE};
use super::super::{ChartError, Picture, raster, svg};
use crate::season::words::{days, times};
use crate::words;
use plotters::prelude::*;
use plotters::style::text_anchor::HPos;

/// Rows drawn at the most: the oddest are kept.
const MOST: usize = 40;
const ROW: f64 = 21.0;
/// Where the days begin and end, pixels: names stand before them, multiples behind.
const DAYS: (f64, f64) = (206.0, 412.0);
/// From the title to the first row.
const HEAD: f64 = 38.0;
/// The legend's two lines and the ticks.
const FOOT: f64 = 62.0;
const MARK: f64 = 5.0;

/// Our own two: early in sea, late in rust, as dark as each other.
const EARLY: RGBColor = RGBColor(0x0f, 0x5f, 0x73);
const LATE: RGBColor = RGBColor(0xa8, 0x45, 0x1c);

/// One passage.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonRow {
    /// Name shown.
    pub name: String,
    /// Days late: the middle and both ends of the 80 % interval.
    pub days_late: [f64; 3],
    /// Times the usual numbers, likewise.
    pub times: [f64; 3],
    /// Chance that a usual season looks as far off.
    pub odd: f64,
    /// Is that out of the ordinary?
    pub is_odd: bool,
}

/// The whole chart.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonChart {
    title: String,
    rows: Vec<SeasonRow>,
    left_out: usize,
    untold: Vec<String>,
}

/// The sign of a season's numbers.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Numbers {
    Weak,
    Usual,
    Strong,
}

impl SeasonRow {
    fn numbers(&self) -> Numbers {
        match self.times {
            [_, low, _] if low > 1.0 => Numbers::Strong,
            [_, _, high] if high < 1.0 => Numbers::Weak,
            _ => Numbers::Usual,
        }
    }

    fn colour(&self) -> RGBColor {
        match self.days_late {
            [_, _, high] if high < 0.0 => EARLY,
            [_, low, _] if low > 0.0 => LATE,
            _ => INK,
        }
    }

    fn words(&self) -> String {
        let odd = if self.is_odd {
            ", out of the ordinary"
        } else {
            ""
        };
        format!(
            "{} {}, {} times the usual numbers{odd}",
            self.name,
            days(self.days_late[0]),
            times(self.times[0])
        )
    }
}

impl SeasonChart {
    /// Of the passages told of; `untold` names those that are not.
    ///
    /// # Errors
    /// No passage, or numbers that are none.
    pub fn new(
        title: impl Into<String>,
        mut rows: Vec<SeasonRow>,
        untold: Vec<String>,
    ) -> Result<Self, ChartError> {
        if rows.is_empty() {
            return Err(ChartError::NoSpecies);
        }
        for row in &rows {
            let numbers = row.days_late.iter().chain(&row.times);
            if let Some(value) = numbers.copied().find(|v| !v.is_finite()) {
                let place = row.name.clone();
                return Err(ChartError::NoNumber { place, value });
            }
        }
        rows.sort_by(|a, b| a.odd.total_cmp(&b.odd));
        let left_out = rows.len().saturating_sub(MOST);
        rows.truncate(MOST);
        rows.sort_by(|a, b| a.days_late[0].total_cmp(&b.days_late[0]));
        Ok(SeasonChart {
            title: title.into(),
            rows,
            left_out,
            untold,
        })
    }

    /// What the chart shows, for those who do not see it.
    pub fn alt_text(&self) -> String {
        let rows: Vec<String> = self.rows.iter().map(SeasonRow::words).collect();
        words::plain_spaces(&format!(
            "{}: days early or late and times the usual numbers, from the earliest passage to the \
             latest. {}.",
            self.title,
            rows.join("; ")
        ))
    }

    /// As SVG with title and description.
    ///
    /// # Errors
    /// [`ChartError::Draw`] where the drawing library refuses.
    pub fn svg(&self) -> Result<String, ChartError> {
        self.svg_as("chart")
    }

    /// The same, the ids within it beginning with `id`, for a page of several charts.
    ///
    /// # Errors
    /// As [`SeasonChart::svg`].
    pub fn svg_as(&self, id: &str) -> Result<String, ChartError> {
        let title = break_lines(&self.title, TITLE_SIZE, true)?;
        let notes = self.notes()?;
        let line = f64::from(LINE);
        let top = EDGE + 21.0 * title.len() as f64 + HEAD;
        let bottom = top + ROW * self.rows.len() as f64;
        let height = bottom + FOOT + line * notes.len() as f64 + EDGE;
        let scale = Scale::of(&self.rows);
        let (drawn, size) = on_sheet(height, |sheet| {
            TITLE.lines(sheet, &title, EDGE + 10.0)?;
            scale.head(sheet, top)?;
            scale.ticks(sheet, (top, bottom))?;
            for (i, row) in self.rows.iter().enumerate() {
                scale.row(sheet, row, top + ROW * (i as f64 + 0.5))?;
            }
            legend(sheet, bottom + 42.0)?;
            SMALL.lines(sheet, &notes, bottom + FOOT + line / 2.0)
        })?;
        let text = self.alt_text();
        Ok(svg::finish(
            &drawn,
            id,
            size,
            UNITS as u32,
            (&self.title, &text),
        ))
    }

    fn notes(&self) -> Result<Vec<String>, ChartError> {
        let mut notes = vec!["Bars: 80 % intervals. A plain number: as usual.".to_owned()];
        if self.left_out > 0 {
            notes.push(format!(
                "{} passages nearer to the usual are left out.",
                self.left_out
            ));
        }
        if !self.untold.is_empty() {
            let untold = words::list(&self.untold);
            notes.push(format!("Too little seen to tell: {untold}."));
        }
        let mut all = Vec::new();
        for note in notes {
            all.extend(break_lines(&note, SMALL_SIZE, false)?);
        }
        Ok(all)
    }

    /// As PNG, `width` pixels wide.
    ///
    /// # Errors
    /// As [`SeasonChart::svg`], and [`ChartError::Raster`].
    pub fn png(&self, width: u32) -> Result<Picture, ChartError> {
        raster::png(&self.svg()?, width)
    }
}

/// Days either way that the chart reaches.
struct Scale(f64);

impl Scale {
    /// As far as the farthest bar, in fives; ten at the least.
    fn of(rows: &[SeasonRow]) -> Self {
        let ends = rows.iter().flat_map(|r| r.days_late).map(f64::abs);
        let farthest = ends.fold(10.0, f64::max);
        Scale((farthest / 5.0).ceil() * 5.0)
    }

    fn across(&self, days: f64) -> f64 {
        let middle = 0.5 * (DAYS.0 + DAYS.1);
        middle + days / self.0 * 0.5 * (DAYS.1 - DAYS.0)
    }

    fn head(&self, sheet: &Sheet, top: f64) -> Result<(), ChartError> {
        let y = top - 14.0;
        let (left, right) = (DAYS.0, DAYS.1);
        for (x, across, colour, text) in [
            (left, HPos::Left, EARLY, "early"),
            (self.across(0.0), HPos::Center, INK, "on time"),
            (right, HPos::Right, LATE, "late"),
            (f64::from(WIDTH - RIGHT), HPos::Right, PENCIL, "× usual"),
        ] {
            let look = Lettering {
                colour,
                across,
                bold: true,
                ..SMALL
            };
            look.write(sheet, text, x, y)?;
        }
        Ok(())
    }

    fn ticks(&self, sheet: &Sheet, (top, bottom): (f64, f64)) -> Result<(), ChartError> {
        let step = if self.0 > 15.0 { 10.0 } else { 5.0 };
        let number = Lettering {
            across: HPos::Center,
            ..SMALL
        };
        let steps = (self.0 / step).floor() as i32;
        for i in -steps..=steps {
            let days = f64::from(i) * step;
            let (colour, width) = if i == 0 { (PENCIL, 1.6) } else { (RULE, 0.8) };
            let x = self.across(days);
            path(sheet, &[(x, top), (x, bottom + 4.0)], colour, width)?;
            let text = match i {
                0 => "0".to_owned(),
                i if i < 0 => format!("{}", -days),
                _ => format!("{days}"),
            };
            number.write(sheet, &text, x, bottom + 13.0)?;
        }
        Lettering {
            across: HPos::Right,
            ..SMALL
        }
        .write(sheet, "days", f64::from(WIDTH - RIGHT), bottom + 13.0)
    }

    fn row(&self, sheet: &Sheet, row: &SeasonRow, y: f64) -> Result<(), ChartError> {
        let [middle, low, high] = row.days_late;
        let width = if row.is_odd { 3.0 } else { 1.6 };
        let bar = [(self.across(low), y), (self.across(high), y)];
        path(sheet, &bar, row.colour(), width)?;
        sign(
            sheet,
            (self.across(middle), y),
            row.numbers(),
            row.is_odd,
            row.colour(),
        )?;
        let name = Lettering {
            bold: row.is_odd,
            colour: INK,
            across: HPos::Left,
            size: SMALL_SIZE,
        };
        let room = DAYS.0 - f64::from(RIGHT) - 6.0;
        name.write(
            sheet,
            &fitted(&row.name, room, row.is_odd)?,
            f64::from(RIGHT),
            y,
        )?;
        let plain = row.numbers() == Numbers::Usual;
        Lettering {
            bold: !plain,
            colour: if plain { PENCIL } else { INK },
            across: HPos::Right,
            size: SMALL_SIZE,
        }
        .write(
            sheet,
            &format!("{} ×", times(row.times[0])),
            f64::from(WIDTH - RIGHT),
            y,
        )
    }
}

/// A name cut at its end where it is too long for its column.
fn fitted(name: &str, room: f64, bold: bool) -> Result<String, ChartError> {
    let mut text = name.to_owned();
    while raster::text_width(&text, SMALL_SIZE, bold)? > room && text.chars().count() > 4 {
        let kept = text.chars().count() - 2;
        text = text
            .chars()
            .take(kept)
            .collect::<String>()
            .trim_end()
            .to_owned()
            + "…";
    }
    Ok(text)
}

/// A triangle up for strong, down for weak, a disc for usual numbers; filled where it is odd.
fn sign(
    sheet: &Sheet,
    (x, y): (f64, f64),
    numbers: Numbers,
    filled: bool,
    colour: RGBColor,
) -> Result<(), ChartError> {
    let shape = |r: f64, up: f64| -> Vec<(i32, i32)> {
        let tip = (x, y - up * 1.25 * r);
        let foot = y + up * 0.95 * r;
        [tip, (x + 1.2 * r, foot), (x - 1.2 * r, foot)]
            .map(|(x, y)| at(x, y))
            .to_vec()
    };
    let layers = [
        (MARK + 1.4, PAPER),
        (MARK, colour),
        (if filled { 0.0 } else { MARK - 2.2 }, PAPER),
    ];
    for (r, ink) in layers.into_iter().filter(|(r, _)| *r > 0.0) {
        match numbers {
            Numbers::Usual => disc(sheet, (x, y), r, ink)?,
            Numbers::Strong | Numbers::Weak => {
                let up = if numbers == Numbers::Strong {
                    1.0
                } else {
                    -1.0
                };
                sheet
                    .draw(&Polygon::new(shape(r, up), ink.filled()))
                    .map_err(refused)?;
            }
        }
    }
    Ok(())
}

fn legend(sheet: &Sheet, y: f64) -> Result<(), ChartError> {
    let words = Lettering {
        colour: INK,
        ..SMALL
    };
    let signs = [
        (Numbers::Strong, false, "strong"),
        (Numbers::Usual, false, "usual numbers"),
        (Numbers::Weak, false, "weak"),
        (Numbers::Usual, true, "filled: out of the ordinary"),
    ];
    let mut left = f64::from(RIGHT) + MARK;
    for (numbers, filled, text) in signs {
        sign(sheet, (left, y), numbers, filled, INK)?;
        words.write(sheet, text, left + 11.0, y)?;
        left += 34.0 + raster::text_width(text, SMALL_SIZE, false)?;
    }
    Ok(())
}

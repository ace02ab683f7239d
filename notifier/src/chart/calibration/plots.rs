//! One site's two plots.

use super::super::ChartError;
use super::super::layout::{LEFT, RIGHT, WIDTH};
use super::super::sheet::{LABEL, Lettering, SMALL, Sheet, at, path};
use super::super::strip::{marker, stroke};
use super::super::style::{INK, LineStyle, PENCIL, RULE};
use super::{Calibrated, FEWEST_WEEKS, HEADING, SIDE};
use plotters::style::RGBColor;
use plotters::style::text_anchor::HPos;

/// Draws them below the site's name.
pub(super) fn draw(sheet: &Sheet, site: &Calibrated, top: f64) -> Result<(), ChartError> {
    LABEL.write(sheet, &site.site, f64::from(RIGHT), top + 12.0)?;
    let (left, right) = (f64::from(LEFT), f64::from(WIDTH - RIGHT) - SIDE);
    let titles = Lettering {
        colour: INK,
        ..SMALL
    };
    titles.write(
        sheet,
        "Weeks found, %, by chance given, %",
        left - 30.0,
        top + 34.0,
    )?;
    titles.write(sheet, "Counts, % in each tenth", right - 30.0, top + 34.0)?;
    reliability(
        sheet,
        site,
        Plot {
            left,
            top: top + HEADING,
            highest: 1.0,
        },
    )?;
    let highest = site
        .lines
        .iter()
        .flat_map(|l| &l.pit)
        .copied()
        .fold(0.15, f64::max)
        * 1.05;
    pit(
        sheet,
        site,
        Plot {
            left: right,
            top: top + HEADING,
            highest,
        },
    )
}

/// A square whose width stands for 0 to 1.
#[derive(Clone, Copy)]
struct Plot {
    left: f64,
    top: f64,
    /// What its height stands for.
    highest: f64,
}

impl Plot {
    fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (
            self.left + x * SIDE,
            self.top + SIDE - y / self.highest * SIDE,
        )
    }

    fn line(&self, points: &[(f64, f64)]) -> Vec<(i32, i32)> {
        let place = |p: &(f64, f64)| {
            let (x, y) = self.place(*p);
            at(x, y)
        };
        points.iter().map(place).collect()
    }

    fn thin(
        &self,
        sheet: &Sheet,
        points: &[(f64, f64)],
        colour: RGBColor,
    ) -> Result<(), ChartError> {
        let places: Vec<(f64, f64)> = points.iter().map(|p| self.place(*p)).collect();
        path(sheet, &places, colour, 0.8)
    }

    fn height_tick(&self, sheet: &Sheet, value: f64) -> Result<(), ChartError> {
        self.thin(sheet, &[(0.0, value), (1.0, value)], RULE)?;
        let (x, y) = self.place((0.0, value));
        let text = format!("{:.0}", 100.0 * value);
        Lettering {
            across: HPos::Right,
            ..SMALL
        }
        .write(sheet, &text, x - 5.0, y)
    }

    fn foot(&self, sheet: &Sheet, at: f64, text: &str) -> Result<(), ChartError> {
        let (x, y) = self.place((at, 0.0));
        Lettering {
            across: HPos::Center,
            ..SMALL
        }
        .write(sheet, text, x, y + 12.0)
    }

    fn frame(&self, sheet: &Sheet) -> Result<(), ChartError> {
        self.thin(
            sheet,
            &[(0.0, self.highest), (0.0, 0.0), (1.0, 0.0)],
            PENCIL,
        )
    }
}

fn reliability(sheet: &Sheet, site: &Calibrated, plot: Plot) -> Result<(), ChartError> {
    for tick in [0.0, 0.5, 1.0] {
        plot.height_tick(sheet, tick)?;
        plot.thin(sheet, &[(tick, 0.0), (tick, 1.0)], RULE)?;
        plot.foot(sheet, tick, &format!("{:.0}", 100.0 * tick))?;
    }
    plot.frame(sheet)?;
    plot.thin(sheet, &[(0.0, 0.0), (1.0, 1.0)], PENCIL)?;
    // ours last, on top
    for (i, line) in site.lines.iter().enumerate().rev() {
        let enough = line.reliability.iter().filter(|p| p.2 >= FEWEST_WEEKS);
        let points: Vec<(f64, f64)> = enough.map(|p| (p.0, p.1)).collect();
        if points.len() > 1 {
            stroke(sheet, plot.line(&points), LineStyle::of(i))?;
        }
        for point in points {
            marker(sheet, plot.place(point), LineStyle::of(i))?;
        }
    }
    Ok(())
}

fn pit(sheet: &Sheet, site: &Calibrated, plot: Plot) -> Result<(), ChartError> {
    for tick in [0.0, 0.1, 0.2].into_iter().filter(|t| *t <= plot.highest) {
        plot.height_tick(sheet, tick)?;
    }
    plot.foot(sheet, 0.05, "low")?;
    plot.foot(sheet, 0.95, "high")?;
    plot.frame(sheet)?;
    plot.thin(sheet, &[(0.0, 0.1), (1.0, 0.1)], PENCIL)?;
    for (i, line) in site.lines.iter().enumerate().rev() {
        let bins = line.pit.len() as f64;
        let steps: Vec<(f64, f64)> = line
            .pit
            .iter()
            .enumerate()
            .flat_map(|(bin, mass)| [(bin as f64 / bins, *mass), ((bin + 1) as f64 / bins, *mass)])
            .collect();
        stroke(sheet, plot.line(&steps), LineStyle::of(i))?;
        // in the middle of the outer bins, where forecasts go wrong first
        for bin in [0, line.pit.len().saturating_sub(1)] {
            let Some(mass) = line.pit.get(bin) else {
                continue;
            };
            let beside = (i as f64 - 1.0) * 0.03;
            marker(
                sheet,
                plot.place(((bin as f64 + 0.5) / bins + beside, *mass)),
                LineStyle::of(i),
            )?;
        }
    }
    Ok(())
}

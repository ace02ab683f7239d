//! The summary's chart, written as PNG or SVG.

use super::BacktestError;
use super::summary::{Calibration, SiteSummary, Summary};
use crate::chart::{Calibrated, CalibrationChart, ChartError, Line, picture};
use std::path::{Path, PathBuf};

/// Width of the PNG, pixels.
const WIDTH: u32 = 1440;

/// What kind of picture a file's name asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Png,
    Svg,
}

/// A file for a chart, its name checked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChartFile {
    path: PathBuf,
    kind: Kind,
}

impl ChartFile {
    /// A name that ends in .png or .svg.
    ///
    /// # Errors
    /// [`BacktestError::ChartName`] for any other.
    pub fn new(path: &Path) -> Result<Self, BacktestError> {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        let kind = match ending.as_deref() {
            Some("png") => Kind::Png,
            Some("svg") => Kind::Svg,
            _ => return Err(BacktestError::ChartName(path.to_owned())),
        };
        Ok(ChartFile {
            path: path.to_owned(),
            kind,
        })
    }

    /// Draws the chart and puts the whole file in its place; gives what it shows in words.
    ///
    /// # Errors
    /// Nothing to draw, or a file that can't be written.
    pub fn write(&self, summary: &Summary) -> Result<String, BacktestError> {
        let chart = chart(summary)?;
        self.put(chart.svg()?)?;
        Ok(chart.alt_text())
    }

    /// Puts a chart's SVG, or the PNG of it, in its place.
    ///
    /// # Errors
    /// A file that can't be written.
    pub fn put(&self, svg: String) -> Result<(), BacktestError> {
        let bytes = match self.kind {
            Kind::Png => picture(&svg, WIDTH)?.png,
            Kind::Svg => svg.into_bytes(),
        };
        crate::whole_file::write(&self.path, &bytes).map_err(|source| BacktestError::WriteChart {
            path: self.path.clone(),
            source,
        })
    }
}

fn chart(summary: &Summary) -> Result<CalibrationChart, ChartError> {
    let sites = summary.sites.iter().filter_map(calibrated).collect();
    CalibrationChart::new(summary.years(), sites)
}

/// None where nothing of the site could be scored.
fn calibrated(site: &SiteSummary) -> Option<Calibrated> {
    let (r, p) = (site.reliability.as_ref()?, site.pit.as_ref()?);
    let lines = [
        (&r.ours, p.ours),
        (&r.hand, p.hand),
        (&r.last_five, p.last_five),
    ];
    Some(Calibrated {
        site: site.name.clone(),
        lines: lines.map(|(r, p)| line(r, &p)),
    })
}

fn line(calibration: &Calibration, pit: &[f64]) -> Line {
    let point = |b: &super::Bin| Some((b.mean_chance?, b.found as f64 / b.weeks as f64, b.weeks));
    Line {
        reliability: calibration.bins.iter().filter_map(point).collect(),
        calibration_error: calibration.calibration_error,
        pit: pit.to_vec(),
    }
}

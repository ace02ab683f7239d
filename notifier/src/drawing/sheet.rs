//! The sheet: members one below the other, with title and description.

use super::Row;
use super::outline::{Stroke, extent};
use crate::chart::escape;
use crate::words;
use std::fmt::Write;

/// Pixels across.
const WIDTH: f64 = 360.0;
const MARGIN: f64 = 16.0;
/// Pixels across that a drawing may take.
pub const ROOM: f64 = WIDTH - 2.0 * MARGIN;
const TITLE: f64 = 18.0;
const NAME: f64 = 16.0;
const SPECIES: f64 = 13.0;
const GAP: f64 = 14.0;

/// The drawing as SVG.
pub fn svg(set: &str, part: &str, rows: &[Row<'_>]) -> String {
    let mut body = String::new();
    let mut y = MARGIN + TITLE;
    text(&mut body, y, TITLE, "bold", &words::sentence(part));
    y += GAP;
    for row in rows {
        y += NAME;
        text(&mut body, y, NAME, "bold", row.name);
        if row.name != row.species {
            y += SPECIES + 4.0;
            text(&mut body, y, SPECIES, "normal", row.species);
        }
        y += GAP / 2.0;
        y = strokes(&mut body, y, &row.strokes) + GAP;
    }
    let told: Vec<String> = rows
        .iter()
        .map(|r| format!("{}: {}.", r.name, r.words))
        .collect();
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{y:.0}\" \
         viewBox=\"0 0 {WIDTH} {y:.0}\" role=\"img\" aria-labelledby=\"drawing-title drawing-text\">\n\
         <title id=\"drawing-title\">{}</title>\n<desc id=\"drawing-text\">{}</desc>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{body}</svg>\n",
        escape(&format!("{set}: {part}")),
        escape(&format!(
            "Drawn from proportions, at one scale. {}",
            told.join(" ")
        )),
    )
}

fn text(body: &mut String, y: f64, size: f64, weight: &str, words: &str) {
    // a String takes whatever is written
    let _ = writeln!(
        body,
        "<text x=\"{MARGIN}\" y=\"{y:.1}\" font-family=\"Noto Sans, sans-serif\" \
         font-size=\"{size}\" font-weight=\"{weight}\" fill=\"#000\">{}</text>",
        escape(words)
    );
}

/// Draws with the top at `y` and the left at the margin; gives the bottom.
fn strokes(body: &mut String, y: f64, strokes: &[Stroke]) -> f64 {
    let (left, _) = extent(strokes, |p| p.0);
    let (top, bottom) = extent(strokes, |p| p.1);
    for stroke in strokes {
        let points = stroke.points.iter();
        let at = points.map(|(px, py)| format!("{:.1},{:.1}", MARGIN + px - left, y + py - top));
        let (shape, fill) = match stroke.closed {
            true => ("polygon", "#fff"),
            false => ("polyline", "none"),
        };
        let line = if stroke.thin { 1.0 } else { 2.0 };
        let _ = writeln!(
            body,
            "<{shape} points=\"{}\" fill=\"{fill}\" stroke=\"#000\" stroke-width=\"{line}\" \
             stroke-linejoin=\"round\" stroke-linecap=\"round\"/>",
            at.collect::<Vec<_>>().join(" ")
        );
    }
    y + bottom - top
}

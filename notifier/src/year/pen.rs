//! What the sheet is drawn with: words, shapes and lines as SVG.

use crate::chart::{FAMILY, escape};
use std::fmt::Write;

// The charts' own inks, so that pages turn them into those of the dark.
pub(super) const PAPER: &str = "#FDFAF2";
pub(super) const INK: &str = "#222B2A";
pub(super) const PENCIL: &str = "#5B6460";
pub(super) const RULE: &str = "#DDD5C3";
const FAINT: &str = "#ECE6D8";
const HATCH: &str = "#BFB6A3";
pub(super) const SEA: &str = "#0F5F73";
pub(super) const RUST: &str = "#A8451C";
pub(super) const MOSS: &str = "#5F6A14";
pub(super) const SLATE: &str = "#33405E";

/// Where words stand against their point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Begin,
    Middle,
    End,
}

/// How words are written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hand {
    size: f64,
    bold: bool,
    colour: &'static str,
    side: Side,
}

impl Hand {
    pub(super) fn plain(size: f64, colour: &'static str) -> Self {
        Hand {
            size,
            bold: false,
            colour,
            side: Side::Begin,
        }
    }

    pub(super) fn bold(self) -> Self {
        Hand { bold: true, ..self }
    }

    pub(super) fn at(self, side: Side) -> Self {
        Hand { side, ..self }
    }
}

/// What a document of SVG says of itself.
pub(super) struct Label<'a> {
    /// How the ids in it begin.
    pub(super) id: &'a str,
    pub(super) title: &'a str,
    /// For those who do not see it.
    pub(super) text: &'a str,
}

/// A drawing under way.
#[derive(Debug, Default)]
pub(super) struct Pen(String);

/// To a hundredth: finer is seen by nobody, and files stay small.
fn short(x: f64) -> f64 {
    (x * 100.0).round() / 100.0
}

/// "M x,y x,y ...": a path along points.
pub(super) fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let points = points.map(|(x, y)| format!("{},{}", short(x), short(y)));
    format!("M{}", points.collect::<Vec<_>>().join(" "))
}

impl Pen {
    fn put(&mut self, element: std::fmt::Arguments) {
        // a String takes all that is written to it
        let _ = self.0.write_fmt(element);
        self.0.push('\n');
    }

    pub(super) fn words(&mut self, at: (f64, f64), hand: Hand, text: &str) {
        self.spans(at, hand, &escape(text));
    }

    /// Words that are SVG already.
    pub(super) fn spans(&mut self, (x, y): (f64, f64), hand: Hand, spans: &str) {
        let anchor = match hand.side {
            Side::Begin => "",
            Side::Middle => " text-anchor=\"middle\"",
            Side::End => " text-anchor=\"end\"",
        };
        let weight = if hand.bold {
            " font-weight=\"bold\""
        } else {
            ""
        };
        let (x, y, size) = (short(x), short(y), (hand.size * 1e4).round() / 1e4);
        self.put(format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" fill=\"{}\"{anchor}{weight}>{spans}</text>",
            hand.colour
        ));
    }

    pub(super) fn stroke(&mut self, path: &str, colour: &str, width: f64) {
        let width = short(width);
        self.put(format_args!(
            "<path d=\"{path}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linejoin=\"round\"/>"
        ));
    }

    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64), colour: &str, width: f64) {
        self.stroke(&path([from, to].into_iter()), colour, width);
    }

    pub(super) fn area(&mut self, path: &str, colour: &str, opacity: f64) {
        self.put(format_args!(
            "<path d=\"{path}Z\" fill=\"{colour}\" fill-opacity=\"{opacity}\"/>"
        ));
    }

    /// A rectangle by its corner and size.
    pub(super) fn block(&mut self, (x, y): (f64, f64), (width, height): (f64, f64), fill: &str) {
        let (x, y, width, height) = (short(x), short(y), short(width), short(height));
        self.put(format_args!(
            "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{fill}\"/>"
        ));
    }

    /// A rectangle that is shaded and hatched, `between` from one line to the next.
    pub(super) fn hatched(
        &mut self,
        (x, y): (f64, f64),
        (width, height): (f64, f64),
        between: f64,
    ) {
        self.block((x, y), (width, height), FAINT);
        let mut lines = String::new();
        let mut step = between;
        while step < width + height {
            // from the left or lower edge up to the top or right one, at 45 degrees
            let from = (x + (step - height).max(0.0), y + step.min(height));
            let to = (x + step.min(width), y + (step - width).max(0.0));
            lines.push_str(&path([from, to].into_iter()));
            step += between;
        }
        if !lines.is_empty() {
            self.stroke(&lines, HATCH, between * 0.09);
        }
    }

    pub(super) fn disc(&mut self, (x, y): (f64, f64), radius: f64, colour: &str) {
        let (x, y, radius, rim) = (short(x), short(y), short(radius), short(radius * 0.4));
        self.put(format_args!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" fill=\"{colour}\" stroke=\"{PAPER}\" stroke-width=\"{rim}\"/>"
        ));
    }

    /// The drawing as SVG, its size as written and in its own units.
    pub(super) fn svg(self, written: (&str, &str), size: (f64, f64), label: &Label) -> String {
        let ((width, height), id) = (written, label.id);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {} {}\" font-family=\"{FAMILY}, sans-serif\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-text\">\n<title id=\"{id}-title\">{}</title>\n\
             <desc id=\"{id}-text\">{}</desc>\n{}</svg>\n",
            short(size.0),
            short(size.1),
            escape(label.title),
            escape(label.text),
            self.0
        )
    }
}

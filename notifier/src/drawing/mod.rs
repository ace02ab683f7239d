//! Line drawings of a set's members from their proportions: bill, tail, wing, legs, claw.
//!
//! Black on white, one member above the other at one scale, 360 pixels wide, which is the
//! narrowest telephone in use. Nothing is drawn by hand, so that a drawing says no more than the
//! proportions do.

mod outline;
mod parts;
mod sheet;

use crate::lesson::Lesson;
use config::look_alikes::Proportions;
use outline::Stroke;
use parts::PARTS;

/// A drawing of one part of the members' bodies.
pub struct Drawing {
    /// Name of its file, e.g. `dark-icterids-bill.svg`.
    pub file: String,
    /// The picture, with title and description.
    pub svg: String,
}

/// A part that can be drawn.
struct Part {
    /// In file names.
    id: &'static str,
    /// In titles.
    title: &'static str,
    /// Outline of a member, `unit` pixels to the length that its ratios are taken of; None where
    /// the member does not state them.
    draw: fn(&Proportions, unit: f64) -> Option<Vec<Stroke>>,
    /// The proportions in words.
    words: fn(&Proportions) -> String,
}

/// One member in a drawing.
struct Row<'a> {
    name: &'a str,
    species: &'a str,
    strokes: Vec<Stroke>,
    words: String,
}

/// The drawings of a set, each of a part that two members or more which are about state.
pub fn of(lesson: &Lesson<'_>) -> Vec<Drawing> {
    let about = lesson.about();
    let stated: Vec<(&str, &Proportions)> = about
        .iter()
        .filter_map(|(m, _)| Some((m.species.as_str(), m.proportions.as_ref()?)))
        .collect();
    let drawing = |part: &Part| {
        let rows = rows(lesson, part, &stated);
        (rows.len() >= 2).then(|| Drawing {
            file: format!("{}-{}.svg", lesson.set.id, part.id),
            svg: sheet::svg(&lesson.set.title, part.title, &rows),
        })
    };
    PARTS.iter().filter_map(drawing).collect()
}

/// The members at one scale, the largest at which the longest fits.
fn rows<'a>(
    lesson: &'a Lesson<'_>,
    part: &Part,
    stated: &[(&'a str, &Proportions)],
) -> Vec<Row<'a>> {
    const LARGEST: f64 = 70.0;
    let at = |unit: f64| {
        let drawn = stated.iter().filter_map(|(_, p)| (part.draw)(p, unit));
        drawn.map(|s| outline::width(&s)).fold(0.0, f64::max)
    };
    let unit = LARGEST * (sheet::ROOM / at(LARGEST)).min(1.0);
    let row = |(species, p): &(&'a str, &Proportions)| {
        Some(Row {
            name: lesson.name(species),
            species,
            strokes: (part.draw)(p, unit)?,
            words: (part.words)(p),
        })
    };
    stated.iter().filter_map(row).collect()
}

#[cfg(test)]
mod tests;

//! How each species' line looks: told apart by dash and marker alone, colour only helps.

use plotters::style::RGBColor;

pub(super) const PAPER: RGBColor = RGBColor(0xfd, 0xfa, 0xf2);
pub(super) const INK: RGBColor = RGBColor(0x22, 0x2b, 0x2a);
pub(super) const PENCIL: RGBColor = RGBColor(0x5b, 0x64, 0x60);
pub(super) const RULE: RGBColor = RGBColor(0xdd, 0xd5, 0xc3);
pub(super) const UNWATCHED: RGBColor = RGBColor(0xec, 0xe6, 0xd8);
pub(super) const HATCH: RGBColor = RGBColor(0xbf, 0xb6, 0xa3);

/// How a line is broken, lengths in pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Dash {
    Solid,
    /// A stroke and a gap.
    Broken(u32, u32),
}

/// The sign at a species' value on the date, and in its label.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Marker {
    Disc,
    Square,
    Triangle,
    Ring,
    Diamond,
}

/// One species' look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LineStyle {
    pub colour: RGBColor,
    pub dash: Dash,
    pub marker: Marker,
}

const DASHES: [Dash; 4] = [
    Dash::Solid,
    Dash::Broken(10, 4),
    Dash::Broken(2, 3),
    Dash::Broken(5, 3),
];

const MARKERS: [Marker; 5] = [
    Marker::Disc,
    Marker::Square,
    Marker::Triangle,
    Marker::Ring,
    Marker::Diamond,
];

/// Our own five inks, dark enough for 4.5 : 1 on the paper (WCAG 2.2, 1.4.3) and apart in hue
/// and lightness: sea, rust, plum, moss, slate.
const INKS: [RGBColor; 5] = [
    RGBColor(0x0f, 0x5f, 0x73),
    RGBColor(0xa8, 0x45, 0x1c),
    RGBColor(0x6a, 0x2f, 0x68),
    RGBColor(0x5f, 0x6a, 0x14),
    RGBColor(0x33, 0x40, 0x5e),
];

impl LineStyle {
    /// The look of the species in that place of the set; dash and marker together do not come
    /// again before the 21st.
    pub fn of(place: usize) -> Self {
        LineStyle {
            colour: INKS[place % INKS.len()],
            dash: DASHES[place % DASHES.len()],
            marker: MARKERS[place % MARKERS.len()],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn twenty_species_are_told_apart_without_colour() {
        let looks: HashSet<_> = (0..20)
            .map(LineStyle::of)
            .map(|s| (s.dash, s.marker))
            .collect();
        assert_eq!(looks.len(), 20);
    }

    /// Relative luminance and contrast ratio as WCAG 2.2 defines them.
    #[test]
    fn inks_stand_out_from_the_paper() {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        let luminance =
            |c: RGBColor| 0.2126 * linear(c.0) + 0.7152 * linear(c.1) + 0.0722 * linear(c.2);
        for ink in INKS.into_iter().chain([INK, PENCIL]) {
            let contrast = (luminance(PAPER) + 0.05) / (luminance(ink) + 0.05);
            assert!(contrast >= 4.5, "{ink:?} has {contrast}");
        }
    }
}

//! Sizes of paper.

/// An inch, by which dots and points are counted.
pub(super) const MM_PER_INCH: f64 = 25.4;
/// Points in an inch, as PDF counts them (ISO 32000-1, 8.3.2.3).
const POINTS_PER_INCH: f64 = 72.0;

/// A size of paper in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// Across.
    pub width_mm: f64,
    /// Down.
    pub height_mm: f64,
}

impl Paper {
    /// ISO 216, upright.
    pub const A4: Paper = Paper::upright(210.0, 297.0);
    /// ISO 216, upright.
    pub const A3: Paper = Paper::upright(297.0, 420.0);
    /// ISO 216, upright.
    pub const A2: Paper = Paper::upright(420.0, 594.0);

    const fn upright(width_mm: f64, height_mm: f64) -> Self {
        Paper {
            width_mm,
            height_mm,
        }
    }

    /// The same turned by a quarter.
    #[must_use]
    pub const fn turned(self) -> Self {
        Paper::upright(self.height_mm, self.width_mm)
    }

    /// Across and down in points of PDF.
    pub fn points(self) -> (f64, f64) {
        let points = |mm: f64| mm / MM_PER_INCH * POINTS_PER_INCH;
        (points(self.width_mm), points(self.height_mm))
    }
}

//! Lines of a drawing and the room that they take.

/// A point, pixels; y downwards.
pub type Point = (f64, f64);

/// A line through points.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Its points, two or more.
    pub points: Vec<Point>,
    /// Closed to an outline that hides what was drawn before it.
    pub closed: bool,
    /// Thinner, for what lies within an outline.
    pub thin: bool,
}

impl Stroke {
    /// An outline.
    pub fn closed(points: Vec<Point>) -> Self {
        Stroke {
            points,
            closed: true,
            thin: false,
        }
    }

    /// A line.
    pub fn open(points: Vec<Point>) -> Self {
        Stroke {
            points,
            closed: false,
            thin: false,
        }
    }

    /// A line within an outline.
    pub fn thin(points: Vec<Point>) -> Self {
        Stroke {
            thin: true,
            ..Stroke::open(points)
        }
    }
}

/// An ellipse about a point, as an outline.
pub fn ellipse((x, y): Point, (across, down): Point) -> Stroke {
    const STEPS: u32 = 48;
    let angle = |i: u32| f64::from(i) / f64::from(STEPS) * std::f64::consts::TAU;
    let at = |a: f64| (x + across * a.cos(), y + down * a.sin());
    Stroke::closed((0..STEPS).map(angle).map(at).collect())
}

/// Points of a function at even steps from 0 to 1, both ends with it.
pub fn along(at: impl Fn(f64) -> Point) -> Vec<Point> {
    const STEPS: u32 = 24;
    (0..=STEPS)
        .map(|i| at(f64::from(i) / f64::from(STEPS)))
        .collect()
}

/// Least and greatest of what a function picks from the points.
pub fn extent(strokes: &[Stroke], pick: fn(&Point) -> f64) -> (f64, f64) {
    let all = strokes.iter().flat_map(|s| &s.points).map(pick);
    all.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| {
        (lo.min(v), hi.max(v))
    })
}

/// Pixels across.
pub fn width(strokes: &[Stroke]) -> f64 {
    let (lo, hi) = extent(strokes, |p| p.0);
    hi - lo
}

//! A region of plumages and months for a place, for somebody to correct.

/// South, north, west and east in degrees, and the region. Rough boxes of our own; the first that
/// holds a place is proposed, and where they meet somebody must look.
const BOXES: [(f64, f64, f64, f64, &str); 8] = [
    (20.0, 90.0, -30.0, 60.0, "western-palearctic"),
    (12.0, 90.0, -180.0, -30.0, "nearctic"),
    (-60.0, 12.0, -100.0, -30.0, "neotropics"),
    (-60.0, 20.0, -30.0, 60.0, "afrotropics"),
    (5.0, 37.0, 60.0, 95.0, "south-asia"),
    (20.0, 90.0, 60.0, 180.0, "east-asia"),
    (-12.0, 20.0, 95.0, 180.0, "east-asia"),
    (-60.0, 0.0, 110.0, 180.0, "australasia"),
];

pub(super) fn of(latitude: f64, longitude: f64) -> Option<&'static str> {
    let inside = |(south, north, west, east, _): &&(f64, f64, f64, f64, &str)| {
        (*south..=*north).contains(&latitude) && (*west..=*east).contains(&longitude)
    };
    BOXES.iter().find(inside).map(|found| found.4)
}

#[cfg(test)]
mod tests {
    use super::of;

    #[test]
    fn well_known_places() {
        for (latitude, longitude, region) in [
            (54.63, -0.41, "western-palearctic"),
            (41.85, -87.61, "nearctic"),
            (-34.6, -58.4, "neotropics"),
            (-33.9, 18.4, "afrotropics"),
            (19.1, 72.9, "south-asia"),
            (35.7, 139.7, "east-asia"),
            (-33.9, 151.2, "australasia"),
        ] {
            assert_eq!(of(latitude, longitude), Some(region));
        }
        assert_eq!(of(-75.0, 0.0), None);
    }
}

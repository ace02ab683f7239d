//! A grid of kilometres over the Earth, for places that are told roughly alone.

/// Kilometres a degree of latitude, on a sphere of the mean radius 6371.0088 km (IUGG).
const KM_A_DEGREE: f64 = 111.195;

/// A cell of the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    /// Its middle, degrees north and east, to four decimals.
    pub(super) latitude: f64,
    pub(super) longitude: f64,
    /// Its edge.
    pub(super) km: f64,
}

impl Cell {
    /// The cell that holds a place. Rows of cells follow the parallels, each with its own number
    /// of cells, so that an edge is about as long everywhere.
    pub(super) fn of(latitude: f64, longitude: f64, km: f64) -> Self {
        let step = km / KM_A_DEGREE;
        // The row at a pole may reach beyond it; its middle is told as the pole.
        let middle = middle(latitude, step).clamp(-90.0, 90.0);
        // Where a parallel is shorter than an edge, one cell holds all of it.
        let around = step / middle.to_radians().cos().max(step / 360.0);
        Cell {
            latitude: rounded(middle),
            longitude: rounded(wrapped(self::middle(longitude, around))),
            km,
        }
    }

    /// Metres from its middle to a corner, rounded up.
    pub(super) fn uncertainty_m(&self) -> u32 {
        // Four decimals of a degree are 11 m at the most.
        (self.km * 1000.0 * std::f64::consts::FRAC_1_SQRT_2).ceil() as u32 + 11
    }

    /// Its name in ids: the middle and the edge.
    pub(super) fn id(&self) -> String {
        format!("{:.4}_{:.4}_{}km", self.latitude, self.longitude, self.km)
    }
}

fn middle(degrees: f64, step: f64) -> f64 {
    ((degrees / step).floor() + 0.5) * step
}

fn wrapped(longitude: f64) -> f64 {
    (longitude + 180.0).rem_euclid(360.0) - 180.0
}

fn rounded(degrees: f64) -> f64 {
    (degrees * 1e4).round() / 1e4
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Great-circle distance, haversine formula, km.
    fn km_between(a: (f64, f64), b: (f64, f64)) -> f64 {
        let (lat_a, lat_b) = (a.0.to_radians(), b.0.to_radians());
        let (dlat, dlon) = (lat_b - lat_a, (b.1 - a.1).to_radians());
        let h = (dlat / 2.0).sin().powi(2) + lat_a.cos() * lat_b.cos() * (dlon / 2.0).sin().powi(2);
        2.0 * 6371.0088 * h.sqrt().asin()
    }

    #[test]
    fn every_place_lies_within_the_uncertainty_of_its_cell() {
        for km in [1.0, 2.5, 10.0, 50.0] {
            for step in 0..2000 {
                let latitude = -85.0 + 170.0 * f64::from(step * 7919 % 2000) / 2000.0;
                let longitude = -180.0 + 360.0 * f64::from(step) / 2000.0;
                let cell = Cell::of(latitude, longitude, km);
                let away = km_between((latitude, longitude), (cell.latitude, cell.longitude));
                // a cell is a trapezium, whose poleward half is the narrower one: 1 % for its bulge
                let most = 1.01 * f64::from(cell.uncertainty_m()) / 1000.0;
                assert!(away <= most, "{latitude} {longitude} {km}: {away} > {most}");
            }
        }
    }

    #[test]
    fn neighbours_share_a_cell_and_cells_hide_where_in_them() {
        let cell = Cell::of(54.63, -0.41, 10.0);
        assert_eq!(cell, Cell::of(54.64, -0.42, 10.0));
        assert_ne!(cell, Cell::of(54.73, -0.41, 10.0));
        assert_eq!(cell.uncertainty_m(), 7083);
        assert_eq!(Cell::of(90.0, 12.0, 200.0).latitude, 90.0);
    }
}

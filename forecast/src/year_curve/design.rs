//! A regression whose rows share few distinct covariate values: a table of distinct rows, an
//! index into it, and optionally a random intercept for each of a few groups (the years).
//! Sums run over the table where they can, which is what makes a fit take milliseconds.

use crate::series::Count;
use nalgebra::{DMatrix, DVector};

/// Rows of the regression, checked.
#[derive(Debug, Clone)]
pub struct Design {
    /// Distinct covariate rows, flattened: `distinct` rows of `width`.
    table: Vec<f64>,
    width: usize,
    row: Vec<usize>,
    group: Vec<usize>,
    groups: usize,
    offset: Vec<f64>,
    counts: Vec<Count>,
    /// Distinct numbers that are exact, with how often each occurs.
    histogram: Vec<(u32, f64)>,
    /// The part of the log likelihood that neither coefficients nor theta change.
    constant: f64,
}

/// Lengths that disagree, or numbers that are not finite.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the rows of the regression do not fit together: {0}")]
pub struct DesignError(pub &'static str);

/// One observation.
#[derive(Debug, Clone, Copy)]
pub struct Observation {
    /// Row of the table.
    pub row: usize,
    /// Group, 0.. ; ignored where there are no groups.
    pub group: usize,
    /// Offset on the log scale.
    pub offset: f64,
    /// What was counted.
    pub count: Count,
}

impl Design {
    /// `table` is distinct rows by columns; `groups` is 0 without a random intercept.
    pub fn new(
        table: &DMatrix<f64>,
        groups: usize,
        rows: &[Observation],
    ) -> Result<Self, DesignError> {
        let known: Vec<Observation> = rows
            .iter()
            .copied()
            .filter(|o| o.count != Count::Unknown)
            .collect();
        if known
            .iter()
            .any(|o| o.row >= table.nrows() || (groups > 0 && o.group >= groups))
        {
            return Err(DesignError("an observation points beyond the table"));
        }
        if known.iter().any(|o| !o.offset.is_finite()) || table.iter().any(|v| !v.is_finite()) {
            return Err(DesignError("a covariate or offset is not finite"));
        }
        let exact = known.iter().filter_map(|o| match o.count {
            Count::Exactly(n) | Count::About(n) => Some(n),
            _ => None,
        });
        let histogram = histogram(exact);
        let factorials = histogram
            .iter()
            .map(|(y, n)| n * statrs::function::gamma::ln_gamma(f64::from(*y) + 1.0));
        Ok(Design {
            table: table.transpose().as_slice().to_vec(),
            width: table.ncols(),
            row: known.iter().map(|o| o.row).collect(),
            group: known
                .iter()
                .map(|o| if groups > 0 { o.group } else { 0 })
                .collect(),
            groups,
            offset: known.iter().map(|o| o.offset).collect(),
            counts: known.iter().map(|o| o.count).collect(),
            constant: -factorials.sum::<f64>(),
            histogram,
        })
    }

    /// Observations.
    pub fn len(&self) -> usize {
        self.row.len()
    }

    /// No observations.
    pub fn is_empty(&self) -> bool {
        self.row.is_empty()
    }

    /// Columns of the table.
    pub fn width(&self) -> usize {
        self.width
    }

    /// Random intercepts.
    pub fn groups(&self) -> usize {
        self.groups
    }

    /// What was counted, row by row.
    pub fn counts(&self) -> &[Count] {
        &self.counts
    }

    /// Distinct exact numbers with how often each occurs.
    pub fn histogram(&self) -> &[(u32, f64)] {
        &self.histogram
    }

    /// Minus the sum of log y! over exact counts.
    pub fn constant(&self) -> f64 {
        self.constant
    }

    fn table_row(&self, m: usize) -> &[f64] {
        &self.table[m * self.width..(m + 1) * self.width]
    }

    fn distinct(&self) -> usize {
        self.table.len() / self.width.max(1)
    }

    /// Linear predictor with the offset.
    pub fn predictor(&self, beta: &DVector<f64>, group_effects: &DVector<f64>) -> Vec<f64> {
        let mut eta = self.effect(beta, group_effects);
        eta.iter_mut().zip(&self.offset).for_each(|(e, o)| *e += o);
        eta
    }

    /// Linear predictor without the offset.
    pub fn effect(&self, beta: &DVector<f64>, group_effects: &DVector<f64>) -> Vec<f64> {
        let by_row: Vec<f64> = (0..self.distinct())
            .map(|m| dot(self.table_row(m), beta.as_slice()))
            .collect();
        let effect = |(r, g): (&usize, &usize)| {
            by_row[*r]
                + if self.groups > 0 {
                    group_effects[*g]
                } else {
                    0.0
                }
        };
        self.row.iter().zip(&self.group).map(effect).collect()
    }

    /// X'v, split into the table's columns and the groups.
    pub fn transpose_times(&self, v: &[f64]) -> (DVector<f64>, DVector<f64>) {
        let (by_row, by_group) = self.sums(v);
        let mut beta = DVector::zeros(self.width);
        for (m, total) in by_row.iter().enumerate() {
            axpy(*total, self.table_row(m), beta.as_mut_slice());
        }
        (beta, DVector::from_vec(by_group))
    }

    fn sums(&self, v: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let mut by_row = vec![0.0; self.distinct()];
        let mut by_group = vec![0.0; self.groups];
        for ((r, g), value) in self.row.iter().zip(&self.group).zip(v) {
            by_row[*r] += value;
            if self.groups > 0 {
                by_group[*g] += value;
            }
        }
        (by_row, by_group)
    }

    /// X'WX in blocks: table by table, table by group, and the groups' diagonal.
    pub fn information(&self, weights: &[f64]) -> Information {
        let (by_row, by_group) = self.sums(weights);
        let w = self.width;
        let mut square = DMatrix::zeros(w, w);
        for (m, total) in by_row.iter().enumerate().filter(|(_, t)| **t != 0.0) {
            let row = self.table_row(m);
            for (c, value) in row.iter().enumerate() {
                axpy(
                    total * value,
                    &row[..=c],
                    &mut square.column_mut(c).as_mut_slice()[..=c],
                );
            }
        }
        square.fill_lower_triangle_with_upper_triangle();
        let mut cross = DMatrix::zeros(w, self.groups);
        if self.groups > 0 {
            for ((r, g), value) in self.row.iter().zip(&self.group).zip(weights) {
                axpy(
                    *value,
                    self.table_row(*r),
                    cross.column_mut(*g).as_mut_slice(),
                );
            }
        }
        Information {
            square,
            cross,
            diagonal: DVector::from_vec(by_group),
        }
    }

    /// Quadratic form x'Vx of every observation, V in blocks.
    pub fn leverages(
        &self,
        table_block: &DMatrix<f64>,
        cross: &DMatrix<f64>,
        group_diagonal: &DVector<f64>,
    ) -> Vec<f64> {
        let own: Vec<f64> = (0..self.distinct())
            .map(|m| {
                let row = self.table_row(m);
                (0..self.width)
                    .map(|c| row[c] * dot(row, table_block.column(c).as_slice()))
                    .sum()
            })
            .collect();
        let shared: Vec<f64> = (0..self.distinct())
            .flat_map(|m| (0..self.groups).map(move |g| (m, g)))
            .map(|(m, g)| dot(self.table_row(m), cross.column(g).as_slice()))
            .collect();
        let one = |(r, g): (&usize, &usize)| {
            if self.groups == 0 {
                return own[*r];
            }
            own[*r] + 2.0 * shared[r * self.groups + g] + group_diagonal[*g]
        };
        self.row.iter().zip(&self.group).map(one).collect()
    }
}

/// X'WX in blocks.
#[derive(Debug, Clone)]
pub struct Information {
    /// Table columns by table columns.
    pub square: DMatrix<f64>,
    /// Table columns by groups.
    pub cross: DMatrix<f64>,
    /// The groups' own sums.
    pub diagonal: DVector<f64>,
}

fn histogram(values: impl Iterator<Item = u32>) -> Vec<(u32, f64)> {
    let mut seen = std::collections::BTreeMap::new();
    for y in values {
        *seen.entry(y).or_insert(0.0) += 1.0;
    }
    seen.into_iter().collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn axpy(scale: f64, from: &[f64], onto: &mut [f64]) {
    onto.iter_mut().zip(from).for_each(|(o, f)| *o += scale * f);
}

//! The columns that a formula asks for, with R's treatment contrasts and names.

use super::expression::evaluate;
use super::formula::{Formula, Term};
use super::table::Table;
use nalgebra::{DMatrix, DVector};

/// Named columns with their offset.
#[derive(Debug)]
pub struct ModelMatrix {
    /// Names as R prints them.
    pub names: Vec<String>,
    /// Observations by columns.
    pub columns: DMatrix<f64>,
    /// Sum of the offsets.
    pub offset: Vec<f64>,
}

/// Levels that R's own data sets keep in an order that is not the alphabet's.
const OWN_ORDERS: &[&[&str]] = &[
    &["L", "M", "H"],                    // datasets::warpbreaks, tension
    &["<1l", "1-1.5l", "1.5-2l", ">2l"], // MASS::Insurance, Group
    &["<25", "25-29", "30-35", ">35"],   // MASS::Insurance, Age
];

type Column = (String, Vec<f64>);

enum Variable {
    Numeric(Column),
    Factor {
        name: String,
        values: Vec<String>,
        levels: Vec<String>,
    },
}

impl Variable {
    fn new(formula: &Formula, index: usize, table: &Table) -> Result<Self, String> {
        let name = formula.variables[index].clone();
        let inner = ["factor(", "as.factor("]
            .iter()
            .find_map(|f| name.strip_prefix(f));
        let column = inner.map_or(name.as_str(), |i| i.trim_end_matches(')'));
        let declared = inner.is_some() || formula.declared_factors.contains(&index);
        if declared || (table.has(column) && table.is_factor(column)?) {
            let values = table.text(column)?.to_vec();
            let levels = levels(&values);
            return Ok(Variable::Factor {
                name,
                values,
                levels,
            });
        }
        let values = evaluate(&name, table)?;
        Ok(Variable::Numeric((name, values)))
    }

    fn is_factor(&self) -> bool {
        matches!(self, Variable::Factor { .. })
    }

    /// Its columns: all levels, or all but the first where contrasts will do.
    fn columns(&self, contrasts: bool) -> Vec<Column> {
        match self {
            Variable::Numeric(column) => vec![column.clone()],
            Variable::Factor {
                name,
                values,
                levels,
            } => {
                let is = |level: &String| values.iter().map(|v| f64::from(v == level)).collect();
                let used = levels.iter().skip(usize::from(contrasts));
                used.map(|l| (format!("{name}{l}"), is(l))).collect()
            }
        }
    }
}

fn levels(values: &[String]) -> Vec<String> {
    let mut levels = values.to_vec();
    levels.sort();
    levels.dedup();
    let number = |l: &String| l.parse::<f64>().unwrap_or(f64::NAN);
    if levels.iter().all(|l| !number(l).is_nan()) {
        levels.sort_by(|a, b| number(a).total_cmp(&number(b)));
    }
    let same = |order: &&&[&str]| {
        order.len() == levels.len() && levels.iter().all(|l| order.contains(&l.as_str()))
    };
    match OWN_ORDERS.iter().find(same) {
        Some(order) => order.iter().map(|l| (*l).to_owned()).collect(),
        None => levels,
    }
}

impl ModelMatrix {
    /// Builds the columns, and drops those that earlier ones determine, as R does.
    pub fn new(formula: &Formula, table: &Table) -> Result<Self, String> {
        let variables: Result<Vec<Variable>, String> = (0..formula.variables.len())
            .map(|i| Variable::new(formula, i, table))
            .collect();
        let variables = variables?;
        let mut all: Vec<Column> = Vec::new();
        if formula.intercept {
            all.push(("(Intercept)".into(), vec![1.0; table.len()]));
        }
        for term in &formula.terms {
            all.extend(term_columns(formula, term, &variables));
        }
        let kept = independent(all);
        let values: Vec<f64> = kept.iter().flat_map(|(_, v)| v.iter().copied()).collect();
        let mut offset = vec![0.0; table.len()];
        for text in &formula.offsets {
            let more = evaluate(text, table)?;
            offset.iter_mut().zip(more).for_each(|(o, m)| *o += m);
        }
        Ok(ModelMatrix {
            columns: DMatrix::from_vec(table.len(), kept.len(), values),
            names: kept.into_iter().map(|(name, _)| name).collect(),
            offset,
        })
    }
}

/// A factor of a term takes contrasts where the term without it is in the model, and all its
/// levels where it is not (R's `?terms.object`); without an intercept the first factor that
/// stands alone has all its levels in the intercept's stead. The first factor varies fastest.
fn term_columns(formula: &Formula, term: &Term, variables: &[Variable]) -> Vec<Column> {
    let alone = |t: &&Term| t.len() == 1 && t.iter().all(|i| variables[*i].is_factor());
    let stead = formula.terms.iter().find(alone);
    let mut columns: Vec<Column> = Vec::new();
    for index in term {
        let mut margin = term.clone();
        margin.remove(index);
        let there = match margin.is_empty() {
            true => formula.intercept || stead.is_some_and(|s| s != term),
            false => formula.terms.contains(&margin),
        };
        let own = variables[*index].columns(there);
        columns = match columns.is_empty() {
            true => own,
            false => own
                .iter()
                .flat_map(|o| columns.iter().map(|c| product(c, o)))
                .collect(),
        };
    }
    columns
}

fn product(a: &Column, b: &Column) -> Column {
    let values = a.1.iter().zip(&b.1).map(|(x, y)| x * y);
    (format!("{}:{}", a.0, b.0), values.collect())
}

/// Gram-Schmidt from left to right.
fn independent(columns: Vec<Column>) -> Vec<Column> {
    let mut directions: Vec<DVector<f64>> = Vec::new();
    let mut kept = Vec::new();
    for (name, values) in columns {
        let column = DVector::from_vec(values);
        let mut left = column.clone();
        for _ in 0..2 {
            for d in &directions {
                left -= d * d.dot(&left);
            }
        }
        if left.norm() > 1e-9 * column.norm() {
            directions.push(left.normalize());
            kept.push((name, column.as_slice().to_vec()));
        }
    }
    kept
}

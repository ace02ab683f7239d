//! R's model formulas: `Days ~ Sex/(Age + Eth*Lrn)`, with prose before and after.
//!
//! Operators as in R's `?formula`: `+ - : * / ^`, parentheses, `offset()`. Prose ends a formula
//! at a comma, a semicolon or a word without an operator; in parentheses right behind a variable
//! it speaks of that variable.

use super::expression::Cursor;
use std::collections::BTreeSet;

/// Variables of a term by their place in [`Formula::variables`].
pub type Term = BTreeSet<usize>;

/// What stands right of the tilde.
#[derive(Debug, Default)]
pub struct Formula {
    /// Left of the tilde.
    pub response: String,
    /// Columns or calls such as `log(base)`, in order of appearance.
    pub variables: Vec<String>,
    /// Those that the prose declares to be factors.
    pub declared_factors: BTreeSet<usize>,
    /// Terms, lower orders first.
    pub terms: Vec<Term>,
    /// Is there an intercept?
    pub intercept: bool,
    /// Expressions of the offsets.
    pub offsets: Vec<String>,
}

const FUNCTIONS: &[&str] = &[
    "offset",
    "log",
    "log2",
    "log10",
    "log1p",
    "exp",
    "sqrt",
    "abs",
    "I",
    "factor",
    "as.factor",
    "as.numeric",
];

impl Formula {
    /// Reads the formula out of a text.
    pub fn read(text: &str) -> Result<Self, String> {
        let (before, after) = text.split_once('~').ok_or(format!("no ~ in {text:?}"))?;
        let response = before.split_whitespace().next_back();
        let mut formula = Formula {
            response: response
                .ok_or(format!("no response in {text:?}"))?
                .to_owned(),
            intercept: true,
            ..Formula::default()
        };
        let mut terms = formula.sum(&mut Cursor::new(after))?;
        terms.retain(|t| !t.is_empty());
        terms.sort_by_key(BTreeSet::len);
        formula.terms = terms;
        Ok(formula)
    }

    fn sum(&mut self, cursor: &mut Cursor) -> Result<Vec<Term>, String> {
        let mut terms = Vec::new();
        let mut minus = cursor.eat("-");
        loop {
            match cursor.rest().chars().next() {
                Some(digit @ ('0' | '1')) => {
                    cursor.number();
                    self.intercept = (digit == '1') != minus;
                }
                _ => {
                    let next = self.product(cursor)?;
                    match minus {
                        true => terms.retain(|t| !next.contains(t)),
                        false => unite(&mut terms, next),
                    }
                }
            }
            minus = match (cursor.eat("+"), cursor.eat("-")) {
                (true, _) => false,
                (_, true) => true,
                _ => return Ok(terms),
            };
        }
    }

    fn product(&mut self, cursor: &mut Cursor) -> Result<Vec<Term>, String> {
        let mut left = self.interaction(cursor)?;
        loop {
            if cursor.eat("*") {
                let right = self.interaction(cursor)?;
                let both = cross(&left, &right);
                unite(&mut left, right);
                unite(&mut left, both);
            } else if cursor.eat("/") {
                let right = self.interaction(cursor)?;
                let whole: Term = left.iter().flatten().copied().collect();
                unite(&mut left, cross(&[whole], &right));
            } else {
                return Ok(left);
            }
        }
    }

    fn interaction(&mut self, cursor: &mut Cursor) -> Result<Vec<Term>, String> {
        let mut left = self.power(cursor)?;
        while cursor.eat(":") {
            left = cross(&left, &self.power(cursor)?);
        }
        Ok(left)
    }

    fn power(&mut self, cursor: &mut Cursor) -> Result<Vec<Term>, String> {
        let base = self.atom(cursor)?;
        let mut terms = base.clone();
        if cursor.eat("^") {
            let degree = cursor.number().ok_or("a power is missing")? as usize;
            for _ in 1..degree {
                let more = cross(&terms, &base);
                unite(&mut terms, more);
            }
        }
        Ok(terms)
    }

    fn atom(&mut self, cursor: &mut Cursor) -> Result<Vec<Term>, String> {
        if cursor.eat("(") {
            let inner = self.sum(cursor)?;
            return if cursor.eat(")") {
                Ok(inner)
            } else {
                Err("a parenthesis stays open".into())
            };
        }
        let name = cursor
            .name()
            .ok_or(format!("no variable at {:?}", cursor.rest()))?;
        let behind = cursor.parenthesis();
        let call = behind.filter(|_| FUNCTIONS.contains(&name));
        let text = format!("{name}{}", call.unwrap_or_default()).replace(' ', "");
        if name == "offset" {
            let inner = &text["offset(".len()..text.len() - 1];
            self.offsets.push(inner.to_owned());
            return Ok(Vec::new());
        }
        let known = self.variables.iter().position(|v| *v == text);
        let index = known.unwrap_or_else(|| {
            self.variables.push(text);
            self.variables.len() - 1
        });
        if call.is_none() && behind.is_some_and(|prose| prose.starts_with("(factor")) {
            self.declared_factors.insert(index);
        }
        Ok(vec![Term::from([index])])
    }
}

fn unite(terms: &mut Vec<Term>, more: Vec<Term>) {
    for term in more {
        if !terms.contains(&term) {
            terms.push(term);
        }
    }
}

fn cross(a: &[Term], b: &[Term]) -> Vec<Term> {
    let mut all = Vec::new();
    for (x, y) in a.iter().flat_map(|x| b.iter().map(move |y| (x, y))) {
        unite(&mut all, vec![x | y]);
    }
    all
}

#[test]
fn formulas_expand_as_in_r() {
    let terms = |text: &str| {
        let f = Formula::read(text).expect("a formula");
        let name = |t: &Term| {
            t.iter()
                .map(|i| f.variables[*i].clone())
                .collect::<Vec<_>>()
                .join(":")
        };
        f.terms.iter().map(name).collect::<Vec<_>>()
    };
    assert_eq!(
        terms("Days ~ Sex/(Age + Eth*Lrn) as in ?glm.nb; note"),
        ["Sex", "Sex:Age", "Sex:Eth", "Sex:Lrn", "Sex:Eth:Lrn"]
    );
    assert_eq!(
        terms("pkg::t y ~ (a+b+c)^2 - a:b, Poisson"),
        ["a", "b", "c", "a:c", "b:c"]
    );
    assert_eq!(
        terms("y ~ a*b:c + log(d / 4) (numeric) + 1"),
        ["a", "log(d/4)", "b:c", "a:b:c"]
    );
    let f = Formula::read("y ~ D(factor 1..4: kept) + offset(log(2 * h)) - 1").expect("a formula");
    assert_eq!(
        (f.offsets, f.intercept),
        (vec!["log(2*h)".to_owned()], false)
    );
    assert!(f.declared_factors.contains(&0));
}

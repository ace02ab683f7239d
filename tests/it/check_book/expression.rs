//! Arithmetic over the columns of a table, as R writes it: `log(plots)`, `(doy-0.5)/365`.

use super::table::Table;

/// A cursor over a text.
pub struct Cursor<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Cursor<'a> {
    /// At the start.
    pub fn new(text: &'a str) -> Self {
        Cursor { text, at: 0 }
    }

    /// What is left, blanks skipped.
    pub fn rest(&mut self) -> &'a str {
        let rest = &self.text[self.at..];
        self.at += rest.len() - rest.trim_start().len();
        &self.text[self.at..]
    }

    /// Goes past `token` if it comes next.
    pub fn eat(&mut self, token: &str) -> bool {
        let there = self.rest().starts_with(token);
        self.at += if there { token.len() } else { 0 };
        there
    }

    /// The name that comes next.
    pub fn name(&mut self) -> Option<&'a str> {
        let rest = self.rest();
        if !rest.starts_with(|c: char| c.is_alphabetic()) {
            return None;
        }
        let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == '.'));
        self.take(end.unwrap_or(rest.len()))
    }

    /// The number that comes next.
    pub fn number(&mut self) -> Option<f64> {
        let rest = self.rest();
        let end = rest.find(|c: char| !(c.is_ascii_digit() || c == '.'));
        let text = &rest[..end.unwrap_or(rest.len())];
        let value = text.parse().ok()?;
        self.take(text.len());
        Some(value)
    }

    /// What stands in the parentheses that come next, these included.
    pub fn parenthesis(&mut self) -> Option<&'a str> {
        let rest = self.rest();
        let mut depth = 0;
        for (i, c) in rest.char_indices() {
            depth += i32::from(c == '(') - i32::from(c == ')');
            if depth == 0 {
                return if i == 0 { None } else { self.take(i + 1) };
            }
        }
        None
    }

    fn take(&mut self, length: usize) -> Option<&'a str> {
        let start = self.at;
        self.at += length;
        Some(&self.text[start..self.at])
    }
}

/// Evaluates an expression for every row.
pub fn evaluate(text: &str, table: &Table) -> Result<Vec<f64>, String> {
    with_names(text, table.len(), &|name| table.numbers(name))
}

/// Evaluates an expression whose names `column` knows.
pub fn with_names(
    text: &str,
    rows: usize,
    column: &dyn Fn(&str) -> Result<Vec<f64>, String>,
) -> Result<Vec<f64>, String> {
    let mut parser = Parser {
        cursor: Cursor::new(text),
        rows,
        column,
    };
    let value = parser.sum()?;
    match parser.cursor.rest() {
        "" => Ok(value),
        rest => Err(format!("{rest:?} cannot follow in {text:?}")),
    }
}

struct Parser<'a> {
    cursor: Cursor<'a>,
    rows: usize,
    column: &'a dyn Fn(&str) -> Result<Vec<f64>, String>,
}

fn each(a: Vec<f64>, b: Vec<f64>, f: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    a.into_iter().zip(b).map(|(x, y)| f(x, y)).collect()
}

impl Parser<'_> {
    fn sum(&mut self) -> Result<Vec<f64>, String> {
        let mut value = self.product()?;
        loop {
            if self.cursor.eat("+") {
                value = each(value, self.product()?, |a, b| a + b);
            } else if self.cursor.eat("-") {
                value = each(value, self.product()?, |a, b| a - b);
            } else {
                return Ok(value);
            }
        }
    }

    fn product(&mut self) -> Result<Vec<f64>, String> {
        let mut value = self.signed()?;
        loop {
            if self.cursor.eat("*") {
                value = each(value, self.signed()?, |a, b| a * b);
            } else if self.cursor.eat("/") {
                value = each(value, self.signed()?, |a, b| a / b);
            } else {
                return Ok(value);
            }
        }
    }

    fn signed(&mut self) -> Result<Vec<f64>, String> {
        if self.cursor.eat("-") {
            return Ok(self.signed()?.into_iter().map(|v| -v).collect());
        }
        let base = self.atom()?;
        if self.cursor.eat("^") {
            return Ok(each(base, self.signed()?, f64::powf));
        }
        Ok(base)
    }

    fn atom(&mut self) -> Result<Vec<f64>, String> {
        if let Some(number) = self.cursor.number() {
            return Ok(vec![number; self.rows]);
        }
        if self.cursor.eat("(") {
            return self.closed();
        }
        let name = self.cursor.name().ok_or("a number or name is missing")?;
        if !self.cursor.eat("(") {
            return (self.column)(name);
        }
        let function: fn(f64) -> f64 = match name {
            "log" => f64::ln,
            "log2" => f64::log2,
            "log10" => f64::log10,
            "log1p" => f64::ln_1p,
            "exp" => f64::exp,
            "sqrt" => f64::sqrt,
            "abs" => f64::abs,
            "I" | "as.numeric" => |v| v,
            _ => return Err(format!("unknown function {name}")),
        };
        Ok(self.closed()?.into_iter().map(function).collect())
    }

    fn closed(&mut self) -> Result<Vec<f64>, String> {
        let value = self.sum()?;
        if self.cursor.eat(")") {
            Ok(value)
        } else {
            Err("a parenthesis stays open".into())
        }
    }
}

#[test]
fn expressions_follow_the_usual_order() {
    let value = |text| with_names(text, 1, &|_| Ok(vec![4.0])).expect("an expression")[0];
    assert_eq!(value("2 + 3*x^2/8 - -1"), 9.0);
    assert_eq!(value("sqrt(x)*(1+2)"), 6.0);
    assert_eq!(value("-x^2"), -16.0);
    assert!(with_names("2 +", 1, &|_| Ok(vec![])).is_err());
}

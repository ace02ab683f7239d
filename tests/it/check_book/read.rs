//! Inputs of checks in forms that a case does not read by itself.

use super::case::{Case, Trouble};

/// The number under a key, None where it is null or left out.
pub fn number_or_none(case: &Case, key: &str) -> Result<Option<f64>, Trouble> {
    match case.inputs.get(key) {
        Some(value) if !value.is_null() => case.number(key).map(Some),
        _ => Ok(None),
    }
}

/// A count.
pub fn count(case: &Case, key: &str) -> Result<u32, Trouble> {
    whole(case.number(key)?)
}

/// Counts.
pub fn counts(case: &Case, key: &str) -> Result<Vec<u32>, Trouble> {
    case.numbers(key)?.into_iter().map(whole).collect()
}

/// A number as a count.
pub fn whole(value: f64) -> Result<u32, Trouble> {
    if value >= 0.0 && value.fract() == 0.0 && value <= f64::from(u32::MAX) {
        return Ok(value as u32);
    }
    Err(Trouble::Failed(format!("{value} is no count")))
}

/// The N numbers in a text of N + 1 fixed parts: "N(0,6^2)" by ["N(", ",", "^2)"].
pub fn between<const N: usize>(
    case: &Case,
    key: &str,
    parts: &[&str],
) -> Result<[f64; N], Trouble> {
    let text = case.text(key)?;
    let found = numbers_between(text, parts);
    let form = || Trouble::Failed(format!("{key} is {text:?}, expected {}", parts.join("#")));
    found.and_then(|f| f.try_into().ok()).ok_or_else(form)
}

fn numbers_between(text: &str, parts: &[&str]) -> Option<Vec<f64>> {
    let (first, later) = parts.split_first()?;
    let mut rest = text.strip_prefix(first)?;
    let mut numbers = Vec::new();
    for part in later {
        let end = match *part {
            "" => rest.len(),
            // past the first character, which may be a minus sign
            part => rest.get(1..)?.find(part)? + 1,
        };
        numbers.push(rest[..end].parse().ok()?);
        rest = &rest[end + part.len()..];
    }
    rest.is_empty().then_some(numbers)
}

#[test]
fn numbers_stand_between_the_parts() {
    let parts = ["N(", ",", "^2) on ", "..", ""];
    let found = numbers_between("N(0,6.5^2) on -30..30", &parts);
    assert_eq!(found, Some(vec![0.0, 6.5, -30.0, 30.0]));
    assert_eq!(numbers_between("N(0,6.5) on -30..30", &parts), None);
    assert_eq!(numbers_between("N(0,6)x", &["N(", ",", ")"]), None);
}

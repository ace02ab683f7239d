//! Values in words, and values of one kind.

use toml::Spanned;
use toml::de::{DeFloat, DeInteger, DeValue};

/// A value as a sentence names it.
pub(super) fn in_words(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text {text:?}"),
        DeValue::Integer(number) => format!("the number {}", number.as_str()),
        DeValue::Float(number) => format!("the number {}", number.as_str()),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(date) => format!("the date {date} without quotes"),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// A number with or without a fraction; None for another kind and for what does not fit.
pub(super) fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(number) => float(number).filter(|n| n.is_finite()),
        DeValue::Integer(number) => integer(number).map(|n| n as f64),
        _ => None,
    }
}

/// A number without a fraction.
pub(super) fn whole(value: &DeValue<'_>) -> Option<i64> {
    match value {
        DeValue::Integer(number) => integer(number),
        _ => None,
    }
}

/// A text of one line with something in it.
pub(super) fn line(value: &DeValue<'_>) -> Option<String> {
    paragraph(value).filter(|text| !text.contains(char::is_control))
}

/// A text of any number of lines with something in it.
pub(super) fn paragraph(value: &DeValue<'_>) -> Option<String> {
    let text = value.as_str()?;
    (!text.trim().is_empty()).then(|| text.to_owned())
}

/// The value with its place.
pub(super) fn placed<T>(value: &Spanned<DeValue<'_>>, read: Option<T>) -> Option<Spanned<T>> {
    read.map(|read| Spanned::new(value.span(), read))
}

fn float(number: &DeFloat<'_>) -> Option<f64> {
    number.as_str().parse().ok()
}

fn integer(number: &DeInteger<'_>) -> Option<i64> {
    i64::from_str_radix(number.as_str(), number.radix()).ok()
}

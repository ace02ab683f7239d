//! Every word that guidance, digests and charts share: dates, chances, numbers, passages.
//!
//! English for now; a second language is a second set of these functions and templates.
//! Parts that must stay on one line are tied with a no-break space; [`plain_spaces`] unties
//! them where the output is a terminal or plain text.

mod amounts;
mod days;
mod marks;
mod sets;

pub use amounts::{HARDLY, NEARLY_SURE, about, birds, chance};
pub use days::{
    day_month, day_month_year, moment, month, month_short, short_day, span, week, weekday_date,
};
pub use marks::{mark_heading, plumage, plumages, review, trust, unreviewed};
pub use sets::{
    CURVE_OF_FINDS, FINDS_ALONE, NOT_WATCHED, SHARE, STARRED, WRITE_ALL_DOWN, about_now, doubt,
    finds_alone, in_brief, share, shares_rest_on, stands, together, told,
};

use ingest::report::grouped;

/// BCP 47 tag of the language of these words.
pub const LANGUAGE: &str = "en";

/// Joins words that must not be parted at a line's end.
pub const TIE: char = '\u{a0}';

/// No-break spaces as plain ones, for terminals and plain text.
pub fn plain_spaces(text: &str) -> String {
    text.replace(TIE, " ")
}

/// "1 visit", "3 visits": the number tied to its noun.
pub fn count_of(n: usize, one: &str, many: &str) -> String {
    let noun = if n == 1 { one } else { many };
    format!("{}{TIE}{noun}", grouped(n as u64))
}

/// "Dunlin", "Dunlin and Sanderling", "Dunlin, Sanderling and Little Stint".
pub fn list<S: AsRef<str>>(items: &[S]) -> String {
    let items: Vec<&str> = items.iter().map(AsRef::as_ref).collect();
    match items.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_string(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}

/// First letter upper case, as a sentence begins.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// Ends with a full stop, unless it ends a sentence already.
pub fn stop(text: &str) -> String {
    let text = text.trim_end();
    if text.ends_with(['.', '!', '?', '…']) || text.is_empty() {
        text.to_string()
    } else {
        format!("{text}.")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_read_as_people_say_them() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["a"]), "a");
        assert_eq!(list(&["a", "b", "c"]), "a, b and c");
    }
}

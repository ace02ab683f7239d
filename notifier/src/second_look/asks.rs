//! What its finder is asked: of a name in doubt what the bird looked like, of a number how it was
//! counted.

use crate::words;
use forecast::second_look::InDoubt;

/// Said to whoever asks for a number.
pub(super) const HOW_COUNTED: &str = "Ask how it was counted: by whom, one by one or estimated, the \
    whole flock at once or parties added up, and whether birds may have been counted twice.";

const DATE: &str = "The date: is it as you noted it?";
const NUMBER: [&str; 6] = [
    "The number: is it as you noted it on the day?",
    "How it was counted: by whom, one by one or estimated, and if estimated, in what way",
    "Whether it was the whole flock at one time, or several parties, times or counters added up",
    "Whether birds may have been counted twice, such as those that fly off and come back",
    "How far off, how long, in what light, with what, and who else counted",
    "Pictures of the flock, even poor ones",
];
const NAME: [&str; 3] = [
    "What you saw and heard, from notes of the day if there are any, before you look anything up",
    "How far, how long, in what light, with what, and who else saw it",
    "Pictures or recordings, even poor ones",
];
/// Those of a number that stand beside the questions about the bird.
const BESIDE_NAME: usize = 4;

/// The questions, in the order in which they are put.
pub(super) fn asks(in_doubt: InDoubt, marks: &[String]) -> Vec<String> {
    let mut asks = Vec::new();
    if in_doubt.date {
        asks.push(DATE.to_owned());
    }
    if in_doubt.number {
        let asked = if in_doubt.name {
            BESIDE_NAME
        } else {
            NUMBER.len()
        };
        asks.extend(NUMBER[..asked].iter().map(|a| (*a).to_owned()));
    }
    if in_doubt.name {
        asks.push(NAME[0].to_owned());
        if !marks.is_empty() {
            let marks = words::list(marks).to_lowercase();
            asks.push(format!("In particular, as you saw them: {marks}"));
        }
        asks.extend(NAME[1..].iter().map(|a| (*a).to_owned()));
    }
    asks
}

/// What is in doubt, for other programs.
pub(super) fn doubts(in_doubt: InDoubt) -> Vec<&'static str> {
    let all = [
        ("date", in_doubt.date),
        ("name", in_doubt.name),
        ("number", in_doubt.number),
    ];
    all.into_iter().filter(|d| d.1).map(|d| d.0).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(date: bool, name: bool, number: bool) -> String {
        let in_doubt = InDoubt { date, name, number };
        asks(in_doubt, &["Bill".to_owned(), "Call".to_owned()]).join("\n")
    }

    #[test]
    fn a_number_is_asked_how_it_was_counted_and_for_no_marks() {
        let number = asked(false, false, true);
        for wanted in [
            "by whom",
            "estimated",
            "whole flock",
            "twice",
            "who else counted",
        ] {
            assert!(number.contains(wanted), "{number}");
        }
        assert!(!number.contains("bill") && !number.contains("What you saw"));
    }

    #[test]
    fn a_name_is_asked_for_marks_and_a_date_whether_it_is_right() {
        let name = asked(false, true, false);
        assert!(name.contains("as you saw them: bill and call") && !name.contains("counted"));
        assert!(asked(true, true, false).starts_with(DATE));
        let both = asked(false, true, true);
        assert!(both.contains("counted twice") && both.contains("bill and call"));
        assert_eq!(both.matches("ow far").count(), 1, "{both}");
    }
}

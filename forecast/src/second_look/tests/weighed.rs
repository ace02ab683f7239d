//! How slips are weighed against each other.

use super::*;

#[test]
fn a_first_record_is_asked_about_before_another_that_was_as_little_expected() {
    let mut place = place();
    let day = date(2017, 7, 25);
    let other = |place: &Place| {
        place.with(|told, expected| {
            let said = Said {
                species: NEVER,
                date: day,
                count: Count::Exactly(1),
            };
            let judged = judge(&said, told, expected, &[NEVER], &Weights::default());
            let judged = judged.expect("judged");
            let (what, ratio) = judged.explanations[0];
            assert_eq!(what, Explanation::Other);
            (ratio, judged.expected)
        })
    };
    let (first, expected) = other(&place);
    // one bird in a spring seven years ago is no first, and changes next to nothing in July
    let mut counts: Vec<Count> = vec![Count::Exactly(0); place.visits.len()];
    counts[30] = Count::Exactly(1);
    place.series[NEVER] = CountSeries::new(place.visits.clone(), counts).expect("in order");
    let (second, expected_then) = other(&place);
    assert!(
        (expected / expected_then).ln().abs() < 0.7,
        "{expected} {expected_then}"
    );
    assert!(first > second + 1.5, "{first} {second}");
}

#[test]
fn other_digits_are_struck_too_many_and_estimates_end_in_noughts_by_habit() {
    let place = place();
    place.with(|told, expected| {
        let tenfold = |count: Count| {
            let said = Said {
                species: AUTUMN,
                date: date(2017, 9, 7),
                count,
            };
            let judged = place.judged(told, expected, &said);
            let found = judged.explanations.iter();
            let of = found
                .filter(|e| matches!(e.0, Explanation::Tenfold))
                .map(|e| e.1);
            of.fold(f64::NEG_INFINITY, f64::max)
        };
        let counted = tenfold(Count::Exactly(120));
        // about 120 are 115 to 124, so that the slip is ten times less likely beside them
        let estimated = tenfold(Count::About(120));
        assert!(
            (counted - estimated - 10f64.ln()).abs() < 1e-9,
            "{counted} {estimated}"
        );
        assert_eq!(tenfold(Count::About(127)), tenfold(Count::Exactly(127)));
        // 127 may be 12 with a digit too many, though a nought is the commoner slip
        let other = tenfold(Count::Exactly(127));
        assert!(other > 0.0 && other < counted, "{other} {counted}");
        assert_eq!(tenfold(Count::Exactly(9)), f64::NEG_INFINITY);
        assert_eq!(tenfold(Count::Present), f64::NEG_INFINITY);
    });
}

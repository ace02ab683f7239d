//! Chances and numbers of birds.

use super::TIE;

/// A chance below this is called "under 2 %", and a species below it for the week is outside
/// its window.
pub const HARDLY: f64 = forecast::stands::OUTSIDE_BELOW;

/// From this chance up it is called "over 98 %".
pub const NEARLY_SURE: f64 = 0.98;

/// A chance, 0..=1, in words: never 0 % and never 100 %, whole percents below 10 %, then to the
/// nearest 5 %, since it is not known better than that. What is not a chance reads "unknown".
pub fn chance(p: f64) -> String {
    if !(0.0..=1.0).contains(&p) {
        "unknown".to_string()
    } else if p < HARDLY {
        format!("under{TIE}2{TIE}%")
    } else if p >= NEARLY_SURE {
        format!("over{TIE}98{TIE}%")
    } else if p < 0.095 {
        format!("{:.0}{TIE}%", p * 100.0)
    } else {
        let fives = (p * 20.0).round().min(19.0);
        format!("{:.0}{TIE}%", fives * 5.0)
    }
}

/// "about 70 %", but "under 2 %" and "over 98 %".
pub fn about(p: f64) -> String {
    match (HARDLY..NEARLY_SURE).contains(&p) {
        true => format!("about {}", chance(p)),
        false => chance(p),
    }
}

/// A mean number of birds to two figures, e.g. "0.42", "3.1", "160"; below 0.01 "under 0.01".
pub fn birds(mean: f64) -> String {
    if mean < 0.01 {
        return format!("under{TIE}0.01");
    }
    let step = 10f64.powi(mean.log10().floor() as i32 - 1);
    let rounded = (mean / step).round() * step;
    let decimals = if rounded >= 10.0 {
        0
    } else if rounded >= 1.0 {
        1
    } else {
        2
    };
    let text = format!("{rounded:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_string(),
        false => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::plain_spaces;

    #[test]
    fn a_chance_is_never_nothing_and_never_certain() {
        let said = |p| plain_spaces(&chance(p));
        assert_eq!(said(0.0), "under 2 %");
        assert_eq!(said(0.0199), "under 2 %");
        assert_eq!(said(0.02), "2 %");
        assert_eq!(said(0.094), "9 %");
        assert_eq!(said(0.096), "10 %");
        assert_eq!(said(0.47), "45 %");
        assert_eq!(said(0.979), "95 %");
        assert_eq!(said(0.98), "over 98 %");
        assert_eq!(said(1.0), "over 98 %");
        assert_eq!(said(f64::NAN), "unknown");
        assert_eq!(said(1.01), "unknown");
    }

    #[test]
    fn chances_in_words_never_fall_as_the_chance_rises() {
        let number = |text: String| -> f64 {
            let digits: String = text.chars().filter(char::is_ascii_digit).collect();
            digits.parse::<f64>().unwrap() + if text.starts_with("under") { -1.0 } else { 0.0 }
        };
        let said: Vec<f64> = (0..=1000)
            .map(|i| number(chance(f64::from(i) / 1000.0)))
            .collect();
        assert!(said.windows(2).all(|w| w[0] <= w[1]));
    }

    #[test]
    fn birds_have_two_figures() {
        assert_eq!(plain_spaces(&birds(0.004)), "under 0.01");
        assert_eq!(birds(0.0423), "0.04");
        assert_eq!(birds(0.423), "0.42");
        assert_eq!(birds(0.4), "0.4");
        assert_eq!(birds(0.999), "1");
        assert_eq!(birds(3.13), "3.1");
        assert_eq!(birds(9.96), "10");
        assert_eq!(birds(157.0), "160");
        assert_eq!(birds(2149.0), "2100");
    }
}

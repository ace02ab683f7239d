//! A learner's chances: read as they were written, brought to a sum of 1, scored.

use forecast::score::brier;

/// Percent that a learner may write for one species.
const MOST: f64 = 100.0;

/// Percent by which a sum may be off for want of digits.
const ROUNDED: f64 = 0.5;

/// A learner's chances.
#[derive(Debug, Clone, PartialEq)]
pub struct Chances {
    /// One for each member; they sum to 1.
    pub chances: Vec<f64>,
    /// What was written added up to so many percent, if not to 100.
    pub added_up: Option<f64>,
}

/// Reads percents as written, one for each member in order; blank is none.
///
/// # Errors
/// A sentence without a full stop on what is wrong.
pub fn read(names: &[&str], written: &[String]) -> Result<Chances, String> {
    let percent = |(name, text): (&&str, &String)| percent(name, text);
    let percents: Vec<f64> = names
        .iter()
        .zip(written)
        .map(percent)
        .collect::<Result<_, _>>()?;
    let sum: f64 = percents.iter().sum();
    if sum <= 0.0 {
        return Err("Give a chance above 0 to one species at least".to_owned());
    }
    // 33.3 thrice is meant for 100, and sums are told in whole percent
    let off = (sum - 100.0).abs() > ROUNDED;
    Ok(Chances {
        chances: percents.iter().map(|p| p / sum).collect(),
        added_up: off.then_some(sum),
    })
}

fn percent(name: &str, text: &str) -> Result<f64, String> {
    let bare = text.trim().trim_end_matches('%').trim().replace(',', ".");
    if bare.is_empty() {
        return Ok(0.0);
    }
    let number = bare.parse::<f64>().ok();
    let number = number.filter(|p| (0.0..=MOST).contains(p));
    number.ok_or_else(|| {
        let shown: String = text.chars().take(20).collect();
        format!("\"{shown}\" for {name} is no chance; expected a percent from 0 to 100")
    })
}

/// The score of chances that sum to 1, two decimals; None where they are none.
pub fn score(chances: &[f64], bird: usize) -> Option<String> {
    let score = brier::of_several(chances, bird).ok()?;
    Some(format!("{score:.2}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(texts: &[&str]) -> Result<Chances, String> {
        let texts: Vec<String> = texts.iter().map(|t| (*t).to_owned()).collect();
        read(&["Dunlin", "Little Stint"], &texts)
    }

    #[test]
    fn what_does_not_add_up_is_scaled_and_said() {
        let right = written(&["70", "30 %"]).unwrap();
        assert_eq!((right.chances, right.added_up), (vec![0.7, 0.3], None));
        let off = written(&["60", ""]).unwrap();
        assert_eq!((off.chances, off.added_up), (vec![1.0, 0.0], Some(60.0)));
        let comma = written(&["12,5", "87,5"]).unwrap();
        assert_eq!(comma.added_up, None);
    }

    #[test]
    fn a_third_thrice_is_all_of_it() {
        let thirds = ["33.3", "33.3", "33,3"].map(str::to_owned);
        let read = read(&["Dunlin", "Little Stint", "Sanderling"], &thirds).unwrap();
        assert_eq!(read.added_up, None);
        let sum: f64 = read.chances.iter().sum();
        // sums of three doubles
        assert!((sum - 1.0).abs() < 1e-12, "{sum}");
        assert_eq!(written(&["60", "39.4"]).unwrap().added_up, Some(99.4));
    }

    #[test]
    fn what_is_no_chance_is_refused() {
        for bad in ["-1", "101", "many", "NaN", "inf", "1e3"] {
            let said = written(&[bad, "10"]).unwrap_err();
            assert!(said.contains("Dunlin is no chance"), "{bad}: {said}");
        }
        assert!(written(&["0", " "]).unwrap_err().contains("above 0"));
    }

    /// By hand: 0.7 to the bird, 0.3 to another: 0.09 + 0.09; to three alike: 4/9 + 1/9 + 1/9.
    #[test]
    fn scores_are_those_of_brier() {
        assert_eq!(score(&[0.7, 0.3], 0).unwrap(), "0.18");
        assert_eq!(score(&[1.0, 0.0], 1).unwrap(), "2.00");
        assert_eq!(score(&[1.0 / 3.0; 3], 1).unwrap(), "0.67");
        assert_eq!(score(&[0.5, 0.4], 1), None);
    }
}

//! Seasons as they are typed and as addresses have them: "2010-autumn".

use crate::findings::passage;
use config::nearest::nearest;
use forecast::fit::PassageName;

const NAMES: [PassageName; 4] = [
    PassageName::Spring,
    PassageName::Summer,
    PassageName::Autumn,
    PassageName::Winter,
];

/// "2010-autumn".
pub fn typed((year, name): (i32, PassageName)) -> String {
    format!("{year}-{}", passage(name))
}

/// Reads it.
///
/// # Errors
/// What was expected, with the nearest name.
pub fn read(text: &str) -> Result<(i32, PassageName), String> {
    let expected = "expected a year and a season, such as 2010-autumn";
    let (year, name) = text.trim().split_once('-').ok_or(expected)?;
    let digits = year.len() == 4 && year.bytes().all(|b| b.is_ascii_digit());
    let year = year.parse().ok().filter(|_| digits).ok_or(expected)?;
    let known = NAMES.into_iter().find(|n| passage(*n) == name);
    if let Some(name) = known {
        return Ok((year, name));
    }
    Err(match nearest(name, NAMES.map(passage)) {
        Some(near) => format!("there is no season \"{name}\"; did you mean {year}-{near}?"),
        None => format!("there is no season \"{name}\"; {expected}"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_season_is_a_year_and_a_name() {
        let autumn = (2010, PassageName::Autumn);
        assert_eq!(read("2010-autumn"), Ok(autumn));
        assert_eq!(typed(autumn), "2010-autumn");
        assert!(
            read("2010-autum")
                .unwrap_err()
                .contains("did you mean 2010-autumn?")
        );
        for wrong in [
            "autumn",
            "10-autumn",
            "2010-",
            "2010 autumn",
            "autumn-2010",
            "+201-spring",
        ] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }
}

//! What is told of the members of a set, and of the set itself.

use super::{HARDLY, TIE, chance, count_of, list};
use crate::guidance::types::{MemberGuidance, SetGuidance, Stands};
use ingest::report::grouped;

/// Where a species stands in its passage.
pub fn stands(member: &MemberGuidance) -> &'static str {
    if !member.recorded {
        return "never recorded here";
    }
    match member.stands {
        Some(Stands::Arriving) => "arriving",
        Some(Stands::AtPeak) => "at peak",
        Some(Stands::Leaving) => "leaving",
        Some(Stands::Staying) => "staying",
        Some(Stands::Outside) => "outside its window",
        None => "no dates",
    }
}

/// Said instead of chances where nobody looks at this time of the year.
pub const NOT_WATCHED: &str = "The site is not watched at this time of the year, so nothing is \
    said of what can be found there.";

/// What the star behind a name means.
pub const STARRED: &str = "* no curve: the part of earlier visits within 7 days of the date on \
    which it was found";

/// What a share is.
pub const SHARE: &str = "Of the set: the part of the set's birds that were of the species, over \
    the years about this date.";

/// The chance that two members are both found, with the likeliest pair.
pub fn together(set: &SetGuidance) -> String {
    if set.chance_together.is_nan() {
        return "Whether two of these are both found this week cannot be told.".to_owned();
    }
    let chance = chance(set.chance_together);
    let likeliest = set.likeliest_pair.as_ref();
    match likeliest.filter(|_| set.chance_together >= HARDLY) {
        Some((a, b)) => format!(
            "Chance that two of these are both found this week: {chance}, likeliest {a} and {b}."
        ),
        None => format!("Chance that two of these are both found this week: {chance}."),
    }
}

/// May the species be about in the week: was it ever recorded here, and is its chance worth
/// naming, or not told?
pub fn about_now(member: &MemberGuidance) -> bool {
    member.recorded && (!member.has_chance() || member.chance_week >= HARDLY)
}

/// A set that two of its members hardly share this week, behind its title.
pub fn in_brief(set: &SetGuidance) -> String {
    let about = || set.members.iter().filter(|m| about_now(m));
    let known = |m: &MemberGuidance| match m.has_chance() {
        true => format!("{} {}", m.name, chance(m.chance_week)),
        false => m.name.clone(),
    };
    let named: Vec<String> = about().map(known).collect();
    if named.is_empty() {
        return "none expected.".to_owned();
    }
    format!("{}; {}.", list(&named), more_than_one(set, named.len()))
}

/// The chance of more than one of the members that may be about.
fn more_than_one(set: &SetGuidance, about: usize) -> String {
    if set.chance_together.is_nan() {
        return "no chance can be told".to_owned();
    }
    let chance = chance(set.chance_together);
    match about {
        1 => "none of the others is to be expected".to_owned(),
        2 => format!("both found this week: {chance}"),
        _ => format!("two or more of them found this week: {chance}"),
    }
}

/// Why no chance is told of species.
pub const FINDS_ALONE: &str = "their counts hold finds alone, and nobody knows on which visits they \
    were looked for in vain";

/// Said of a curve that finds alone raise.
pub const CURVE_OF_FINDS: &str = "Its counts hold finds alone: the curve shows when it is found, and \
    is higher than what a visit can expect.";

/// What is said where finds alone are known of species; `to_do` is what the keeper can do about it.
pub fn finds_alone(found_about: &[String], to_do: &str) -> String {
    const NAMED: usize = 5;
    let of = match found_about.len() {
        0 => "some species found here".to_owned(),
        n if n > NAMED => format!(
            "{} and {} more, found about this date in earlier years",
            found_about[..NAMED].join(", "),
            n - NAMED
        ),
        _ => format!(
            "{}, found about this date in earlier years",
            list(found_about)
        ),
    };
    format!("No chance can be told of {of}: {FINDS_ALONE}{to_do}.")
}

/// What a keeper can do where finds alone are known.
pub const WRITE_ALL_DOWN: &str = "; if every species found was always written down, set \
    fully_reported = true for that source in wingtide.toml, then load and fit again";

/// A chance or share of a species in words; a dash where it was never recorded, or is not told.
pub fn told(member: &MemberGuidance, p: f64) -> String {
    match member.recorded && !p.is_nan() {
        true => chance(p),
        false => "-".to_owned(),
    }
}

/// Names to doubt: members hardly to be expected in the week; None where all may be about. Of a species
/// that is neither listed nor ever recorded nothing is known, be it never looked for or never there.
pub fn doubt(set: &SetGuidance) -> Option<String> {
    let members = set.members.iter().filter(|m| !about_now(m));
    let (unknown, hardly): (Vec<_>, Vec<_>) = members.partition(|m| !m.recorded && !m.listed);
    let names =
        |of: &[&MemberGuidance]| list(&of.iter().map(|m| m.name.as_str()).collect::<Vec<_>>());
    let known =
        (!hardly.is_empty()).then(|| format!("Names to doubt this week: {}.", names(&hardly)));
    let not_known = match unknown.len() {
        0 => None,
        1 => Some(("is", "was", "it")),
        _ => Some(("are", "were", "them")),
    };
    let not_known = not_known.map(|(are, were, them)| {
        format!(
            "{} {are} not among the species listed here and {were} never recorded here, so \
             nothing is known of {them}.",
            names(&unknown)
        )
    });
    let both: Vec<String> = known.into_iter().chain(not_known).collect();
    (!both.is_empty()).then(|| both.join(" "))
}

/// From this number of birds on shares are told: with fewer, they only divide the half bird that is
/// spread over the members.
const SHARED: f64 = 1.0;

/// A species' part of a set's birds in words; a dash where none were counted at this time of the
/// year, or never one of the species.
pub fn share(member: &MemberGuidance, birds: f64) -> String {
    match birds >= SHARED {
        true => told(member, member.share),
        false => "-".to_owned(),
    }
}

/// On how many birds the shares stand.
pub fn shares_rest_on(birds: f64) -> String {
    if birds < SHARED {
        return "No bird of the set was counted at this time of any year, so no shares are told."
            .to_string();
    }
    if birds < 1000.0 {
        let counted = count_of(birds.round() as usize, "bird", "birds");
        return format!("The shares rest on {counted} counted at this time of the year.");
    }
    // three figures say how much it is; more would pretend to matter
    let step = 10f64.powi(birds.log10().floor() as i32 - 2);
    let rounded = ((birds / step).round() * step) as usize;
    let rounded = grouped(rounded as u64);
    format!("The shares rest on about {rounded}{TIE}birds counted at this time of the year.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::{marks::tests::bare, plain_spaces};

    #[test]
    fn no_pair_is_the_likeliest_where_none_is_to_be_expected() {
        let mut set = bare();
        assert!(together(&set).contains("likeliest"));
        set.chance_together = HARDLY / 2.0;
        assert_eq!(
            plain_spaces(&together(&set)),
            "Chance that two of these are both found this week: under 2 %."
        );
    }

    #[test]
    fn a_set_in_brief_says_what_its_chances_are_of() {
        let mut set = bare();
        let brief = |set: &SetGuidance| plain_spaces(&in_brief(set));
        for (about, said) in [
            (3, "; two or more of them found this week: "),
            (2, "; both found this week: "),
            (1, "; none of the others is to be expected."),
        ] {
            for (place, member) in set.members.iter_mut().enumerate() {
                member.chance_week = if place < about { 0.4 } else { HARDLY / 2.0 };
            }
            assert!(brief(&set).contains(said), "{}", brief(&set));
        }
        set.members[0].recorded = false;
        assert_eq!(brief(&set), "none expected.");
    }

    #[test]
    fn no_doubt_is_cast_on_what_is_not_counted() {
        let mut set = bare();
        for member in &mut set.members {
            member.chance_week = HARDLY / 2.0;
            member.recorded = false;
        }
        let names: Vec<String> = set.members.iter().map(|m| m.name.clone()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let all = format!("Names to doubt this week: {}.", list(&names));
        assert_eq!(doubt(&set), Some(all));
        set.members[0].listed = false;
        let others = format!("Names to doubt this week: {}. ", list(&names[1..]));
        let first = format!(
            "{} is not among the species listed here and was never recorded here, so nothing is known of it.",
            set.members[0].name
        );
        assert_eq!(doubt(&set), Some(others + &first));
        for member in &mut set.members {
            member.listed = false;
        }
        let said = doubt(&set).unwrap();
        assert!(
            said.ends_with("were never recorded here, so nothing is known of them."),
            "{said}"
        );
        assert!(!said.contains("doubt"), "{said}");
    }

    #[test]
    fn shares_of_no_birds_are_not_told() {
        let set = bare();
        assert!(share(&set.members[0], 40.0).ends_with('%'));
        assert_eq!(share(&set.members[0], 0.5), "-");
        assert_eq!(
            shares_rest_on(0.5),
            "No bird of the set was counted at this time of any year, so no shares are told."
        );
        assert!(shares_rest_on(40.0).contains("rest on 40"));
    }
}

//! Every word that guidance, digests and charts share: dates, chances, numbers, passages.
//!
//! English for now; a second language is a second set of these functions and templates.
//! Parts that must stay on one line are tied with a no-break space; [`plain_spaces`] unties
//! them where the output is a terminal or plain text.

use crate::dates::{self, DateStyle};
use crate::guidance::types::{MarkGuidance, MemberGuidance, SetGuidance, Stands};
use chrono::{Datelike, NaiveDate, Weekday};
use config::look_alikes::{Plumage, Trust};
use forecast::calendar::IsoWeek;
use ingest::report::grouped;

/// BCP 47 tag of the language of these words.
pub const LANGUAGE: &str = "en";

/// A chance below this is called "under 2 %", and a species below it for the week is outside
/// its window.
pub const HARDLY: f64 = forecast::stands::OUTSIDE_BELOW;

/// From this chance up it is called "over 98 %".
pub const NEARLY_SURE: f64 = 0.98;

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// Joins words that must not be parted at a line's end.
pub const TIE: char = '\u{a0}';

/// No-break spaces as plain ones, for terminals and plain text.
pub fn plain_spaces(text: &str) -> String {
    text.replace(TIE, " ")
}

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

/// "1 visit", "3 visits": the number tied to its noun.
pub fn count_of(n: usize, one: &str, many: &str) -> String {
    let noun = if n == 1 { one } else { many };
    format!("{}{TIE}{noun}", grouped(n as u64))
}

/// Name of a month, 1..=12.
pub fn month(month: u32) -> &'static str {
    MONTHS[(month as usize + 11) % 12]
}

/// The first three letters of a month's name, for axes.
pub fn month_short(number: u32) -> &'static str {
    &month(number)[..3]
}

/// "3 May", as all dates here in the [`DateStyle`] in force.
pub fn day_month(date: NaiveDate) -> String {
    let (day, month) = (date.day(), month(date.month()));
    match dates::style() {
        DateStyle::DayMonth => format!("{day}{TIE}{month}"),
        DateStyle::MonthDay => format!("{month}{TIE}{day}"),
        DateStyle::Iso => date.format("%m-%d").to_string(),
    }
}

/// "3 May 2026".
pub fn day_month_year(date: NaiveDate) -> String {
    match dates::style() {
        DateStyle::DayMonth => format!("{}{TIE}{}", day_month(date), date.year()),
        DateStyle::MonthDay => format!("{},{TIE}{}", day_month(date), date.year()),
        DateStyle::Iso => date.to_string(),
    }
}

/// "Wednesday 26 August 2026".
pub fn weekday_date(date: NaiveDate) -> String {
    let day = match date.weekday() {
        Weekday::Mon => "Monday",
        Weekday::Tue => "Tuesday",
        Weekday::Wed => "Wednesday",
        Weekday::Thu => "Thursday",
        Weekday::Fri => "Friday",
        Weekday::Sat => "Saturday",
        Weekday::Sun => "Sunday",
    };
    let comma = match dates::style() {
        DateStyle::MonthDay => ",",
        DateStyle::DayMonth | DateStyle::Iso => "",
    };
    format!("{day}{comma} {}", day_month_year(date))
}

/// "24 to 30 August 2026", "28 December 2026 to 3 January 2027".
pub fn span(first: NaiveDate, last: NaiveDate) -> String {
    let end = day_month_year(last);
    if first.year() != last.year() || dates::style() == DateStyle::Iso {
        return format!("{} to {end}", day_month_year(first));
    }
    let same_month = first.month() == last.month();
    match dates::style() {
        DateStyle::MonthDay if same_month => {
            format!(
                "{} to {},{TIE}{}",
                day_month(first),
                last.day(),
                last.year()
            )
        }
        DateStyle::DayMonth if same_month => format!("{} to {end}", first.day()),
        _ => format!("{} to {end}", day_month(first)),
    }
}

/// "Week 35, 24 to 30 August 2026".
pub fn week(week: IsoWeek) -> String {
    let days = week.days();
    let (_, number) = week.year_and_week();
    format!("Week{TIE}{number}, {}", span(days[0], days[6]))
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

/// What kind of mark it is, in one word.
pub fn trust(trust: Trust) -> &'static str {
    match trust {
        Trust::Structure => "structure",
        Trust::Pattern => "pattern",
        Trust::Voice => "voice",
        Trust::Behaviour => "behaviour",
        Trust::Light => "light",
    }
}

/// A plumage in words.
pub fn plumage(plumage: Plumage) -> &'static str {
    plumage.in_words()
}

/// Plumages in words, or None where there are none to name.
pub fn plumages(seen: &[Plumage]) -> Option<String> {
    let named: Vec<&str> = seen.iter().map(|p| plumage(*p)).collect();
    (!named.is_empty()).then(|| list(&named))
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
    let together = match set.chance_together.is_nan() {
        true => "no chance can be told".to_owned(),
        false => format!("two of them together {}", chance(set.chance_together)),
    };
    format!("{}; {together}.", list(&named))
}

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
    format!(
        "No chance can be told of {of}: their counts hold finds alone, and nobody knows on which \
         visits they were looked for in vain{to_do}."
    )
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

/// Names to doubt: members hardly to be expected in the week; None where all may be about.
pub fn doubt(set: &SetGuidance) -> Option<String> {
    let members = set.members.iter().filter(|m| !about_now(m));
    let names: Vec<&str> = members.map(|m| m.name.as_str()).collect();
    (!names.is_empty()).then(|| format!("Names to doubt this week: {}.", list(&names)))
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
    if birds < 100.0 {
        let counted = count_of(birds.round() as usize, "bird", "birds");
        return format!("The shares rest on {counted} counted at this time of the year.");
    }
    // three figures say how much it is; more would pretend to matter
    let step = 10f64.powi(birds.log10().floor() as i32 - 2);
    let rounded = ((birds / step).round() * step) as usize;
    let rounded = grouped(rounded as u64);
    format!("The shares rest on about {rounded}{TIE}birds counted at this time of the year.")
}

/// A mark's part, its kind, and the plumages about now that it is bound to.
pub fn mark_heading(mark: &MarkGuidance) -> String {
    let kind = trust(mark.trust);
    match plumages(&mark.plumages) {
        Some(seen) => format!("{} ({kind}; {seen})", sentence(&mark.part)),
        None => format!("{} ({kind})", sentence(&mark.part)),
    }
}

/// Does the set's review say that nobody but its author has read the marks?
pub fn unreviewed(set: &SetGuidance) -> bool {
    let said = set.review.trim();
    said.is_empty() || said.eq_ignore_ascii_case("author only")
}

/// Who has reviewed a set's marks and where they come from, plainly.
pub fn review(set: &SetGuidance) -> String {
    if set.marks.is_empty() && set.not_to_rely_on.is_empty() {
        return without_marks(set);
    }
    let review = if unreviewed(set) {
        "Nobody but their author has reviewed these marks.".to_string()
    } else {
        format!("These marks were reviewed: {}", stop(&set.review))
    };
    if set.source.trim().is_empty() {
        review
    } else {
        format!("{review} Where they come from: {}", stop(&set.source))
    }
}

/// Why a set shows no mark: marks are for telling apart what may be about.
fn without_marks(set: &SetGuidance) -> String {
    let about: Vec<&str> = set
        .members
        .iter()
        .filter(|m| about_now(m))
        .map(|m| m.name.as_str())
        .collect();
    match about[..] {
        [] => "None of these is to be expected this week, so no marks are shown.".to_owned(),
        [only] => {
            format!("Of these, only {only} is to be expected this week, so no marks are shown.")
        }
        _ => "The set has no mark that tells apart those to be expected on this date.".to_owned(),
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
    use crate::digest::tests::digests::autumn;

    fn date(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap()
    }

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

    #[test]
    fn spans_name_month_and_year_only_where_they_change() {
        let said = |a, b| plain_spaces(&span(a, b));
        assert_eq!(
            said(date(2026, 8, 24), date(2026, 8, 30)),
            "24 to 30 August 2026"
        );
        assert_eq!(
            said(date(2026, 8, 31), date(2026, 9, 6)),
            "31 August to 6 September 2026"
        );
        assert_eq!(
            said(date(2026, 12, 28), date(2027, 1, 3)),
            "28 December 2026 to 3 January 2027"
        );
        assert_eq!(
            plain_spaces(&week(IsoWeek::of(date(2027, 1, 2)))),
            "Week 53, 28 December 2026 to 3 January 2027"
        );
    }

    #[test]
    fn lists_read_as_people_say_them() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["a"]), "a");
        assert_eq!(list(&["a", "b", "c"]), "a, b and c");
    }

    /// A set of an autumn with three members to be expected, its marks taken away.
    fn bare() -> SetGuidance {
        let mut set = autumn().sites.remove(0).guidance.sets.remove(0);
        set.marks.clear();
        set.not_to_rely_on.clear();
        set
    }

    #[test]
    fn why_there_are_no_marks_is_said_as_it_is() {
        let mut set = bare();
        assert_eq!(
            review(&set),
            "The set has no mark that tells apart those to be expected on this date."
        );
        let first = set.members[0].name.clone();
        for member in &mut set.members[1..] {
            member.chance_week = HARDLY / 2.0;
        }
        let only =
            format!("Of these, only {first} is to be expected this week, so no marks are shown.");
        assert_eq!(review(&set), only);
        set.members[0].recorded = false;
        assert!(review(&set).starts_with("None of these is to be expected"));
    }

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

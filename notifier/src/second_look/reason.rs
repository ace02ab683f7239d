//! Why a record is asked about, in words.

use super::list::{LookAlike, Place};
use crate::words;
use forecast::second_look::{Judged, Outside, Reason, Said, Standing};
use ingest::store::said as in_words;

/// In one word, for other programs.
pub(super) fn kind(reason: &Reason) -> &'static str {
    match reason {
        Reason::SwappedDate(_) => "swapped-date",
        Reason::LookAlike(_) => "look-alike",
        Reason::UnlikelySite(_) => "unlikely-site",
        Reason::Tenfold => "tenfold",
        Reason::OutOfSeason(Outside::Early, _) => "too-early",
        Reason::OutOfSeason(Outside::Late, _) => "too-late",
        Reason::NeverHere => "never-here",
        Reason::TooMany => "too-many",
    }
}

/// In a sentence or two.
pub(super) fn because(
    place: &Place,
    said: &Said,
    judged: &Judged,
    standing: &Standing,
    reason: &Reason,
    look_alikes: &[LookAlike],
) -> String {
    let name = place.name(said.species);
    match reason {
        Reason::SwappedDate(date) => format!(
            "{}. With day and month the other way round it would be {}, when {name} is likelier.",
            words::sentence(&nearest(standing)),
            words::day_month_year(*date)
        ),
        Reason::LookAlike(other) => format!(
            "{} is far likelier on that date{}. {}.",
            place.name(*other),
            shares(place, said, *other, look_alikes),
            words::sentence(&most(said, standing))
        ),
        Reason::UnlikelySite(other) => format!(
            "{} of {name} in {}, while {} is to be expected on that date.",
            match standing.records {
                0 => "No earlier record here".to_owned(),
                n => format!(
                    "Only {} here",
                    words::count_of(n, "earlier record", "earlier records")
                ),
            },
            words::count_of(place.earlier_visits(said.date), "visit", "visits"),
            place.name(*other)
        ),
        Reason::Tenfold => format!(
            "{} were to be expected on that visit. With a nought less it would be {}, which is \
             likelier.",
            words::sentence(&words::birds(judged.expected)),
            said.count.birds() / 10
        ),
        Reason::OutOfSeason(side, days) => format!(
            "{} {} than the nearest of {} here in earlier years{}.",
            words::count_of(usize::from(*days), "day", "days"),
            match side {
                Outside::Early => "earlier",
                Outside::Late => "later",
            },
            words::count_of(standing.records, "record", "records"),
            standing
                .nearest
                .map_or_else(String::new, |(date, ..)| format!(
                    ", that of {}",
                    words::day_month_year(date)
                ))
        ),
        Reason::NeverHere => format!(
            "{name} was never recorded here in {} of earlier years.",
            words::count_of(place.earlier_visits(said.date), "visit", "visits")
        ),
        Reason::TooMany => format!("{}.", words::sentence(&most(said, standing))),
    }
}

fn nearest(standing: &Standing) -> String {
    match standing.nearest {
        None => "it was never recorded here in earlier years".to_owned(),
        Some((date, _, 0)) => format!(
            "it was found on that day of the year before, on {}",
            words::day_month_year(date)
        ),
        Some((date, side, days)) => format!(
            "the record lies {} {} the nearest of earlier years ({})",
            words::count_of(usize::from(days), "day", "days"),
            match side {
                Outside::Early => "before",
                Outside::Late => "after",
            },
            words::day_month_year(date)
        ),
    }
}

fn most(said: &Said, standing: &Standing) -> String {
    let many = in_words(said.count);
    match standing.most {
        0 => "none was counted within two weeks of that date in earlier years".to_owned(),
        most if said.count.birds() > most => format!(
            "{many} of them, where at most {most} were counted within two weeks of that date in \
             earlier years"
        ),
        most => format!("up to {most} were counted within two weeks of that date in earlier years"),
    }
}

fn shares(place: &Place, said: &Said, other: usize, look_alikes: &[LookAlike]) -> String {
    let of = |species: usize| {
        let name = place.scene.names[species];
        look_alikes
            .iter()
            .find(|l| l.species == name)
            .map(|l| l.share)
    };
    match (of(other), of(said.species)) {
        (Some(others), Some(own)) if others > own => format!(
            ": {} of the set's birds against {}",
            words::chance(others),
            words::chance(own)
        ),
        _ => String::new(),
    }
}

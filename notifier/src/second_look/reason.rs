//! Why a record is asked about, in words.

use super::list::LookAlike;
use super::place::Place;
use crate::words;
use chrono::NaiveDate;
use forecast::second_look::{Judged, Outside, Reason, Said, Standing};
use ingest::report::grouped;
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

/// What a reason is told from.
pub(super) struct Grounds<'a> {
    pub(super) place: &'a Place<'a>,
    pub(super) said: &'a Said,
    pub(super) judged: &'a Judged,
    pub(super) standing: &'a Standing,
    pub(super) look_alikes: &'a [LookAlike],
}

impl Grounds<'_> {
    /// In a sentence or two, with the numbers.
    pub(super) fn because(&self, reason: &Reason) -> String {
        let name = self.place.name(self.said.species);
        match reason {
            Reason::SwappedDate(date) => self.swapped(*date),
            Reason::LookAlike(other) => self.look_alike(*other),
            Reason::UnlikelySite(other) => self.unlikely_site(*other),
            Reason::Tenfold => self.tenfold(),
            Reason::OutOfSeason(side, days) => self.out_of_season(*side, *days),
            Reason::NeverHere => {
                format!(
                    "{name} was never recorded here in {}.",
                    self.earlier_visits()
                )
            }
            Reason::TooMany => format!(
                "{}. {} were to be expected on that visit. How was it counted?",
                words::sentence(&self.most()),
                words::sentence(&words::birds(self.judged.expected)),
            ),
        }
    }

    fn tenfold(&self) -> String {
        let birds = self.said.count.birds();
        let less = match birds.is_multiple_of(10) {
            true => "a nought less",
            false => "its last digit gone",
        };
        format!(
            "{} were to be expected on that visit. With {less} it would be {}, which is likelier. \
             How was it counted?",
            words::sentence(&words::birds(self.judged.expected)),
            birds / 10
        )
    }

    fn swapped(&self, date: NaiveDate) -> String {
        let expected = words::birds(self.judged.expected);
        let other = match self.judged.expected_instead {
            Some(birds) => format!("{} were", words::birds(birds)),
            None => "more were".to_owned(),
        };
        format!(
            "{}, and {expected} were to be expected. With day and month the other way round it would \
             be {}, when {other}.",
            words::sentence(&nearest(self.standing)),
            words::day_month_year(date)
        )
    }

    fn look_alike(&self, other: usize) -> String {
        let (name, taken_for) = (self.place.name(self.said.species), self.place.name(other));
        let expected = match self.judged.expected_instead {
            Some(birds) => format!(
                " On that visit {} of it were to be expected{}, and {} of {name}.",
                words::birds(birds),
                self.written_of(other),
                words::birds(self.judged.expected)
            ),
            None => String::new(),
        };
        format!(
            "{taken_for} is far likelier on that date{}.{expected} {}.",
            self.shares(other),
            words::sentence(&self.most())
        )
    }

    /// What the visit tells of the other species.
    fn written_of(&self, other: usize) -> String {
        let series = self.place.scene.series[other];
        let mut that_day = series.known().filter(|(v, _)| v.date == self.said.date);
        match that_day.next() {
            Some((_, count)) if count.found() == Some(true) => {
                format!(" ({} written down)", in_words(count))
            }
            Some(_) => " (none written down)".to_owned(),
            None => String::new(),
        }
    }

    fn unlikely_site(&self, other: usize) -> String {
        let records = match self.standing.records {
            0 => "No earlier record here".to_owned(),
            n => format!(
                "Only {} here",
                words::count_of(n, "earlier record", "earlier records")
            ),
        };
        format!(
            "{records} of {} in {}, while {} is to be expected on that date{}.",
            self.place.name(self.said.species),
            self.earlier_visits(),
            self.place.name(other),
            self.written_of(other)
        )
    }

    fn out_of_season(&self, side: Outside, days: u16) -> String {
        let nearest = self
            .standing
            .nearest
            .map_or_else(String::new, |(date, ..)| {
                format!(", that of {}", words::day_month_year(date))
            });
        format!(
            "{} {} than the nearest of {} here in earlier years{nearest}; {}.",
            words::count_of(usize::from(days), "day", "days"),
            match side {
                Outside::Early => "earlier",
                Outside::Late => "later",
            },
            words::count_of(self.standing.records, "record", "records"),
            self.rarity()
        )
    }

    fn earlier_visits(&self) -> String {
        let visits = self.place.earlier_visits(self.said.date);
        format!(
            "{} of earlier years",
            words::count_of(visits, "visit", "visits")
        )
    }

    /// How many were counted about that date before; where that is no fewer, how rarely so many come.
    fn most(&self) -> String {
        let many = in_words(self.said.count);
        match self.standing.most {
            0 => "none was counted within two weeks of that date in earlier years".to_owned(),
            most if self.said.count.birds() > most => format!(
                "{many} of them, where at most {most} were counted within two weeks of that date in \
                 earlier years"
            ),
            most => format!(
                "up to {most} were counted within two weeks of that date in earlier years, but {}",
                self.rarity()
            ),
        }
    }

    fn rarity(&self) -> String {
        format!(
            "so many or more are to be expected on {}",
            one_visit_in(self.judged.at_least)
        )
    }

    fn shares(&self, other: usize) -> String {
        let of = |species: usize| {
            let name = self.place.scene.names[species];
            let mut all = self.look_alikes.iter();
            all.find(|l| l.species == name).map(|l| l.share)
        };
        match (of(other), of(self.said.species)) {
            (Some(others), Some(own)) if others > own => format!(
                ": {} of the set's birds against {}",
                words::chance(others),
                words::chance(own)
            ),
            _ => String::new(),
        }
    }
}

/// "one such visit in 90": a chance to one figure.
fn one_visit_in(chance: f64) -> String {
    let visits = 1.0 / chance;
    if !visits.is_finite() || visits >= 10_000.0 {
        return "less than one such visit in 10,000".to_owned();
    }
    let step = 10f64.powi(visits.max(1.0).log10().floor() as i32);
    let rounded = ((visits / step).round() * step) as u64;
    match rounded {
        0 | 1 => "most such visits".to_owned(),
        n => format!("one such visit in {}", grouped(n)),
    }
}

fn nearest(standing: &Standing) -> String {
    match standing.nearest {
        None => "it was never recorded here in earlier years".to_owned(),
        // two dates of one day of the year, which a leap year parts
        Some((date, _, 0)) => format!(
            "it was found about that date in earlier years, as on {}",
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

#[cfg(test)]
mod tests {
    use super::one_visit_in;

    #[test]
    fn chances_are_told_by_visits() {
        assert_eq!(one_visit_in(0.0109), "one such visit in 90");
        assert_eq!(one_visit_in(0.3), "one such visit in 3");
        assert_eq!(one_visit_in(1.0 / 1_240.0), "one such visit in 1,000");
        assert_eq!(one_visit_in(0.8), "most such visits");
        for chance in [0.0, 1e-5] {
            assert_eq!(one_visit_in(chance), "less than one such visit in 10,000");
        }
    }
}

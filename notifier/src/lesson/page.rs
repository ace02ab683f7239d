//! A set on the screen.

use super::{Group, Lesson};
use crate::{columns, words};
use config::look_alikes::regions::REGIONS;
use config::look_alikes::{Mark, Member, Plumage, PlumageMonths};

/// The set as text of `width` columns at most, with bold headings where `colour` is wanted.
pub fn page(lesson: &Lesson<'_>, width: usize, colour: bool) -> String {
    let mut page = Page {
        text: String::new(),
        lesson,
        width,
        colour,
    };
    page.opening();
    page.members();
    page.marks("Marks to trust, the most trusted first", &lesson.trusted());
    page.marks(
        "Not to rely on: these change with light",
        &lesson.not_to_rely_on(),
    );
    page.cannot_tell();
    page.describe();
    page.closing();
    page.text
}

struct Page<'a> {
    text: String,
    lesson: &'a Lesson<'a>,
    width: usize,
    colour: bool,
}

impl Page<'_> {
    fn wrapped(&mut self, text: &str, first: &str, rest: &str) {
        self.text
            .push_str(&columns::wrap(text, first, rest, self.width));
        self.text.push('\n');
    }

    fn heading(&mut self, text: &str) {
        let text = columns::wrap(text, "", "", self.width);
        match self.colour {
            true => self.text.push_str(&format!("\u{1b}[1m{text}\u{1b}[0m\n")),
            false => self.text.push_str(&format!("{text}\n")),
        }
    }

    fn opening(&mut self) {
        let set = self.lesson.set;
        self.heading(&format!("{} ({})", set.title, set.id));
        let when = when(self.lesson);
        self.wrapped(&when, "", "");
        let absent = self.lesson.absent();
        if !absent.is_empty() {
            let absent = format!("Not to be expected there then: {}.", words::list(&absent));
            self.wrapped(&absent, "", "");
        }
    }

    fn members(&mut self) {
        for (member, plumages) in self.lesson.about() {
            self.text.push('\n');
            let name = self.lesson.name(&member.species).to_owned();
            self.heading(&format!("{name} ({})", member.species));
            let others = other_names(member, &name);
            if !others.is_empty() {
                self.wrapped(&others, "  ", "  ");
            }
            for worn in plumages {
                let line = self.plumage(worn);
                self.wrapped(&line, "  - ", "    ");
            }
        }
    }

    /// A plumage with its months, its region where several are shown, and its moult.
    fn plumage(&self, worn: &PlumageMonths) -> String {
        let mut line = format!("{}: {}", worn.plumage.in_words(), months(&worn.months));
        if self.lesson.region.is_none() && self.lesson.set.regions().len() > 1 {
            line.push_str(&format!(" ({})", worn.region.0));
        }
        match &worn.moult {
            Some(moult) => format!("{line}. {moult}"),
            None => format!("{line}."),
        }
    }

    fn marks(&mut self, heading: &str, marks: &[(&Mark, Vec<Group<'_>>)]) {
        if marks.is_empty() {
            return;
        }
        self.text.push('\n');
        self.heading(heading);
        for (mark, groups) in marks {
            self.wrapped(&mark_heading(mark), "  - ", "    ");
            for group in groups {
                let who = words::list(&group.names);
                let of = bound_to(&group.shows.plumages, &[]);
                self.wrapped(
                    &format!("{who}{of}: {}", group.shows.text),
                    "      ",
                    "        ",
                );
            }
            let here =
                |species: &String| groups.iter().any(|g| g.species.contains(&species.as_str()));
            let met = mark.not_between.iter().filter(|(a, b)| here(a) && here(b));
            for (a, b) in met {
                let (a, b) = (self.lesson.name(a), self.lesson.name(b));
                let text = format!("Does not part {a} from {b}.");
                self.wrapped(&text, "      ", "        ");
            }
            if let Some(trap) = mark.trap() {
                self.wrapped(&format!("Trap: {trap}"), "      ", "        ");
            }
        }
    }

    fn cannot_tell(&mut self) {
        let entries = self.lesson.cannot_tell();
        if entries.is_empty() {
            return;
        }
        self.text.push('\n');
        self.heading("Cannot be told apart");
        for entry in entries {
            let of = bound_to(&entry.plumages, &entry.months);
            let names: Vec<&str> = entry.members.iter().map(|m| self.lesson.name(m)).collect();
            let who = words::list(&names);
            self.wrapped(&format!("{who}{of}: {}", entry.text), "  - ", "    ");
        }
    }

    fn describe(&mut self) {
        let about = self.lesson.about();
        let told: Vec<String> = about
            .iter()
            .filter_map(|(m, _)| {
                let what = m.describe.as_ref()?;
                Some(format!("{}: {what}", self.lesson.name(&m.species)))
            })
            .collect();
        if told.is_empty() {
            return;
        }
        self.text.push('\n');
        self.heading("To claim one, write down");
        for line in told {
            self.wrapped(&line, "  - ", "    ");
        }
    }

    fn closing(&mut self) {
        let set = self.lesson.set;
        self.text.push('\n');
        let review = match set.review.trim().eq_ignore_ascii_case("author only") {
            true => "Nobody but their author has reviewed these marks.".to_owned(),
            false => format!("Reviewed: {}", words::stop(&set.review)),
        };
        let from = format!(
            "{review} Where they come from: {}",
            words::stop(&set.source)
        );
        self.wrapped(&from, "", "");
    }
}

/// Where and when the lesson is for.
pub fn when(lesson: &Lesson<'_>) -> String {
    let place = match &lesson.region {
        Some(region) => {
            let covers = REGIONS.iter().find(|(name, _)| *name == region.0);
            covers.map_or(region.0.clone(), |(_, covers)| words::sentence(covers))
        }
        None => "All its regions".to_owned(),
    };
    match lesson.month {
        Some(month) => format!("{place}, {}.", words::month(month.into())),
        None => format!("{place}, the whole year."),
    }
}

/// A mark's part, its kind, and the plumages and months that it is bound to.
pub fn mark_heading(mark: &Mark) -> String {
    let bound = bound_to(&mark.plumages, &mark.months);
    let bound = bound.trim_start_matches(" (").trim_end_matches(')');
    let part = words::sentence(&mark.part);
    match bound {
        "" => format!("{part} ({})", mark.trust),
        bound => format!("{part} ({}; {bound})", mark.trust),
    }
}

/// " (female; September to February)", or nothing where all are meant.
pub fn bound_to(plumages: &[Plumage], in_months: &[u8]) -> String {
    let named = words::plumages(plumages);
    let when = (!in_months.is_empty()).then(|| months(in_months));
    let bound: Vec<String> = named.into_iter().chain(when).collect();
    match bound.is_empty() {
        true => String::new(),
        false => format!(" ({})", bound.join("; ")),
    }
}

/// Its names in other languages.
fn other_names(member: &Member, shown: &str) -> String {
    let others = member.names.iter().filter(|(_, name)| *name != shown);
    let named: Vec<String> = others
        .map(|(tag, name)| format!("{name} ({tag})"))
        .collect();
    named.join(", ")
}

/// Months as runs through the turn of the year: "September to March", "May, July to August".
pub fn months(of: &[u8]) -> String {
    let has = |month: u8| of.contains(&month);
    let before = |month: u8| if month == 1 { 12 } else { month - 1 };
    let after = |month: u8| if month == 12 { 1 } else { month + 1 };
    let starts: Vec<u8> = (1..=12).filter(|m| has(*m) && !has(before(*m))).collect();
    if starts.is_empty() {
        return "all year".to_owned();
    }
    let run = |start: &u8| {
        let mut end = *start;
        while has(after(end)) {
            end = after(end);
        }
        let (first, last) = (words::month((*start).into()), words::month(end.into()));
        match first == last {
            true => first.to_owned(),
            false => format!("{first} to {last}"),
        }
    };
    starts.iter().map(run).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::{months, page};
    use crate::lesson::Lesson;
    use config::look_alikes::{Region, shipped};
    use std::collections::BTreeMap;

    /// Scaups of August in Europe: two of the four are absent, so nothing is said of that pair.
    #[test]
    fn what_a_mark_does_not_part_is_told_of_those_that_are_about() {
        let sets = shipped().unwrap();
        let set = sets.iter().find(|s| s.id == "scaup-like-divers").unwrap();
        let told = |month| {
            let lesson = Lesson {
                set,
                region: Some(Region("western-palearctic".to_owned())),
                month: Some(month),
                names: BTreeMap::new(),
            };
            page(&lesson, 200, false)
        };
        let absent = "Does not part Lesser Scaup from Ring-necked Duck.";
        let about = "Does not part Greater Scaup from Tufted Duck.";
        assert!(!told(8).contains(absent) && told(8).contains(about));
        assert!(told(1).contains(absent) && told(1).contains(about));
    }

    #[test]
    fn months_are_runs_through_the_turn_of_the_year() {
        let all: Vec<u8> = (1..=12).collect();
        assert_eq!(months(&all), "all year");
        assert_eq!(months(&[9, 10, 11, 12, 1, 2, 3]), "September to March");
        assert_eq!(months(&[5, 7, 8]), "May, July to August");
        assert_eq!(months(&[12]), "December");
    }
}

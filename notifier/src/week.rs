//! This week's guidance as text on a screen; readable without colour.

use crate::columns;
use crate::digest::{Notice, choose};
use crate::findings::{Findings, Temperature};
use crate::guidance::types::{MarkGuidance, MemberGuidance, SetGuidance, WeekGuidance};
use crate::words;

/// How much of a set is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// The few marks that matter most, without their traps.
    Few,
    /// Every mark that holds on the date, its traps, and what a description must contain.
    All,
}

/// The guidance, after what is to be known before it is read, as text of `width` columns at most (80 is the usual), with bold headings where
/// `colour` is wanted.
pub fn render_week(
    week: &WeekGuidance,
    notices: &[Notice],
    detail: Detail,
    width: usize,
    colour: bool,
) -> String {
    let mut page = Page {
        text: String::new(),
        detail,
        width,
        colour,
    };
    page.opening(week);
    for notice in notices {
        page.wrapped(&notice.words(), "", "  ");
    }
    for set in &week.sets {
        page.set(set, &week.findings);
    }
    page.others(&week.others, &week.findings);
    page.findings(&week.findings);
    page.closing(week);
    page.text
}

const TRUSTED: &str = "Marks to trust, the most trusted first";

struct Page {
    text: String,
    detail: Detail,
    width: usize,
    colour: bool,
}

impl Page {
    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn wrapped(&mut self, text: &str, first: &str, rest: &str) {
        let text = columns::wrap(text, first, rest, self.width);
        self.line(&text);
    }

    /// A heading, bold where colour is wanted.
    fn heading(&mut self, text: &str, indent: &str) {
        let text = columns::wrap(text, indent, indent, self.width);
        if self.colour {
            self.line(&format!("\u{1b}[1m{text}\u{1b}[0m"));
        } else {
            self.line(&text);
        }
    }

    fn opening(&mut self, week: &WeekGuidance) {
        self.heading(&week.site_name, "");
        let date = format!(
            "{}. {}.",
            words::weekday_date(week.date),
            words::week(week.week)
        );
        self.wrapped(&date, "", "");
        if week.watched {
            let visits = words::count_of(
                week.visits_assumed as usize,
                "standard visit",
                "standard visits",
            );
            self.wrapped(
                &format!("\"This week\" is the chance of finding one or more in {visits}."),
                "",
                "",
            );
        } else {
            self.wrapped(words::NOT_WATCHED, "", "");
        }
        if let Some(found_about) = &week.finds_alone {
            let words = words::finds_alone(found_about, words::WRITE_ALL_DOWN);
            self.wrapped(&words, "", "  ");
        }
    }

    fn set(&mut self, set: &SetGuidance, findings: &Findings) {
        self.line("");
        self.heading(&format!("{} ({})", set.title, set.id), "");
        self.table(set);
        self.few_records(&set.members, findings);
        self.wrapped(&words::together(set), "  ", "  ");
        if let Some(doubt) = words::doubt(set) {
            self.wrapped(&doubt, "  ", "  ");
        }
        self.wrapped(&words::shares_rest_on(set.effective_birds), "  ", "  ");
        self.plumages(&set.members);
        match self.detail {
            Detail::Few => self.few_marks(set),
            Detail::All => self.all_marks(set),
        }
        self.line("");
        self.wrapped(&words::review(set), "  ", "  ");
    }

    /// Where the records of scarce species lie.
    fn few_records(&mut self, members: &[MemberGuidance], findings: &Findings) {
        for few in members
            .iter()
            .filter_map(|m| findings.few_words(&m.species))
        {
            self.wrapped(&few, "  ", "    ");
        }
    }

    /// What the years say, a paragraph each.
    fn findings(&mut self, findings: &Findings) {
        let temperature = findings.temperature.as_ref();
        let paragraphs = temperature.map_or_else(Vec::new, Temperature::words);
        for paragraph in paragraphs {
            self.line("");
            self.wrapped(&paragraph, "", "  ");
        }
    }

    fn few_marks(&mut self, set: &SetGuidance) {
        let few: Vec<MarkGuidance> = choose::marks(set)
            .iter()
            .map(choose::Chosen::brief)
            .collect();
        self.marks(TRUSTED, &few);
        let light = choose::not_to_rely_on(set);
        if !light.is_empty() {
            self.line("");
            let light = format!(
                "Not to rely on, as they change with light: {}.",
                words::list(&light)
            );
            self.wrapped(&light, "  ", "  ");
        }
        self.list("Cannot be told apart", &set.cannot_tell);
        if few.len() < set.marks.len() {
            self.line("");
            let (shown, all) = (few.len(), set.marks.len());
            let more = format!(
                "{shown} of {all} marks; all, with their traps: --set {} --all",
                set.id
            );
            self.wrapped(&more, "  ", "  ");
        }
    }

    fn all_marks(&mut self, set: &SetGuidance) {
        self.marks(TRUSTED, &set.marks);
        self.marks(
            "Not to rely on: these change with light",
            &set.not_to_rely_on,
        );
        self.list("Cannot be told apart", &set.cannot_tell);
        let describe = set
            .describe
            .iter()
            .map(|(who, what)| format!("{who}: {what}"));
        self.list("To claim one, write down", &describe.collect::<Vec<_>>());
    }

    fn table(&mut self, set: &SetGuidance) {
        let of_set = (&set.members[..], set.effective_birds);
        let (lines, starred) = columns::member_table(of_set, "  ", self.width);
        for line in lines {
            self.line(&line);
        }
        if starred {
            self.wrapped(words::STARRED, "  ", "    ");
        }
    }

    fn plumages(&mut self, members: &[MemberGuidance]) {
        let seen =
            |m: &MemberGuidance| Some(format!("{}: {}", m.name, words::plumages(&m.plumages)?));
        let lines: Vec<String> = members.iter().filter_map(seen).collect();
        self.list("Plumages about now", &lines);
    }

    fn list(&mut self, heading: &str, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.line("");
        self.heading(heading, "  ");
        for item in items {
            self.wrapped(item, "  - ", "    ");
        }
    }

    fn marks(&mut self, heading: &str, marks: &[MarkGuidance]) {
        if marks.is_empty() {
            return;
        }
        self.line("");
        self.heading(heading, "  ");
        for mark in marks {
            self.wrapped(&words::mark_heading(mark), "  - ", "    ");
            for (who, what) in &mark.shows {
                self.wrapped(
                    &format!("{}: {what}", words::list(who)),
                    "      ",
                    "        ",
                );
            }
            if let Some(trap) = &mark.trap {
                self.wrapped(&format!("Trap: {trap}"), "      ", "        ");
            }
        }
    }

    fn others(&mut self, others: &[MemberGuidance], findings: &Findings) {
        if others.is_empty() {
            return;
        }
        self.line("");
        self.heading("Also to be expected this week", "");
        for one in others {
            let text = format!(
                "{}: {}, {}",
                one.name,
                words::chance(one.chance_week),
                words::stands(one)
            );
            self.wrapped(&text, "  - ", "    ");
        }
        self.few_records(others, findings);
    }

    fn closing(&mut self, week: &WeekGuidance) {
        self.line("");
        if !week.when_none_fits.is_empty() {
            self.wrapped(&week.when_none_fits, "", "  ");
        }
        self.wrapped(&week.reminder, "", "  ");
        for caution in &week.cautions {
            self.wrapped(&format!("Caution: {caution}"), "", "  ");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::digest::tests::digests::{autumn, quiet, stale};
    use unicode_width::UnicodeWidthStr;

    fn weeks() -> Vec<WeekGuidance> {
        let digests = [autumn(), quiet(), stale()];
        digests
            .into_iter()
            .flat_map(|d| d.sites)
            .map(|s| s.guidance)
            .collect()
    }

    #[test]
    fn no_line_is_wider_than_asked_for() {
        for width in [64, 80, 100] {
            for (week, detail) in weeks()
                .iter()
                .flat_map(|w| [(w, Detail::Few), (w, Detail::All)])
            {
                for line in render_week(week, &[], detail, width, false).lines() {
                    assert!(line.width() <= width, "{width}: {line}");
                }
            }
        }
    }

    #[test]
    fn colour_adds_nothing_to_the_words() {
        for week in weeks() {
            let plain = render_week(&week, &[], Detail::All, 80, false);
            let bold = render_week(&week, &[], Detail::All, 80, true);
            assert!(!plain.contains('\u{1b}') && bold.contains("\u{1b}[1m"));
            assert_eq!(
                bold.replace("\u{1b}[1m", "").replace("\u{1b}[0m", ""),
                plain
            );
        }
    }

    #[test]
    fn what_changes_with_light_comes_after_every_mark_to_trust() {
        let week = weeks().remove(0);
        let text = render_week(&week, &[], Detail::All, 80, false);
        let place = |words: &str| {
            text.find(words)
                .unwrap_or_else(|| panic!("{words} in {text}"))
        };
        let order = [
            "- Bill (structure)",
            "- Rump (pattern)",
            "- Call (voice)",
            "Not to rely on",
            "Colour of the legs",
        ];
        assert!(order.map(place).is_sorted());
        assert!(text.contains("Names to doubt this week: Temminck's Stint."));
        assert!(text.contains("A forecast never identifies a bird."));
    }

    #[test]
    fn an_unwatched_time_of_year_is_said() {
        let mut week = quiet().sites.remove(0).guidance;
        week.watched = false;
        week.sets.clear();
        let text = render_week(&week, &[], Detail::Few, 80, false);
        assert!(
            text.contains("not watched") && !text.contains("%"),
            "{text}"
        );
    }
}

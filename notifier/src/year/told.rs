//! The words on a chart of the year, and those for people who do not see it.

use super::{Row, Window, Without, Year};
use crate::findings::{passage, temperature};
use crate::guidance::{CAUTIONS, SiteView};
use crate::handout::{self, Block};
use crate::words::{self, TIE};
use forecast::calendar::MonthDay;
use forecast::fit::{DateEstimate, Verdict};
use forecast::series::Visit;
use std::collections::BTreeSet;

/// What the whole is not.
pub(super) const NO_PROOF: &str = "A chart of what is usual identifies no bird: it says what to \
    expect, and the bird decides.";
/// On a sheet that is not for everybody.
pub(super) const OWN_USE: &str =
    "For the keeper alone: sensitive species or sites are on this sheet.";

/// "From 1,204 visits in 27 years, 1999 to 2025."
pub(super) fn ground(visits: &[Visit]) -> String {
    let years: BTreeSet<i32> = visits.iter().map(Visit::year).collect();
    let count = words::count_of(visits.len(), "visit", "visits");
    match (years.first(), years.last()) {
        (Some(first), Some(last)) if first != last => {
            let years = words::count_of(years.len(), "year", "years");
            format!("From {count} in {years}, {first} to {last}.")
        }
        (Some(year), _) => format!("From {count} in {year}."),
        _ => format!("From {count}."),
    }
}

/// What others may do with it, without the word before it.
pub(super) fn licence(view: &SiteView, own: Option<&str>) -> String {
    let own = own.or(view.workspace.licence.as_deref());
    words::sentence(&handout::licence(view, own).text)
}

impl Year {
    /// "The year at Long Bank".
    pub fn title(&self) -> String {
        format!("The year at {}", self.site)
    }

    /// What is shown, whose and from what.
    pub(crate) fn under(&self) -> String {
        format!(
            "{}. What one standard visit finds in an average year. {}",
            self.workspace, self.ground
        )
    }

    /// What the rows show, for those who do not see them.
    pub(crate) fn text(&self, rows: &[Row]) -> String {
        let rows: Vec<String> = rows.iter().map(Row::told).collect();
        words::plain_spaces(&format!("{} {NO_PROOF}", rows.join(" ")))
    }

    /// How the chart is read.
    pub(crate) fn key(&self) -> Vec<String> {
        let mut key = vec![
            format!(
                "Each species has a scale of its own: the highest point of its line is the number \
                 written with its name, birds expected on one standard visit. Heights of two species \
                 cannot be compared."
            ),
            format!(
                "Line: the long-term curve. Shade: its 80{TIE}% interval, cut off where it is far \
                 above. Disc: the peak of a passage, its date above. Bar: the window, from arrival \
                 (5{TIE}% have gone through) to departure (95{TIE}%), both dates below; its thin \
                 ends: 80{TIE}% intervals of these dates. < about already when the watch begins, \
                 > about still when it ends."
            ),
            "Species stand in the order of their highest day, those about all year last. Colours \
             follow the season of that day and say nothing more."
                .to_owned(),
        ];
        if self.watched.contains(&false) {
            key.push("Hatched: nobody watches then.".to_owned());
        }
        if self.rows.iter().any(|row| row.of_finds) {
            key.push(
                "Finds alone: nobody knows on which visits the species was looked for in vain. The \
                 curve shows when it is found, and is higher than what a visit can expect."
                    .to_owned(),
            );
        }
        key.push(match self.found {
            Some(_) => "On top: how many of these species one standard visit is expected to find."
                .to_owned(),
            None => {
                "How many species a visit finds cannot be told: of some, finds alone are known."
                    .to_owned()
            }
        });
        key
    }

    /// Where it comes from and what may be done with it.
    pub(crate) fn source(&self) -> Vec<String> {
        let kept_back = match self.own_use {
            true => OWN_USE,
            false => "What the keeper calls sensitive is left out.",
        };
        let made = words::day_month_year(self.made);
        vec![
            format!(
                "{} Made with Wingtide, counts and curves as of {made}. {kept_back}",
                self.ground
            ),
            self.licence.clone(),
        ]
    }

    /// The foot of a sheet; species without a curve are named on the last.
    pub(super) fn foot(&self, last: bool) -> Vec<Block> {
        let text = |text: String| Block::text("", &text);
        let mut blocks = vec![Block::heading("How to read it")];
        blocks.extend(self.key().into_iter().map(text));
        let without = self.without.told();
        if last && !without.is_empty() {
            blocks.push(Block::heading("Also found, not drawn"));
            blocks.extend(without.into_iter().map(text));
        }
        blocks.push(Block::heading("Before you go by it"));
        blocks.push(Block::text(NO_PROOF, ""));
        blocks.push(text(CAUTIONS[..2].join(" ")));
        blocks.push(Block::heading("Where it comes from"));
        blocks.extend(self.source().into_iter().map(text));
        blocks
    }
}

impl Without {
    /// Sentences on species that are not drawn.
    pub(crate) fn told(&self) -> Vec<String> {
        let few: Vec<String> = { self.few.iter() }
            .map(|(name, birds)| format!("{name} ({birds})"))
            .collect();
        let mut told = Vec::new();
        if !few.is_empty() {
            let few = few.join(", ");
            told.push(format!(
                "Too few records for a curve, with birds counted: {few}."
            ));
        }
        for (why, names) in [
            ("No curve could be fitted to the counts of", &self.failed),
            ("Counted after the last fit", &self.unfitted),
        ] {
            if !names.is_empty() {
                told.push(format!("{why}: {}.", names.join(", ")));
            }
        }
        told
    }
}

impl Row {
    /// The top of its scale: "up to 12 a visit", "up to 12, finds alone".
    pub(super) fn scale(&self) -> String {
        let birds = words::birds(self.most);
        match self.of_finds {
            true => format!("up to{TIE}{birds}, finds{TIE}alone"),
            false => format!("up to{TIE}{birds}{TIE}a{TIE}visit"),
        }
    }

    /// Why it has no window; None where it has one.
    pub(crate) fn without_window(&self) -> Option<String> {
        match self.verdict {
            _ if !self.windows.is_empty() => None,
            Verdict::NoSeason => Some("no season shows".to_owned()),
            _ => Some("about all year".to_owned()),
        }
    }

    fn told(&self) -> String {
        let (name, birds) = (&self.curve.name, words::birds(self.most));
        let about = self.peak.map_or(String::new(), |day| {
            let day = MonthDay::of_position(f64::from(day.get()));
            format!(" about {}", temperature::day(day))
        });
        let windows: Vec<String> = match self.without_window() {
            Some(why) => vec![why],
            None => self.windows.iter().map(Window::told).collect(),
        };
        let of_finds = match self.of_finds {
            true => format!(" {}", words::CURVE_OF_FINDS),
            false => String::new(),
        };
        format!(
            "{name}: highest {birds}{about}; {}.{of_finds}",
            windows.join("; ")
        )
    }
}

impl Window {
    /// Dates as they stand under its bar.
    pub(super) fn words(&self) -> String {
        let Some((arrival, departure)) = self.days else {
            return format!("{}: too few for dates", passage(self.name));
        };
        let [from, to] = self.ends(arrival, departure);
        format!("{from}{TIE}–{TIE}{to}")
    }

    /// The same for a bar in two pieces, from autumn to New Year and on to spring: "from 22 Oct",
    /// "until 28 Mar".
    pub(super) fn words_apart(
        &self,
        arrival: DateEstimate,
        departure: DateEstimate,
    ) -> [String; 2] {
        let [from, to] = self.ends(arrival, departure);
        [format!("from{TIE}{from}"), format!("until{TIE}{to}")]
    }

    /// Both dates, with the signs of those that the watch cuts off.
    fn ends(&self, arrival: DateEstimate, departure: DateEstimate) -> [String; 2] {
        let [from, to] = [arrival, departure].map(|d| words::short_day(d.month_day()));
        let before = if self.begun_before { "<" } else { "" };
        let after = if self.ends_after { ">" } else { "" };
        [format!("{before}{from}"), format!("{to}{after}")]
    }

    /// "autumn 12 August to 3 October, peak 30 August".
    fn told(&self) -> String {
        let Some((arrival, departure)) = self.days else {
            return format!("{} with too few records for dates", passage(self.name));
        };
        let [from, to] = [arrival, departure].map(|d| temperature::day(d.month_day()));
        let peak = self.peak.map_or(String::new(), |peak| {
            format!(", peak {}", temperature::day(MonthDay::of_position(peak)))
        });
        format!("{} {from} to {to}{peak}", passage(self.name))
    }

    /// Arrival, peak and departure, short enough for a table on a phone.
    pub(crate) fn cells(&self) -> [String; 3] {
        let dash = || "–".to_owned();
        let short = |position| words::short_day(MonthDay::of_position(position));
        // without dates there is none for the watch to cut off
        let [arrival, departure] = match self.days {
            Some((arrival, departure)) => self.ends(arrival, departure),
            None => [dash(), dash()],
        };
        [arrival, self.peak.map_or_else(dash, short), departure]
    }
}

//! The first side's picture and what stands about it.

use crate::chart::{SetYear, YearRow, written};
use crate::compose::species_curve;
use crate::guidance::SiteView;
use crate::web::through_year;
use crate::words;
use chrono::NaiveDate;
use config::look_alikes::LookAlikeSet;
use forecast::calendar::DayOfYear;
use forecast::series::{CountSeries, Visit};
use forecast::share::shares;
use std::collections::BTreeSet;

/// The members that were ever counted at the site, through the year.
pub(super) fn picture(view: &SiteView, set: &LookAlikeSet, date: NaiveDate) -> SetYear {
    let weeks: Vec<DayOfYear> = through_year::weeks(date).iter().map(|w| w.middle).collect();
    let of_set: Vec<Option<Vec<f64>>> = weeks.iter().map(|w| of_week(view, set, *w)).collect();
    let members = set.members.iter().enumerate();
    let rows = members
        .filter(|(_, m)| view.found_here(&m.species))
        .map(|(place, m)| {
            let shares = of_set.iter().map(|s| s.as_ref().map(|s| s[place]));
            row(view, &m.species, shares.collect())
        });
    SetYear {
        title: format!("{} at {} through the year", set.title, view.site.name),
        watched: view.watched.days().to_vec(),
        rows: rows.collect(),
        weeks,
    }
}

/// Shares of the members in a week; None where nobody watches, or no bird was counted.
fn of_week(view: &SiteView, set: &LookAlikeSet, middle: DayOfYear) -> Option<Vec<f64>> {
    let series = set.members.iter().map(|m| view.series_of(&m.species));
    let shares = shares(&series.collect::<Vec<&CountSeries>>(), middle);
    let told = view.watched.on(middle) && shares.effective_birds >= 1.0;
    told.then_some(shares.shares)
}

fn row(view: &SiteView, species: &str, shares: Vec<Option<f64>>) -> YearRow {
    let fit = view.fits.get(species);
    let passages = fit.map_or(&[][..], |f| &f.passages);
    let windows = passages
        .iter()
        .filter_map(|p| Some((p.arrival?.day, p.departure?.day)));
    let name = written(&view.shown_name(species), species);
    let birds = words::count_of(view.series_of(species).birds() as usize, "bird", "birds");
    let years = words::count_of(view.series_of(species).years_found(), "year", "years");
    let counted = format!("{birds} in {years}");
    YearRow {
        detail: match name == species {
            true => counted,
            false => format!("{species}; {counted}"),
        },
        curve: fit.and_then(|fit| species_curve(&name, species, fit)),
        windows: windows.collect(),
        name,
        shares,
    }
}

/// "At Long Bank, Skerrow Ness. From 27 years of visits between 1999 and 2025."
pub(super) fn under(view: &SiteView) -> String {
    let years: BTreeSet<i32> = view.visits.iter().map(Visit::year).collect();
    let counted = match (years.first(), years.last()) {
        (Some(first), Some(last)) => {
            let years = words::count_of(years.len(), "year", "years");
            format!(" From {years} of visits between {first} and {last}.")
        }
        _ => String::new(),
    };
    format!("At {}, {}.{counted}", view.site.name, view.workspace.name)
}

/// How to read the picture, and what it shows.
pub(super) fn caption(picture: &SetYear) -> String {
    let unwatched = match picture.watched.iter().all(|w| *w) {
        true => "",
        false => " Grey ground: nobody watches then.",
    };
    format!(
        "Line: birds expected on a standard visit in an average year, each species to its own \
         scale; grey band: 80{}% interval, cut off at the top where it is wide. Black bar: its \
         window, from arrival to departure. Blocks below: its share of the set\u{2019}s birds, \
         week by week.{unwatched} {}",
        words::TIE,
        picture.text()
    )
}

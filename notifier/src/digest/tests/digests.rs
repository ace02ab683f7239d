//! The three digests: the height of autumn, a quiet week, stale counts with a failed fit.

use crate::chart::{SetChart, SpeciesCurve};
use crate::digest::{DataBehind, Digest, Figure, MailStamp, Notice, SiteDigest};
use crate::guidance::types::{
    Basis, MarkGuidance, MemberGuidance, SetGuidance, Stands, WeekGuidance,
};
use chrono::{NaiveDate, TimeZone, Utc};
use config::look_alikes::{Plumage, Trust};
use forecast::calendar::{DAYS, IsoWeek};

pub const LITTLE: &str = "Little Stint";
pub const TEMMINCK: &str = "Temminck's Stint";
pub const DUNLIN: &str = "Dunlin";
pub const CURLEW: &str = "Curlew Sandpiper";

pub fn date(month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, month, day).unwrap()
}

pub fn member(name: &str, species: &str, week: f64, share: f64, stands: Stands) -> MemberGuidance {
    MemberGuidance {
        species: species.into(),
        name: name.into(),
        chance_visit: 1.0 - (1.0 - week).cbrt(),
        chance_week: week,
        by_visits: [week; 7],
        basis: Basis::Curve,
        recorded: true,
        listed: true,
        share,
        stands: Some(stands),
        plumages: vec![Plumage::Juvenile, Plumage::AdultBreeding],
    }
}

pub fn mark(part: &str, trust: Trust, shows: &[(&[&str], &str)]) -> MarkGuidance {
    let named = |who: &[&str]| who.iter().map(ToString::to_string).collect();
    MarkGuidance {
        part: part.into(),
        trust,
        shows: shows
            .iter()
            .map(|(who, what)| (named(who), (*what).into()))
            .collect(),
        plumages: vec![],
        trap: Some("Wear and distance.".into()),
    }
}

/// Four sandpipers with the likelihood of each for the week.
pub fn sandpipers(weeks: [f64; 4], together: f64) -> SetGuidance {
    let [dunlin, little, curlew, temminck] = weeks;
    let stands = |p: f64| {
        if p < 0.02 {
            Stands::Outside
        } else {
            Stands::Arriving
        }
    };
    SetGuidance {
        id: "small-sandpipers".into(),
        title: "Small sandpipers of mud and sand".into(),
        chance_together: together,
        likeliest_pair: Some((DUNLIN.into(), LITTLE.into())),
        effective_birds: 5230.4,
        members: vec![
            member(DUNLIN, "Calidris alpina", dunlin, 0.96, stands(dunlin)),
            member(LITTLE, "Calidris minuta", little, 0.025, stands(little)),
            member(CURLEW, "Calidris ferruginea", curlew, 0.014, stands(curlew)),
            member(
                TEMMINCK,
                "Calidris temminckii",
                temminck,
                0.001,
                stands(temminck),
            ),
        ],
        marks: sandpiper_marks(),
        not_to_rely_on: vec![
            mark(
                "colour of the legs",
                Trust::Light,
                &[(&[DUNLIN], "Mud makes them pale.")],
            ),
            mark(
                "tint of the back",
                Trust::Light,
                &[(&[TEMMINCK], "Greyer under cloud.")],
            ),
        ],
        cannot_tell: vec![
            "A stint flying over in silence: record it as an unidentified stint".into(),
        ],
        describe: vec![(
            LITTLE.into(),
            "Bill against head length, wing tip and tail tip, call.".into(),
        )],
        review: "author only".into(),
        source: "common practice, no source".into(),
    }
}

fn sandpiper_marks() -> Vec<MarkGuidance> {
    vec![
        mark(
            "bill",
            Trust::Structure,
            &[
                (
                    &[LITTLE, TEMMINCK],
                    "Fine and short, clearly shorter than the head is long.",
                ),
                (
                    &[DUNLIN],
                    "As long as the head or longer, bent down towards a blunter tip.",
                ),
                (
                    &[CURLEW],
                    "Longer than the head, evenly curved along its whole length.",
                ),
            ],
        ),
        mark(
            "wing tip and tail tip at rest",
            Trust::Structure,
            &[
                (&[LITTLE], "Wing tips reach the tail tip or pass it."),
                (&[TEMMINCK], "The tail reaches beyond the wing tips."),
            ],
        ),
        mark(
            "rump",
            Trust::Pattern,
            &[
                (&[CURLEW], "A clean white band."),
                (&[LITTLE, TEMMINCK, DUNLIN], "White at the sides only."),
            ],
        ),
        mark(
            "call",
            Trust::Voice,
            &[
                (&[LITTLE], "A short high tit."),
                (&[DUNLIN], "A rolled rasp."),
            ],
        ),
    ]
}

pub fn week(on: NaiveDate, sets: Vec<SetGuidance>) -> WeekGuidance {
    WeekGuidance {
        site: "long-bank".into(),
        site_name: "Long Bank".into(),
        date: on,
        week: IsoWeek::of(on),
        watched: true,
        visits_assumed: 3,
        sets,
        finds_alone: None,
        others: vec![member(
            "Wheatear",
            "Oenanthe oenanthe",
            0.6,
            1.0,
            Stands::AtPeak,
        )],
        findings: Default::default(),
        when_none_fits: "When no name fits, write down what you saw.".into(),
        reminder: "A forecast never identifies a bird.".into(),
        cautions: vec!["Cut off two hours either side of high water".into()],
    }
}

fn curve(name: &str, scientific: &str, peak: f64, height: f64) -> SpeciesCurve {
    let bell = |day: usize| height * (-0.5 * ((day as f64 - peak) / 14.0).powi(2)).exp();
    SpeciesCurve {
        name: name.into(),
        scientific: scientific.into(),
        mean: (0..DAYS).map(bell).collect(),
        interval: (0..DAYS).map(|d| (bell(d) / 1.5, bell(d) * 1.5)).collect(),
        peaks: Vec::new(),
    }
}

pub fn chart(on: NaiveDate) -> SetChart {
    let species = vec![
        curve(DUNLIN, "Calidris alpina", 235.0, 180.0),
        curve(LITTLE, "Calidris minuta", 250.0, 2.6),
    ];
    let title = "Small sandpipers of mud and sand";
    SetChart::new(title, "Long Bank", on, vec![true; DAYS], species, vec![])
        .unwrap()
        .about_the_date(10)
}

fn digest(guidance: WeekGuidance, notices: Vec<Notice>, last_visit: NaiveDate) -> Digest {
    let on = guidance.date;
    let site = SiteDigest {
        guidance,
        figures: vec![Figure::of("small-sandpipers", &chart(on)).unwrap()],
        notices,
        data: DataBehind {
            visits: 1204,
            seasons: 14,
            years: Some((2012, 2025)),
            last_visit: Some(last_visit),
        },
        season: vec![],
        record: Some("Of the last 40 times we said about 70 %, it was found in 29".into()),
    };
    Digest {
        title: "This week at Skerrow Ness".into(),
        workspace: "Skerrow Ness".into(),
        about: None,
        keeper: Some("A. Warden <warden@skerrow.example>".into()),
        date: on,
        week: IsoWeek::of(on),
        notices: vec![],
        sites: vec![site],
        more: Some("https://birds.skerrow.example/{site}/set/{set}".into()),
    }
}

pub fn autumn() -> Digest {
    let mut bare = sandpipers([0.6, 0.05, 0.0, 0.0], 0.04);
    bare.id = "wheatear-bunting".into();
    bare.title = "Pale-rumped birds of the dunes".into();
    bare.marks.clear();
    bare.not_to_rely_on.clear();
    let sets = vec![bare, sandpipers([0.999, 0.62, 0.5, 0.012], 0.615)];
    let mut autumn = digest(week(date(8, 26), sets), vec![], date(8, 23));
    autumn.sites[0].season = vec![
        "Little Stint, autumn: 6 days late (80 % interval 3 to 9 late), 0.4 times the usual \
         numbers (0.2 to 0.7), 12 % through (5 % to 21 %). Of a hundred usual seasons 3 would look \
         so far off."
            .into(),
        "Out of the ordinary (as 1 usual season in 20 is at the most): 1 of 9 passages; by chance \
         alone it would be about 0.45."
            .into(),
    ];
    autumn
}

pub fn quiet() -> Digest {
    let mut guidance = week(date(12, 30), vec![sandpipers([0.4, 0.0, 0.0, 0.0], 0.0)]);
    guidance.others.clear();
    digest(guidance, vec![], date(12, 28))
}

pub fn stale() -> Digest {
    let mut set = sandpipers([0.9, 0.62, 0.5, 0.3], 0.55);
    set.members[3].basis = Basis::Frequency;
    set.members[3].stands = None;
    let notices = vec![
        Notice::Stale {
            last: date(7, 20),
            days: 37,
        },
        Notice::FailedFit {
            species: vec![TEMMINCK.into()],
            reason: "no smoothing converged".into(),
            to_do: "Look over its counts, then fit again.".into(),
        },
        Notice::ShortHistory {
            seasons: 4,
            wanted: 5,
        },
    ];
    let mut stale = digest(week(date(8, 26), vec![set]), notices, date(7, 20));
    stale.notices = vec![
        Notice::Unreachable {
            source: Some("notebook".into()),
            copy_from: date(8, 3),
        },
        Notice::NotLoaded {
            last: Some(date(8, 3)),
        },
    ];
    stale.sites[0].notices.push(Notice::OldCurves);
    stale
}

pub fn stamp() -> MailStamp {
    MailStamp {
        from: "Wingtide <counts@skerrow.example>".into(),
        to: "Abonnés du Ness <digest@skerrow.example>".into(),
        sent: Utc.with_ymd_and_hms(2026, 8, 24, 6, 0, 0).unwrap(),
        key: "long-bank/2026-W35".into(),
    }
}

//! Slips planted in true records, each beside counts that are otherwise true.

use super::counts::Site;
use forecast::second_look::{Said, swapped};
use forecast::series::Count;
use rand::Rng;
use rand::seq::IndexedRandom;
use rand_pcg::Pcg64Mcg;

/// Kinds of slip, in the order in which results are told.
pub const KINDS: [&str; 3] = [
    "swapped day and month",
    "wrong look-alike",
    "ten times too high",
];
/// How many of each kind are planted for a seed.
pub const PLANTED: [usize; 3] = [70, 70, 60];

/// A true record: the place of its site, and what was said.
pub type True = (usize, Said);

/// What a slip makes of the counts: the record that is judged, and all that is told otherwise.
pub struct Slip {
    pub site: usize,
    pub judged: Said,
    pub otherwise: Vec<Said>,
}

/// Plants one kind in the records. Every record that such a slip can befall is as likely as any
/// other, whatever comes of it.
pub fn plant(kind: usize, records: &[True], sites: &[Site], random: &mut Pcg64Mcg) -> Vec<Slip> {
    let can = |(site, said): &&True| match kind {
        0 => swapped(said.date).is_some(),
        1 => sites[*site].relatives[said.species].len() > 1,
        _ => true,
    };
    let pool: Vec<True> = records.iter().filter(can).copied().collect();
    let chosen = pool.choose_multiple(random, PLANTED[kind]).copied();
    let chosen: Vec<True> = chosen.collect();
    chosen
        .into_iter()
        .filter_map(|r| slip(kind, r, sites, random))
        .collect()
}

fn slip(kind: usize, (site, said): True, sites: &[Site], random: &mut Pcg64Mcg) -> Option<Slip> {
    let gone = Said {
        count: Count::Exactly(0),
        ..said
    };
    let judged = match kind {
        0 => added(&sites[site], said.species, swapped(said.date)?, said),
        1 => {
            let set = &sites[site].relatives[said.species];
            let others: Vec<usize> = set.iter().copied().filter(|s| *s != said.species).collect();
            let other = others[random.random_range(0..others.len())];
            added(&sites[site], other, said.date, said)
        }
        _ => {
            return Some(Slip {
                site,
                judged: Said {
                    count: Count::Exactly(said.count.birds() * 10),
                    ..said
                },
                otherwise: Vec::new(),
            });
        }
    };
    Some(Slip {
        site,
        judged,
        otherwise: vec![gone],
    })
}

/// The birds come on top of what is told there already.
fn added(site: &Site, species: usize, date: chrono::NaiveDate, said: Said) -> Said {
    let visit = site.visits.iter().position(|v| v.date == date);
    let there = visit.map_or(0, |v| site.series[species].count(v).birds());
    Said {
        species,
        date,
        count: Count::Exactly(there + said.count.birds()),
    }
}

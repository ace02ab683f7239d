//! What is drawn.

use super::workspace;
use config::look_alikes::{Plumage, shipped};
use notifier::practice::{Wanted, draw, told};
use notifier::web::Snapshot;

#[test]
fn birds_are_drawn_by_the_shares_of_their_day_in_plumages_of_its_month() {
    let workspace = workspace(|s| s);
    let snapshot = Snapshot::read(&workspace.path("")).expect("a workspace");
    let sets = shipped().expect("sets");
    let set = sets
        .iter()
        .find(|s| s.id == "small-sandpipers")
        .expect("it ships");
    let (mut stints, mut expected, mut variance) = (0.0, 0.0, 0.0);
    for seed in 1..=600 {
        let bird = draw(&snapshot, &Wanted::default(), seed).expect("a bird");
        let again = draw(&snapshot, &Wanted::default(), seed).expect("a bird");
        assert_eq!(
            (bird.day, bird.bird, bird.plumage),
            (again.day, again.bird, again.plumage)
        );
        assert!((bird.shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        assert!(bird.view.watched.on(bird.day));
        let member = &bird.set.members[bird.bird];
        let region = &bird.view.site.region;
        assert!(
            member
                .plumages_in(region, bird.month())
                .contains(&bird.plumage)
        );
        let share = bird
            .set
            .members
            .iter()
            .position(|m| m.species == "Calidris minuta");
        let share = share.map_or(0.0, |place| bird.shares[place]);
        stints += f64::from(u8::from(member.species == "Calidris minuta"));
        expected += share;
        variance += share * (1.0 - share);
        // each wording is the set's own, of that member in that plumage
        let told = told(&bird);
        assert!(!told.clues.is_empty());
        for clue in &told.clues {
            let said = set
                .marks
                .iter()
                .flat_map(|m| m.shows.iter().map(move |s| (m, s)));
            let fits = said.filter(|(_, s)| s.text == clue.text).any(|(m, s)| {
                s.members.contains(&member.species)
                    && Plumage::any_covers(m.plumages_of(s), bird.plumage)
            });
            assert!(fits, "{}: {}", member.species, clue.text);
        }
    }
    // four standard deviations of a sum of single draws
    let off = f64::abs(stints - expected);
    assert!(
        off < 4.0 * f64::sqrt(variance),
        "{stints} stints, {expected} expected"
    );
}

#[test]
fn a_wanted_site_and_set_are_kept_to_and_an_empty_one_gives_nothing() {
    let workspace = workspace(|s| s);
    let snapshot = Snapshot::read(&workspace.path("")).expect("a workspace");
    let east = Wanted {
        site: Some("east-hide".to_owned()),
        set: Some("small-sandpipers".to_owned()),
    };
    for seed in 1..=20 {
        let bird = draw(&snapshot, &east, seed).expect("a bird");
        assert_eq!(
            (bird.view.site.id.as_str(), bird.set.id.as_str()),
            ("east-hide", "small-sandpipers")
        );
        assert!(
            bird.view.watched.on(bird.day),
            "nobody watches on day {}",
            bird.day.get()
        );
    }
    let nowhere = Wanted {
        site: Some("north-hide".to_owned()),
        set: None,
    };
    assert!(draw(&snapshot, &nowhere, 1).is_none());
}

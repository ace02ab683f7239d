//! The invented numbers of each species: waders on the bank, terns on the lagoon, warblers in
//! the wood, few of each elsewhere. Order of species as in `wingtide.toml`.

use super::truth::{SITES, Shape, TruePassage, TrueSpecies, Warmth};
use forecast::fit::PassageName;

/// Days that lie before the New Year which a stay over winter crosses.
const NEW_YEAR: f64 = 365.0;

/// All species.
pub(super) fn species() -> Vec<TrueSpecies> {
    [
        sandpipers(),
        terns(),
        warblers(),
        shanks(),
        pipits(),
        others(),
    ]
    .concat()
}

fn sandpipers() -> Vec<TrueSpecies> {
    vec![
        named("Calidris minuta", "Little Stint", 0.7, 0.6)
            .with(spring(142.0, 7.0, [12.0, 4.0, 0.0]))
            .with(autumn(251.0, 12.0, [150.0, 40.0, 0.0])),
        named("Calidris temminckii", "Temminck's Stint", 0.6, 0.5)
            .with(spring(136.0, 6.0, [15.0, 25.0, 0.0]))
            .with(autumn(237.0, 12.0, [18.0, 30.0, 0.0])),
        named("Calidris alpina", "Dunlin", 1.2, 0.25)
            .with(spring(128.0, 11.0, [900.0, 150.0, 0.0]))
            .with(autumn(236.0, 21.0, [3000.0, 400.0, 0.0]).trend(1.5)),
        named("Calidris ferruginea", "Curlew Sandpiper", 0.6, 0.7)
            .with(spring(138.0, 7.0, [10.0, 3.0, 0.0]))
            .with(autumn(243.0, 13.0, [130.0, 40.0, 0.0])),
        named("Calidris alba", "Sanderling", 1.5, 0.3)
            .with(spring(138.0, 8.0, [200.0, 8.0, 0.0]))
            .with(autumn(225.0, 13.0, [420.0, 15.0, 0.0]))
            .with(winter(289.0, NEW_YEAR + 92.0, 7.0, [1000.0, 0.0, 0.0])),
    ]
}

fn terns() -> Vec<TrueSpecies> {
    vec![
        named("Sterna hirundo", "Common Tern", 2.0, 0.25)
            .with(summer(113.0, 245.0, 6.0, [800.0, 6000.0, 0.0]).trend(-1.0)),
        named("Sterna paradisaea", "Arctic Tern", 1.5, 0.3).with(summer(
            122.0,
            235.0,
            7.0,
            [200.0, 1600.0, 0.0],
        )),
        // The rarity: some six birds in all the years.
        named("Sterna dougallii", "Roseate Tern", 1.0, 0.3).with(summer(
            135.0,
            215.0,
            8.0,
            [0.0, 0.7, 0.0],
        )),
    ]
}

fn warblers() -> Vec<TrueSpecies> {
    vec![
        named("Phylloscopus collybita", "Chiffchaff", 1.3, 0.35)
            .with(spring(100.0, 12.0, [6.0, 4.0, 160.0]).warmth(-2.5, 51, 90))
            .with(autumn(270.0, 14.0, [10.0, 8.0, 260.0])),
        named("Phylloscopus trochilus", "Willow Warbler", 1.1, 0.3)
            .with(spring(122.0, 10.0, [4.0, 3.0, 150.0]).trend(-2.0))
            .with(autumn(233.0, 12.0, [8.0, 6.0, 240.0])),
        named("Phylloscopus sibilatrix", "Wood Warbler", 0.9, 0.4)
            .with(spring(130.0, 8.0, [0.0, 0.0, 14.0]))
            .with(autumn(229.0, 10.0, [0.0, 0.0, 9.0])),
        named("Phylloscopus inornatus", "Yellow-browed Warbler", 0.8, 0.6).with(autumn(
            276.0,
            8.0,
            [0.5, 0.5, 24.0],
        )),
    ]
}

fn shanks() -> Vec<TrueSpecies> {
    vec![
        named("Tringa totanus", "Redshank", 3.0, 0.15).with(all_year(
            230.0,
            0.35,
            [6500.0, 3600.0, 0.0],
        )),
        named("Tringa erythropus", "Spotted Redshank", 0.9, 0.45)
            .with(spring(125.0, 8.0, [30.0, 20.0, 0.0]))
            .with(autumn(241.0, 21.0, [140.0, 180.0, 0.0])),
        named("Tringa nebularia", "Greenshank", 1.0, 0.35)
            .with(spring(123.0, 9.0, [40.0, 25.0, 0.0]))
            .with(autumn(236.0, 18.0, [220.0, 160.0, 0.0])),
    ]
}

fn pipits() -> Vec<TrueSpecies> {
    vec![
        named("Anthus pratensis", "Meadow Pipit", 1.0, 0.3)
            .with(all_year(165.0, 0.3, [550.0, 180.0, 440.0]))
            .with(spring(87.0, 11.0, [700.0, 150.0, 250.0]).warmth(-2.0, 32, 74))
            .with(autumn(267.0, 13.0, [2500.0, 500.0, 700.0])),
        named("Anthus trivialis", "Tree Pipit", 1.0, 0.4)
            .with(spring(118.0, 8.0, [4.0, 1.0, 30.0]).trend(-1.5))
            .with(autumn(245.0, 11.0, [12.0, 3.0, 60.0])),
        named("Anthus petrosus", "Rock Pipit", 2.0, 0.3).with(winter(
            288.0,
            NEW_YEAR + 84.0,
            5.0,
            [970.0, 240.0, 0.0],
        )),
    ]
}

fn others() -> Vec<TrueSpecies> {
    vec![
        named("Oenanthe oenanthe", "Wheatear", 1.2, 0.3)
            .with(spring(112.0, 13.0, [180.0, 50.0, 20.0]))
            .with(autumn(247.0, 16.0, [260.0, 60.0, 30.0])),
        named("Plectrophenax nivalis", "Snow Bunting", 0.5, 0.6).with(winter(
            313.0,
            NEW_YEAR + 56.0,
            9.0,
            [540.0, 0.0, 15.0],
        )),
    ]
}

fn named(
    scientific: &'static str,
    english: &'static str,
    dispersion: f64,
    year_effect_sd: f64,
) -> TrueSpecies {
    TrueSpecies {
        scientific,
        english,
        dispersion,
        year_effect_sd,
        passages: Vec::new(),
    }
}

impl TrueSpecies {
    fn with(mut self, passage: TruePassage) -> Self {
        self.passages.push(passage);
        self
    }
}

impl TruePassage {
    fn new(season: PassageName, shape: Shape, birds: [f64; SITES]) -> Self {
        TruePassage {
            season,
            shape,
            birds,
            trend_days_per_decade: 0.0,
            warmth: None,
        }
    }

    fn trend(mut self, days_per_decade: f64) -> Self {
        self.trend_days_per_decade = days_per_decade;
        self
    }

    fn warmth(mut self, days_per_c: f64, from: i64, to: i64) -> Self {
        self.warmth = Some(Warmth {
            days_per_c,
            from,
            to,
        });
        self
    }
}

fn spring(mean: f64, spread_days: f64, birds: [f64; SITES]) -> TruePassage {
    let shape = Shape::Passing { mean, spread_days };
    TruePassage::new(PassageName::Spring, shape, birds)
}

fn autumn(mean: f64, spread_days: f64, birds: [f64; SITES]) -> TruePassage {
    let shape = Shape::Passing { mean, spread_days };
    TruePassage::new(PassageName::Autumn, shape, birds)
}

fn summer(arrives: f64, leaves: f64, softness_days: f64, birds: [f64; SITES]) -> TruePassage {
    TruePassage::new(
        PassageName::Summer,
        stay(arrives, leaves, softness_days),
        birds,
    )
}

fn winter(arrives: f64, leaves: f64, softness_days: f64, birds: [f64; SITES]) -> TruePassage {
    TruePassage::new(
        PassageName::Winter,
        stay(arrives, leaves, softness_days),
        birds,
    )
}

fn stay(arrives: f64, leaves: f64, softness_days: f64) -> Shape {
    Shape::Staying {
        arrives,
        leaves,
        softness_days,
    }
}

fn all_year(peak: f64, wave: f64, birds: [f64; SITES]) -> TruePassage {
    TruePassage::new(PassageName::AllYear, Shape::AllYear { peak, wave }, birds)
}

//! What makes a mark mislead.

use super::Mark;

/// Why a mark may mislead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TrapKind {
    /// Worn or bleached feathers.
    Wear,
    /// Feathers growing or mixed.
    Moult,
    /// Not yet grown, or young and old between the classes.
    Age,
    /// Birds of two parents, or variation across the range.
    Hybrids,
    /// How the bird holds itself.
    Posture,
    /// Too far, too short a look, no scale.
    Distance,
    /// Sun, shade, cloud, mud and water.
    Light,
}

/// A known trap of a mark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trap {
    /// Why; None where it is said in general.
    pub kind: Option<TrapKind>,
    /// What happens and what to do about it.
    pub text: String,
}

impl TrapKind {
    /// Every kind by the name it has in set files.
    pub const NAMES: [(&str, TrapKind); 7] = [
        ("wear", TrapKind::Wear),
        ("moult", TrapKind::Moult),
        ("age", TrapKind::Age),
        ("hybrids", TrapKind::Hybrids),
        ("posture", TrapKind::Posture),
        ("distance", TrapKind::Distance),
        ("light", TrapKind::Light),
    ];

    /// Its name in set files.
    pub fn name(self) -> &'static str {
        let found = Self::NAMES.iter().find(|(_, kind)| *kind == self);
        found.map_or("", |(name, _)| name)
    }
}

impl Mark {
    /// All its traps as one text, each kind named; None where it has none.
    pub fn trap(&self) -> Option<String> {
        let said = |trap: &Trap| match trap.kind {
            None => trap.text.clone(),
            Some(kind) => format!("({}) {}", kind.name(), trap.text),
        };
        let all: Vec<String> = self.traps.iter().map(said).collect();
        (!all.is_empty()).then(|| all.join(" "))
    }
}

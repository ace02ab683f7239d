//! Why a name is refused or kept back.

use crate::totals::TOTALS;

/// Why a cell names no species.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum NameProblem {
    #[error("empty; every row needs its species, or \"nil\" where its visit found none")]
    Empty,
    #[error("a hybrid, which belongs to no one species")]
    Hybrid,
    #[error("one of several species, not told apart")]
    Slash,
    #[error("a genus without its species")]
    GenusOnly,
    #[error("a doubtful name")]
    Doubtful,
    #[error("stands for both {0} and {1} in wingtide.toml")]
    Ambiguous(String, String),
    /// What the cell says of each, and the species.
    #[error("names two species, {} and {}; leave the one that was meant", .0[0], .0[1])]
    TwoSpecies([String; 2], [String; 2]),
    #[error("{TOTALS}")]
    Totals,
    #[error("not a scientific name, and wingtide.toml lists no species by it{}", nearest_words(.0))]
    NotAName(Option<String>),
}

impl NameProblem {
    /// A record that may well be sound but belongs to no one species.
    pub(crate) fn is_kept_back(&self) -> bool {
        use NameProblem::*;
        matches!(self, Hybrid | Slash | GenusOnly | Doubtful)
    }
}

fn nearest_words(nearest: &Option<String>) -> String {
    match nearest {
        Some(name) => format!("; the nearest is \"{name}\": add the name to its `also` if meant"),
        None => String::new(),
    }
}

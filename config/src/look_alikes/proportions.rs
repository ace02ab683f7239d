//! Measured proportions of a member, from which line drawings are made.

/// Proportions as anyone can take them from a bird in the field; each is a ratio, so that no
/// drawing pretends to a size. None where the set does not say.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Proportions {
    /// Length of the bill over that of the head behind it.
    pub bill_length: Option<f64>,
    /// Depth of the bill at its base over its length.
    pub bill_depth: Option<f64>,
    /// How far the tip lies below the line that goes straight on from the base, over the bill's
    /// length: 0 straight, above 0 curved or drooped, below 0 bent upwards.
    pub bill_curve: Option<f64>,
    /// How far the upper half's tip hooks down over the lower, over the depth at the base.
    pub bill_hook: Option<f64>,
    /// Depth of the bill near its tip over that at the base: 0 pointed; None as 0.
    pub bill_blunt: Option<f64>,
    /// Primaries that show beyond the longest tertial, over the length of the tertials that show.
    pub primary_projection: Option<f64>,
    /// Wing tips beyond the tail tip, over the length of the tail: below 0 they fall short of it.
    pub wing_beyond_tail: Option<f64>,
    /// Length of the tail over that of the body, from shoulder to vent.
    pub tail_length: Option<f64>,
    /// Depth of the tail's fork or notch, or how far the middle feathers pass the outer ones,
    /// over the length of the tail.
    pub tail_step: Option<f64>,
    /// Shape of the spread tail's end.
    pub tail_shape: Option<TailShape>,
    /// Leg seen below the belly over the depth of the body.
    pub leg_length: Option<f64>,
    /// Length of the hind claw over that of the hind toe.
    pub hind_claw: Option<f64>,
    /// How far the hind claw's tip lies below the straight line, over the claw's length.
    pub hind_claw_curve: Option<f64>,
}

/// Shape of the end of a tail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TailShape {
    /// Cut off straight.
    Square,
    /// The outer feathers longest.
    Forked,
    /// The middle feathers a little longer.
    Rounded,
    /// The middle feathers much longer, to a wedge.
    Wedge,
}

impl TailShape {
    /// Every shape by the name it has in set files.
    pub const NAMES: [(&str, TailShape); 4] = [
        ("square", TailShape::Square),
        ("forked", TailShape::Forked),
        ("rounded", TailShape::Rounded),
        ("wedge", TailShape::Wedge),
    ];
}

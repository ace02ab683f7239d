//! Words side by side on one line, so that none covers another.

/// Words that want to stand about a place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wish {
    /// Where their middle wants to be.
    pub(crate) middle: f64,
    pub(crate) width: f64,
    pub(crate) text: String,
}

/// Where each one's middle comes to stand between the ends, in the order of wishes: as near to its
/// wish as those before it leave room, then pushed back from the right end.
pub(crate) fn placed(mut wishes: Vec<Wish>, (left, right): (f64, f64), gap: f64) -> Vec<Wish> {
    wishes.sort_by(|a, b| a.middle.total_cmp(&b.middle));
    let mut from = left;
    for wish in &mut wishes {
        let half = wish.width / 2.0;
        wish.middle = wish.middle.max(from + half);
        from = wish.middle + half + gap;
    }
    let mut to = right;
    for wish in wishes.iter_mut().rev() {
        let half = wish.width / 2.0;
        wish.middle = wish.middle.min(to - half);
        to = wish.middle - half - gap;
    }
    wishes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn middles(wishes: &[(f64, f64)]) -> Vec<f64> {
        let wish = |(middle, width): &(f64, f64)| Wish {
            middle: *middle,
            width: *width,
            text: String::new(),
        };
        let placed = placed(wishes.iter().map(wish).collect(), (0.0, 100.0), 2.0);
        placed.iter().map(|w| w.middle).collect()
    }

    #[test]
    fn words_with_room_stand_where_they_want() {
        assert_eq!(middles(&[(60.0, 10.0), (20.0, 10.0)]), [20.0, 60.0]);
    }

    #[test]
    fn words_make_room_for_each_other_and_stay_between_the_ends() {
        assert_eq!(middles(&[(2.0, 10.0)]), [5.0]);
        assert_eq!(middles(&[(99.0, 10.0)]), [95.0]);
        assert_eq!(middles(&[(50.0, 10.0), (52.0, 10.0)]), [50.0, 62.0]);
        assert_eq!(middles(&[(96.0, 10.0), (97.0, 10.0)]), [83.0, 95.0]);
    }
}

//! Where questions begin: so high that earlier years' records, taken as true, would have given
//! rise to no more than the wanted number of questions.

/// A threshold with what it would have asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// Records that score more are asked about.
    pub score: f64,
    /// Records of earlier years that it was held to.
    pub records: usize,
    /// Those that score more.
    pub asked: usize,
}

/// The lowest threshold that at most so many of the scores exceed. None without a score.
pub fn at_most(scores: &[f64], questions: usize) -> Option<Threshold> {
    let mut sorted = scores.to_vec();
    sorted.sort_by(|a, b| b.total_cmp(a));
    let score = *sorted.get(questions).or(sorted.last())?;
    Some(Threshold {
        score,
        records: scores.len(),
        asked: sorted.iter().take_while(|s| **s > score).count(),
    })
}

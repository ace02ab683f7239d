//! Counts that end before the day that is asked about.

use super::SeasonReport;
use chrono::NaiveDate;
use forecast::season::Against;
use forecast::series::Visit;

/// The site's counts end too early for the season to be told to its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stale {
    /// The last visit; None where none is loaded up to the day.
    pub until: Option<NaiveDate>,
    /// Days after it, up to the last one that ought to be known of.
    pub days: i64,
    /// Had the season ended before the day asked about, so that these are the days that were left of
    /// it? Else they are all days since.
    pub ended: bool,
    /// Days from visit to visit that 9 of 10 pauses in other seasons do not exceed, a week at the
    /// least.
    pub usual_pause: i64,
}

impl Stale {
    /// By the passage that ought to be known of longest; None where the visits go far enough, as
    /// they do where later ones tell nothing of some species alone.
    pub(super) fn of(visits: &[Visit], report: &SeasonReport) -> Option<Self> {
        let dates = visits.iter().map(|v| v.date);
        let until = dates.filter(|d| *d <= report.date).max();
        let stale = report.passages.iter().map(|p| &p.looked);
        let longest = stale.filter(|l| l.is_stale()).max_by_key(|l| l.due)?;
        let end = match report.against {
            Against::Earlier => report.date,
            Against::Others => longest.due,
        };
        let days = until.map_or(longest.unknown_days, |until| (end - until).num_days());
        (days > longest.usual_pause).then_some(Stale {
            until,
            days,
            ended: report.against == Against::Others,
            usual_pause: longest.usual_pause,
        })
    }
}

//! Which half-years are gaps, decided once and kept.

use crate::workspace::*;
use ingest::report::{HalfYear, HalfYearTold};

const VISITS: &str = "Date,Place\n2024-05-01,Long Bank\n2024-09-01,Long Bank\n\
    2025-05-01,Long Bank\n2025-09-01,Long Bank\n2025-09-02,Long Bank\n";
const SPRINGS: &str = "Date,Place,Species,Number\n2024-05-01,Long Bank,Dunlin,3\n\
    2025-05-01,Long Bank,Dunlin,3\n";
const AUTUMN: &str = "2025-09-02,Long Bank,Dunlin,40\n";

const AUTUMN_2025: HalfYear = HalfYear {
    year: 2025,
    half: 2,
};

fn with_autumn() -> String {
    format!("{SPRINGS}{AUTUMN}")
}

fn gaps(report: &ingest::LoadReport) -> Vec<String> {
    report.gaps.iter().map(|g| g.half.to_string()).collect()
}

fn visits(built: &Built) -> usize {
    let history = built.store().history(&built.workspace, "long-bank");
    history.unwrap().visits.len()
}

#[test]
fn records_that_go_leave_a_visited_half_year_visited() {
    let built = built().counts(with_autumn()).visits(VISITS);
    assert_eq!(gaps(&built.load().unwrap()), ["July-December 2024"]);
    built.write("counts.csv", SPRINGS);
    let report = built.load().unwrap();
    assert_eq!(gaps(&report), ["July-December 2024"]);
    let [note] = &report.half_years[..] else {
        panic!("{:?}", report.half_years)
    };
    let since = now();
    assert_eq!(
        (note.half, note.visits, note.records, note.told),
        (AUTUMN_2025, 2, 0, HalfYearTold::StaysVisited { since })
    );
    assert_eq!(visits(&built), 4);
    let page = report.to_string();
    assert!(
        page.contains("July-December 2025 (2 visit dates, 0 records, decided on"),
        "{page}"
    );
    assert!(page.contains("gaps = [\"2025-H2\"]"), "{page}");
    // a store that never saw the records decides otherwise: it is the memory that keeps it
    let fresh = self::built().counts(SPRINGS).visits(VISITS);
    assert_eq!(fresh.load().unwrap().gaps.len(), 2);
}

#[test]
fn records_that_come_end_a_gap_and_are_told() {
    let built = built().counts(SPRINGS).visits(VISITS);
    assert_eq!(built.load().unwrap().gaps.len(), 2);
    built.write("counts.csv", with_autumn());
    let report = built.load().unwrap();
    assert_eq!(gaps(&report), ["July-December 2024"]);
    let told: Vec<_> = report.half_years.iter().map(|n| (n.half, n.told)).collect();
    assert_eq!(told, [(AUTUMN_2025, HalfYearTold::NoLongerGap)]);
    assert!(report.to_string().contains("No longer gaps"), "{report}");
    // and from then on it is visited for good
    built.write("counts.csv", SPRINGS);
    let report = built.load().unwrap();
    assert_eq!(gaps(&report), ["July-December 2024"]);
    assert_eq!(visits(&built), 4);
}

#[test]
fn a_running_half_year_is_decided_by_its_first_record_or_its_end() {
    let built = built().counts(SPRINGS).visits(VISITS);
    let load = |now: &str| {
        let now = now.parse().unwrap();
        ingest::load(&built.workspace, &built.root(), now, &mut |_| {}).unwrap()
    };
    let running = load("2025-10-01T00:00:00Z");
    assert_eq!(gaps(&running), ["July-December 2024"]);
    // no file has changed when it is over, and yet it is a gap from then on
    let over = load("2026-01-02T00:00:00Z");
    assert!(!over.unchanged && over.sources.iter().all(|s| s.unchanged));
    assert_eq!(gaps(&over), ["July-December 2024", "July-December 2025"]);
    assert!(over.to_string().starts_with("No file changed"), "{over}");
    assert!(load("2026-01-03T00:00:00Z").unchanged);
}

#[test]
fn wingtide_toml_has_the_last_word() {
    let mut built = built().counts(with_autumn()).visits(VISITS);
    let before = built.load().unwrap();
    let prints = |built: &Built| {
        let history = built.store().history(&built.workspace, "long-bank");
        history.unwrap().fingerprint
    };
    let first = prints(&built);
    built.workspace.sites[0].half_years.gaps = [(2025, 2)].into();
    built.workspace.sites[0].half_years.visited = [(2024, 2), (2024, 1)].into();
    let report = built.load().unwrap();
    assert!(!report.unchanged);
    assert_eq!(gaps(&report), ["July-December 2025"]);
    let told: Vec<_> = report.half_years.iter().map(|n| n.told).collect();
    assert_eq!(
        told,
        [HalfYearTold::VisitedAsStated, HalfYearTold::GapAsStated]
    );
    assert_eq!(visits(&built), 3);
    assert_ne!(prints(&built), first, "other visits make other fits");
    // taken back, all is as it was decided from the records
    built.workspace.sites[0].half_years = Default::default();
    assert_eq!(built.load().unwrap().gaps, before.gaps);
    assert_eq!(prints(&built), first);
}

#[test]
fn records_of_a_half_year_that_the_visits_table_lacks_are_told() {
    let visits = VISITS.replace("2025-09-01,Long Bank\n2025-09-02,Long Bank\n", "");
    let mut built = built().counts(with_autumn()).visits(visits);
    let report = built.load().unwrap();
    let notes: Vec<_> = report.half_years.iter().collect();
    assert_eq!(notes.len(), 1, "{report}");
    assert_eq!(
        (
            notes[0].half,
            notes[0].visits,
            notes[0].records,
            notes[0].told
        ),
        (AUTUMN_2025, 1, 1, HalfYearTold::CountsWithoutVisits)
    );
    let line = "  long-bank: July-December 2025 (1 visit date, 1 record)";
    assert!(report.to_string().contains(line), "{report}");
    // nothing is said where wingtide.toml says it already, or where no visits are listed at all
    built.workspace.sites[0].half_years.gaps = [(2025, 2)].into();
    let told = built.load().unwrap().half_years;
    assert_eq!(told[0].told, HalfYearTold::GapAsStated);
    assert_eq!(told.len(), 1);
    let report = self::built().counts(with_autumn()).load().unwrap();
    assert!(report.half_years.is_empty(), "{report}");
}

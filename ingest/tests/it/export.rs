//! What is passed on: it loads again as the same store, and nothing sensitive can be found in it.

use crate::workspace::*;
use config::sensitive::Sensitive;
use config::settings::Workspace;
use forecast::series::Count;
use ingest::Store;
use ingest::export::{ExportError, Exported, Format, export};
use ingest::store::SiteHistory;
use std::collections::BTreeMap;
use std::path::Path;

const COUNTS: &str = "Date,Place,Species,Number\n\
    2020-05-01,Long Bank,Calidris alpina,12\n\
    2020-05-01,Long Bank,Calidris minuta,c. 3\n\
    2020-05-02,Long Bank,Calidris alpina,60+\n\
    2020-05-02,Long Bank,Sterna dougallii,2\n\
    2020-05-03,Tern Lagoon,Sterna dougallii,x\n\
    2020-05-03,Tern Lagoon,Sterna hirundo,0\n\
    2020-05-09,Long Bank,Sterna dougallii,1\n\
    2020-09-01,Tern Lagoon,Sterna dougallii,4\n\
    2021-05-01,Tern Lagoon,\"Sterna, the \"\"small\"\"\",1\n";

/// 9 May is in no visits table: a visit that tells of its records alone. No record of 2019.
const VISITS: &str = "Date,Place,Minutes\n\
    2019-05-01,Long Bank,60\n\
    2020-05-01,Long Bank,60\n\
    2020-05-02,Long Bank,45.5\n\
    2020-05-03,Tern Lagoon,\n\
    2020-05-04,Tern Lagoon,30\n\
    2020-09-01,Tern Lagoon,30\n";

fn loaded(change: impl FnOnce(&mut Workspace)) -> Built {
    let mut built = built().counts(COUNTS).visits(VISITS);
    built.workspace.species[2].also = vec!["Sterna, the \"small\"".into()];
    let mut dougallii = built.workspace.species[2].clone();
    dougallii.scientific = "Sterna dougallii".into();
    dougallii.names = BTreeMap::from([("en".into(), "Roseate Tern".into())]);
    dougallii.also = Vec::new();
    built.workspace.species.push(dougallii);
    change(&mut built.workspace);
    built.load().unwrap();
    built
}

fn exported(built: &Built, format: Format) -> (tempfile::TempDir, Exported) {
    let out = tempfile::tempdir().unwrap();
    let exported = export(&built.store(), &built.workspace, format, out.path()).unwrap();
    (out, exported)
}

/// The workspace that an export makes, loaded.
fn again(out: &Path) -> (Workspace, Store) {
    let workspace = config::load(out).unwrap();
    let report = ingest::load(&workspace, out, now(), &mut |_| {}).unwrap();
    assert_eq!(report.refused(), 0, "{report}");
    let store = Store::open_existing(out).unwrap();
    (workspace, store)
}

type Told = (
    Vec<(String, f64)>,
    BTreeMap<String, Vec<Count>>,
    usize,
    Option<f64>,
);

fn told(history: &SiteHistory) -> Told {
    let visits = history
        .visits
        .iter()
        .map(|v| (v.date.to_string(), v.log_effort_ratio));
    let counts = history.species.iter().map(|(name, series)| {
        (
            name.clone(),
            series.iter().map(|(_, count)| count).collect(),
        )
    });
    (
        visits.collect(),
        counts.collect(),
        history.partial_visits,
        history.standard_effort,
    )
}

fn same_stores(built: &Built, out: &Path) {
    let (workspace, store) = again(out);
    for site in &built.workspace.sites {
        let before = built.store().history(&built.workspace, &site.id).unwrap();
        let after = store.history(&workspace, &site.id).unwrap();
        assert_eq!(told(&before), told(&after), "{}", site.id);
    }
    assert_eq!(built.store().gaps().unwrap(), store.gaps().unwrap());
}

fn all_text(out: &Path) -> String {
    let files = std::fs::read_dir(out).unwrap().map(|e| e.unwrap().path());
    let texts = files
        .filter(|p| p.is_file())
        .map(|p| std::fs::read(p).unwrap());
    texts
        .map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
        .collect()
}

fn read(out: &Path, file: &str) -> String {
    std::fs::read_to_string(out.join(file)).unwrap()
}

#[test]
fn tables_load_again_as_the_same_store() {
    let built = loaded(|_| {});
    let (out, exported) = exported(&built, Format::Csv);
    assert_eq!(exported.left_out, Default::default());
    let names: Vec<_> = exported
        .files
        .iter()
        .map(|f| f.file_name().unwrap().to_str().unwrap())
        .collect();
    assert_eq!(
        names,
        ["README.txt", "wingtide.toml", "counts.csv", "visits.csv"]
    );
    same_stores(&built, out.path());
}

#[test]
fn temperature_goes_with_them() {
    let mut built = loaded(|_| {});
    let lines = [("own", Some("long-bank")), ("all", None)];
    for (id, site) in lines {
        built.write(
            &format!("{id}.csv"),
            "date,mean\n2020-05-01,9.25\n2020-05-02,-1\n"
                .replace("9.25", if site.is_some() { "8" } else { "9.25" }),
        );
        let kind =
            config::settings::SourceKind::Temperature(config::settings::TemperatureColumns {
                date: "date".into(),
                site: None,
                mean: Some("mean".into()),
                extremes: None,
                unit: Default::default(),
            });
        built.source(id, kind).site = site.map(str::to_owned);
    }
    built.load().unwrap();
    let (out, _) = exported(&built, Format::Csv);
    let (_, store) = again(out.path());
    for site in ["long-bank", "tern-lagoon"] {
        let before = built.store().temperature(site).unwrap();
        assert_eq!(before.len(), 2);
        assert_eq!(before, store.temperature(site).unwrap(), "{site}");
    }
}

#[test]
fn absences_are_zeros_where_all_was_reported_and_nowhere_else() {
    let built = loaded(|_| {});
    let (out, exported) = exported(&built, Format::Csv);
    let counts = read(out.path(), "counts.csv");
    let header =
        "site,date,scientificName,vernacularName,individualCount,count,occurrenceStatus,effort\n";
    assert!(counts.starts_with(header), "{counts}");
    for line in [
        "long-bank,2020-05-01,Calidris alpina,Dunlin,12,12,present,60",
        "long-bank,2020-05-01,Calidris minuta,Little Stint,,c. 3,present,60",
        "long-bank,2020-05-01,Sterna dougallii,Roseate Tern,0,0,absent,60",
        "long-bank,2020-05-02,Calidris alpina,Dunlin,,60+,present,45.5",
        "tern-lagoon,2020-05-03,Sterna dougallii,Roseate Tern,,x,present,",
        "tern-lagoon,2020-05-04,Sterna hirundo,Common Tern,0,0,absent,30",
    ] {
        assert!(counts.lines().any(|l| l == line), "{line}\n{counts}");
    }
    // partly reported: only what was written down; a gap: nothing
    let of = |start: &str| counts.lines().filter(|l| l.starts_with(start)).count();
    assert_eq!(of("long-bank,2020-05-09"), 1);
    assert_eq!(of("long-bank,2019"), 0);
    assert_eq!(exported.counts, counts.lines().count() - 1);
    assert!(read(out.path(), "visits.csv").contains("long-bank,2019-05-01,60\n"));
}

fn keep(species: &'static str, how: Sensitive) -> impl FnOnce(&mut Workspace) {
    move |workspace| {
        let found = workspace
            .species
            .iter_mut()
            .find(|s| s.scientific == species);
        found.unwrap().sensitive = Some(how);
    }
}

#[test]
fn a_species_withheld_leaves_no_trace() {
    let built = loaded(keep("Sterna dougallii", Sensitive::Withhold));
    for format in [Format::Csv, Format::Parquet, Format::DarwinCore] {
        let (out, exported) = exported(&built, format);
        assert_eq!(exported.left_out.species, 1);
        let text = match format {
            Format::DarwinCore => unzipped(out.path()),
            _ => all_text(out.path()),
        };
        for trace in ["dougallii", "Roseate", "2020-05-09"] {
            assert!(!text.contains(trace), "{format:?} tells {trace}");
        }
    }
    let (out, _) = exported(&built, Format::Csv);
    let counts = read(out.path(), "counts.csv");
    // of the lagoon's autumn half-year nothing is left: zeros would tell that something was there
    assert!(!counts.contains("2020-09-01"), "{counts}");
    // nor of its spring, in which the other tern was looked for in vain
    assert!(!counts.contains("tern-lagoon,2020-05"), "{counts}");
    assert!(counts.contains("long-bank,2020-05-02,Calidris minuta,Little Stint,0,0"));
    let (workspace, store) = again(out.path());
    assert_eq!(
        store
            .history(&workspace, "long-bank")
            .unwrap()
            .species
            .len(),
        2
    );
}

/// Every file in the archive.
fn unzipped(out: &Path) -> String {
    use std::io::Read;
    let file = std::fs::File::open(out.join("darwin-core.zip")).unwrap();
    let mut zip = zip::ZipArchive::new(file).unwrap();
    let mut text = String::new();
    for place in 0..zip.len() {
        zip.by_index(place)
            .unwrap()
            .read_to_string(&mut text)
            .unwrap();
    }
    text
}

#[test]
fn a_species_coarsened_is_told_by_cell_and_month() {
    let built = loaded(keep("Sterna dougallii", Sensitive::Coarsen { km: 10.0 }));
    let (out, exported) = exported(&built, Format::Csv);
    // in May both sites were visited, in September the lagoon alone, which would tell the place
    assert_eq!(
        (
            exported.left_out.coarse_species,
            exported.left_out.finds_withheld
        ),
        (1, 1)
    );
    let coarse = read(out.path(), "coarse.csv");
    let lines: Vec<&str> = coarse.lines().collect();
    assert_eq!(lines.len(), 2, "{coarse}");
    assert!(
        lines[1].ends_with(",7083,2020-05,Sterna dougallii,2"),
        "{coarse}"
    );
    let degrees: Vec<&str> = lines[1].split(',').take(2).collect();
    assert!(degrees[0] != "54.63" && degrees[1] != "-0.41", "{coarse}");
    for file in ["counts.csv", "visits.csv", "wingtide.toml"] {
        assert!(!read(out.path(), file).contains("dougallii"), "{file}");
    }
    // a visit that told of it alone is gone
    assert!(!all_text(out.path()).contains("2020-05-09"));
    let (out, _) = self::exported(&built, Format::DarwinCore);
    let text = unzipped(out.path());
    let told: Vec<&str> = text.lines().filter(|l| l.contains("dougallii")).collect();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].contains("km:2020-05\t") && !told[0].contains("long-bank"),
        "{told:?}"
    );
}

#[test]
fn a_site_withheld_leaves_nothing() {
    let built = loaded(|w| w.sites[1].sensitive = Some(Sensitive::Withhold));
    for format in [Format::Csv, Format::Parquet, Format::DarwinCore] {
        let (out, _) = exported(&built, format);
        let text = match format {
            Format::DarwinCore => unzipped(out.path()),
            _ => all_text(out.path()),
        };
        for trace in ["agoon", "hirundo", "2020-05-03", "2020-05-04", "2021"] {
            assert!(!text.contains(trace), "{format:?} tells {trace}");
        }
    }
    let built = loaded(|w| {
        w.sites
            .iter_mut()
            .for_each(|s| s.sensitive = Some(Sensitive::Withhold))
    });
    let out = tempfile::tempdir().unwrap();
    let refused = export(&built.store(), &built.workspace, Format::Csv, out.path()).unwrap_err();
    assert!(matches!(refused, ExportError::NothingLeft));
    assert_eq!(std::fs::read_dir(out.path()).unwrap().count(), 0);
}

#[test]
fn a_site_coarsened_has_another_name_in_the_middle_of_its_cell() {
    let built = loaded(|w| w.sites[0].sensitive = Some(Sensitive::Coarsen { km: 10.0 }));
    for format in [Format::Csv, Format::DarwinCore] {
        let (out, exported) = exported(&built, format);
        assert_eq!(exported.left_out.coarse_sites, 1);
        let text = match format {
            Format::DarwinCore => unzipped(out.path()),
            _ => all_text(out.path()),
        };
        for trace in ["long-bank", "Long Bank"] {
            assert!(!text.contains(trace), "{format:?} tells {trace}");
        }
        assert!(text.contains("area-1"));
    }
    let (out, _) = exported(&built, Format::Csv);
    let (workspace, store) = again(out.path());
    let site = workspace.site("area-1").unwrap();
    assert!((site.latitude - 54.63).abs() < 0.05 && site.latitude != 54.63);
    let history = store.history(&workspace, "area-1").unwrap();
    let before = built
        .store()
        .history(&built.workspace, "long-bank")
        .unwrap();
    assert_eq!(told(&before), told(&history));
}

#[test]
fn only_a_new_folder_or_an_export_is_written_over() {
    let built = loaded(|_| {});
    let refused = export(&built.store(), &built.workspace, Format::Csv, &built.root());
    assert!(matches!(refused, Err(ExportError::NotOurs(_))));
    assert!(read(&built.root(), "counts.csv").starts_with("Date,Place"));
    let (out, _) = exported(&built, Format::Csv);
    let files = export(
        &built.store(),
        &built.workspace,
        Format::DarwinCore,
        out.path(),
    )
    .unwrap()
    .files;
    assert_eq!(files.len(), 3);
    let left = std::fs::read_dir(out.path()).unwrap().count();
    assert_eq!(left, 3, "tables of the earlier export would not match");
}

#[test]
fn the_same_counts_give_the_same_archive() {
    let built = loaded(|_| {});
    let bytes = || {
        let (out, _) = exported(&built, Format::DarwinCore);
        std::fs::read(out.path().join("darwin-core.zip")).unwrap()
    };
    assert_eq!(bytes(), bytes());
}

//! Darwin Core Archives, from the settings to the store.

use crate::formats::zipped;
use crate::layouts::{notes, refusals, row, workspace};
use forecast::series::Count::*;

const META: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">
  <core encoding="UTF-8" fieldsTerminatedBy="\t" linesTerminatedBy="\n" fieldsEnclosedBy="" ignoreHeaderLines="1" rowType="http://rs.tdwg.org/dwc/terms/Event">
    <files><location>event.txt</location></files>
    <id index="0"/>
    <field index="1" term="http://rs.tdwg.org/dwc/terms/eventDate"/>
    <field index="2" term="http://rs.tdwg.org/dwc/terms/locality"/>
    <field index="3" term="http://rs.tdwg.org/dwc/terms/decimalLatitude"/>
    <field index="4" term="http://rs.tdwg.org/dwc/terms/decimalLongitude"/>
    <field index="5" term="http://rs.tdwg.org/dwc/terms/samplingEffort"/>
  </core>
  <extension encoding="UTF-8" fieldsTerminatedBy="," fieldsEnclosedBy="&quot;" ignoreHeaderLines="1" rowType="http://rs.tdwg.org/dwc/terms/Occurrence">
    <files><location>occurrence.csv</location></files>
    <coreid index="0"/>
    <field index="1" term="http://rs.tdwg.org/dwc/terms/scientificName"/>
    <field index="2" term="http://rs.tdwg.org/dwc/terms/occurrenceStatus"/>
    <field index="3" term="http://rs.tdwg.org/dwc/terms/individualCount"/>
    <field index="4" term="http://rs.tdwg.org/dwc/terms/organismQuantity"/>
    <field index="5" term="http://rs.tdwg.org/dwc/terms/organismQuantityType"/>
    <field index="6" term="http://rs.tdwg.org/dwc/terms/basisOfRecord" default="HumanObservation"/>
  </extension>
  <extension encoding="UTF-8" fieldsTerminatedBy="," ignoreHeaderLines="1" rowType="http://rs.tdwg.org/eco/terms/Event">
    <files><location>humboldt.csv</location></files>
    <coreid index="0"/>
    <field index="1" term="http://rs.tdwg.org/eco/terms/isTaxonomicScopeFullyReported"/>
    <field index="2" term="http://rs.tdwg.org/eco/terms/targetTaxonomicScope"/>
    <field index="3" term="http://rs.tdwg.org/eco/terms/samplingEffortValue"/>
    <field index="4" term="http://rs.tdwg.org/eco/terms/samplingEffortUnit"/>
  </extension>
</archive>"#;

// e2 lies 120 m from Tern Lagoon; e5 begins at 23:30 UTC, half past midnight of British Summer Time
const EVENTS: &str = "id\tdate\tlocality\tlat\tlon\teffort\n\
    e1\t2025-05-13\tLong Bank\t\t\t2 hours\n\
    e2\t2025-05-14T05:30/07:30\t\t54.651\t-0.4505\t\n\
    e3\t2025-05-15/2025-05-20\tLong Bank\t\t\t\n\
    e4\t2025-05-16\t\t55.5\t-0.41\t\n\
    e5\t2025-05-16T23:30Z\tLong Bank\t\t\t\n\
    e6\t2025-05\tLong Bank\t\t\t\n";

const OCCURRENCES: &str = "id,name,status,individuals,quantity,type,basis\n\
    e1,\"Calidris alpina (Linnaeus, 1758)\",present,12,,,\n\
    e1,Calidris minuta,absent,,,,\n\
    e2,Calidris alpina,,,40,individuals,\n\
    e2,Calidris minuta,present,,3,% biomass,\n\
    e3,Calidris alpina,present,1,,,\n\
    e4,Calidris alpina,present,1,,,\n\
    e5,Calidris alpina,present,5,,,\n\
    e6,Calidris alpina,present,1,,,\n\
    e9,Calidris alpina,present,1,,,\n\
    e1,Calidris alpina,maybe,1,,,\n\
    e1,Calidris alpina,present,1,,,PreservedSpecimen\n";

const HUMBOLDT: &str = "id,full,scope,value,unit\n\
    e1,true,Aves,90,minutes\n\
    e2,true,Procellariiformes,,\n\
    e5,TRUE,,,\n";

fn archive(meta: &str) -> Vec<u8> {
    zipped(&[
        ("data/meta.xml", meta.as_bytes()),
        ("data/event.txt", EVENTS.as_bytes()),
        ("data/occurrence.csv", OCCURRENCES.as_bytes()),
        ("data/humboldt.csv", HUMBOLDT.as_bytes()),
    ])
}

const COUNTS: &str = "kind = \"counts\"\nfile = \"counts.zip\"\n";

#[test]
fn an_event_core_with_occurrences_and_effort() {
    let loaded = workspace(COUNTS, &[("counts.zip", &archive(META))]);
    let report = loaded.load().unwrap();
    assert_eq!(
        loaded.stored(),
        [
            row("2025-05-13", "long-bank", "Calidris alpina", Exactly(12)),
            row("2025-05-17", "long-bank", "Calidris alpina", Exactly(5)),
            row("2025-05-13", "long-bank", "Calidris minuta", Exactly(0)),
            row("2025-05-17", "long-bank", "Calidris minuta", Exactly(0)),
            row("2025-05-14", "tern-lagoon", "Calidris alpina", Exactly(40)),
            row("2025-05-14", "tern-lagoon", "Calidris minuta", Present),
        ]
    );
    assert_eq!(
        refusals(&report),
        [
            "line 6, eventDate \"2025-05-15/2025-05-20\": more than one day; a count needs its day",
            "line 7, location \"55.5 -0.41\": 94.7 km from the nearest site, \"tern-lagoon\"; at most 1 km are allowed (within_km)",
            "line 9, eventDate \"2025-05\": a whole year or month; a count needs its day",
            "line 10, eventDate \"\": its event \"e9\" is none of the archive's events",
            "line 11, individualCount \"maybe 1\": its occurrenceStatus is neither present nor absent",
            "line 12, scientificName \"Calidris alpina\": its basisOfRecord is PreservedSpecimen, which is no count",
        ]
    );
    assert_eq!(
        notes(&report),
        [
            "Rows whose quantity is not in individuals, read as present without a number: 1.",
            "3 rows have nothing in \"samplingEffort\"; their visits, where no other row tells their effort, are taken as standard in length.",
            "Line 11: Visits not fully reported, as a row of theirs may be of any species: 1.",
        ]
    );
    assert!(loaded.load().unwrap().unchanged);
}

#[test]
fn fully_reported_events_are_visits() {
    let both = format!(
        "{COUNTS}\n[[source]]\nid = \"visits\"\nkind = \"visits\"\nfile = \"counts.zip\"\nformat = \"darwin-core\"\n"
    );
    let loaded = workspace(&both, &[("counts.zip", &archive(META))]);
    let report = loaded.load().unwrap();
    assert_eq!(report.sources[1].accepted, 2);
    assert_eq!(
        notes(&report)[3..5],
        [
            "Fully reported for \"Procellariiformes\" alone, which makes no zeros of other birds known.",
            "Events that are not said to be fully reported (eco:isTaxonomicScopeFullyReported), which make no visits: 4.",
        ]
    );
    // e5 was fully reported: Little Stint, of which it has no row, was not found
    let zero = row("2025-05-17", "long-bank", "Calidris minuta", Exactly(0));
    assert!(loaded.stored().contains(&zero));
}

#[test]
fn an_occurrence_core_in_a_folder() {
    let meta = r#"<archive xmlns="http://rs.tdwg.org/dwc/text/"><core rowType="http://rs.tdwg.org/dwc/terms/Occurrence" ignoreHeaderLines="1" fieldsTerminatedBy=";">
        <files><location>o.csv</location></files><id index="0"/>
        <field index="1" term="http://rs.tdwg.org/dwc/terms/year"/>
        <field index="2" term="http://rs.tdwg.org/dwc/terms/month"/>
        <field index="3" term="http://rs.tdwg.org/dwc/terms/day"/>
        <field term="http://rs.tdwg.org/dwc/terms/locationID" default="long-bank"/>
        <field index="4" term="http://rs.tdwg.org/dwc/terms/vernacularName"/>
        <field index="5" term="http://rs.tdwg.org/dwc/terms/individualCount"/></core></archive>"#;
    let loaded = workspace(
        "kind = \"counts\"\nfile = \"download\"\n",
        &[
            ("download/meta.xml", meta.as_bytes()),
            (
                "download/o.csv",
                b"id;y;m;d;name;n\n1;2025;5;13;Dunlin;3\n2;2025;5;14;Dunlin;\n",
            ),
        ],
    );
    loaded.load().unwrap();
    assert_eq!(
        loaded.stored(),
        [
            row("2025-05-13", "long-bank", "Calidris alpina", Exactly(3)),
            row("2025-05-14", "long-bank", "Calidris alpina", Present),
        ]
    );
}

#[test]
fn broken_archives_are_refused_in_a_sentence() {
    let what =
        "counts.zip, data/meta.xml cannot be read as the description of a Darwin Core Archive: ";
    let event = "rowType=\"http://rs.tdwg.org/dwc/terms/Event\"";
    let cases = [
        (
            "<id index=\"0\"/>\n",
            "",
            "line 2, archive: the core has no id, by which extensions are joined to it",
        ),
        (
            "<coreid index=\"0\"/>",
            "",
            "line 12, extension: coreid is missing, by which its rows are joined to the core",
        ),
        (
            event,
            "",
            "line 3, core: rowType is missing, which says what its rows are",
        ),
        (
            "<id index=\"0\"/>",
            "<field index=\"0\" term=\"http://rs.tdwg.org/dwc/terms/eventID\"/><id index=\"0\"/>",
            "line 5, id: it stands behind field; expected files, then id, then the fields",
        ),
        (
            "<files><location>event.txt</location></files>",
            "",
            "line 3, core: it names no files",
        ),
        (
            "index=\"1\"",
            "index=\"one\"",
            "line 6, field: index is \"one\"; expected a whole number from 0 on",
        ),
        (
            "<archive",
            "<!DOCTYPE archive [<!ENTITY a \"b\">]>\n<archive",
            "line 2: it has a document type, which is not read",
        ),
        (
            "\"http://rs.tdwg.org/dwc/text/\"",
            "\"http://example.org/\"",
            "line 2, archive: not of the namespace http://rs.tdwg.org/dwc/text/",
        ),
        (
            "</core>",
            "</core><core rowType=\"x\"><files><location>a</location></files><field term=\"b\"/></core>",
            "line 11, core: a second core; an archive has one",
        ),
    ];
    for (from, to, sentence) in cases {
        assert!(META.contains(from), "{from}");
        let loaded = workspace(
            COUNTS,
            &[("counts.zip", &archive(&META.replacen(from, to, 1)))],
        );
        assert_eq!(
            loaded.load().unwrap_err().to_string(),
            format!("{what}{sentence}")
        );
        assert!(!loaded.folder.path().join(ingest::STORE_FOLDER).exists());
    }
    let gone = META.replace("event.txt", "events.txt");
    let loaded = workspace(COUNTS, &[("counts.zip", &archive(&gone))]);
    assert_eq!(
        loaded.load().unwrap_err().to_string(),
        "counts.zip cannot be read as a Darwin Core Archive: meta.xml names data/events.txt, which is not there"
    );
    let none = workspace(
        COUNTS,
        &[("counts.zip", &zipped(&[("counts.csv", b"Date\n")]))],
    );
    assert_eq!(
        none.load().unwrap_err().to_string(),
        "counts.zip cannot be read as a Darwin Core Archive: there is no meta.xml in it; write columns if it is no such archive"
    );
}

fn with(events: &str, occurrences: &str, humboldt: &str) -> Vec<u8> {
    zipped(&[
        ("meta.xml", META.as_bytes()),
        ("event.txt", events.as_bytes()),
        ("occurrence.csv", occurrences.as_bytes()),
        ("humboldt.csv", humboldt.as_bytes()),
    ])
}

/// One file, five events: fully reported, for some birds alone, by the way, not said, and one by
/// the way on the day of the first. `isTaxonomicScopeFullyReported` and `targetTaxonomicScope` are
/// terms of the Humboldt Extension of Darwin Core.
#[test]
fn each_event_says_itself_whether_it_makes_zeros() {
    let events = "id\tdate\tlocality\tlat\tlon\teffort\n\
        full\t2025-05-01\tLong Bank\t\t\t\nnarrow\t2025-05-02\tLong Bank\t\t\t\n\
        part\t2025-05-03\tLong Bank\t\t\t\nunsaid\t2025-05-04\tLong Bank\t\t\t\n\
        aside\t2025-05-01\tLong Bank\t\t\t\n";
    let occurrences = "id,name,status,individuals,quantity,type,basis\n\
        full,Calidris alpina,present,1,,,\nnarrow,Calidris alpina,present,2,,,\n\
        part,Calidris alpina,present,3,,,\nunsaid,Calidris alpina,present,4,,,\n\
        aside,Calidris alpina,present,5,,,\npart,Calidris minuta,present,1,,,\n";
    let humboldt = "id,full,scope,value,unit\n\
        full,false,Procellariiformes,,\nfull,true,Aves,,\nnarrow,true,Procellariiformes,,\n\
        part,false,,,\naside,false,,,\n";
    let archive = with(events, occurrences, humboldt);
    for (stated, unsaid) in [("", None), ("fully_reported = true\n", Some(Exactly(0)))] {
        let source = format!("{COUNTS}{stated}");
        let loaded = workspace(&source, &[("counts.zip", &archive)]);
        loaded.load().unwrap();
        let stints = loaded
            .stored()
            .into_iter()
            .filter(|r| r.2 == "Calidris minuta");
        let stints: Vec<_> = stints.map(|r| (r.0, r.3)).collect();
        let mut expected = vec![
            (crate::workspace::day("2025-05-01"), Exactly(0)),
            (crate::workspace::day("2025-05-03"), Exactly(1)),
        ];
        expected.extend(unsaid.map(|zero| (crate::workspace::day("2025-05-04"), zero)));
        assert_eq!(stints, expected, "{stated}");
    }
}

/// Rows with coordinates and events with coordinates are placed by one rule.
#[test]
fn how_far_an_event_may_lie_is_a_setting() {
    let near = format!("{COUNTS}within_km = 100\n");
    let loaded = workspace(&near, &[("counts.zip", &archive(META))]);
    let report = loaded.load().unwrap();
    let far = row("2025-05-16", "tern-lagoon", "Calidris alpina", Exactly(1));
    assert!(loaded.stored().contains(&far), "{report}");
}

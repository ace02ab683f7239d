//! The archive's tables and the terms in them.

pub(super) const DWC: &str = "http://rs.tdwg.org/dwc/terms/";
const ECO: &str = "http://rs.tdwg.org/eco/terms/";

/// A table of the archive.
pub(super) struct Table {
    pub(super) file: &'static str,
    /// Namespace and name of its kind of row.
    pub(super) row_type: (&'static str, &'static str),
    /// Terms of its columns, the first of them the event's id.
    pub(super) columns: &'static [&'static str],
    /// Terms with one value in every row.
    pub(super) constants: &'static [(&'static str, &'static str)],
}

pub(super) const EVENT: Table = Table {
    file: "event.txt",
    row_type: (DWC, "Event"),
    columns: &[
        "dwc:eventID",
        "dwc:eventDate",
        "dwc:locationID",
        "dwc:locality",
        "dwc:decimalLatitude",
        "dwc:decimalLongitude",
        "dwc:coordinateUncertaintyInMeters",
        "dwc:samplingEffort",
        "dwc:dataGeneralizations",
    ],
    constants: &[
        ("dwc:geodeticDatum", "EPSG:4326"),
        (
            "dwc:samplingProtocol",
            "dated visit to a fixed place, birds counted",
        ),
    ],
};

pub(super) const OCCURRENCE: Table = Table {
    file: "occurrence.txt",
    row_type: (DWC, "Occurrence"),
    columns: &[
        "dwc:eventID",
        "dwc:occurrenceID",
        "dwc:scientificName",
        "dwc:vernacularName",
        "dwc:occurrenceStatus",
        "dwc:individualCount",
        "dwc:organismQuantity",
        "dwc:organismQuantityType",
    ],
    constants: &[
        ("dwc:basisOfRecord", "HumanObservation"),
        ("dwc:taxonRank", "species"),
    ],
};

pub(super) const HUMBOLDT: Table = Table {
    file: "humboldt.txt",
    row_type: (ECO, "Event"),
    columns: &[
        "dwc:eventID",
        "eco:isTaxonomicScopeFullyReported",
        "eco:isAbsenceReported",
        "eco:isSamplingEffortReported",
        "eco:samplingEffortValue",
        "eco:samplingEffortUnit",
        "eco:targetTaxonomicScope",
    ],
    constants: &[("eco:isAbundanceReported", "true")],
};

/// The name without its prefix.
pub(super) fn short(term: &str) -> &str {
    term.split_once(':').map_or(term, |(_, name)| name)
}

/// The whole name on the web.
pub(super) fn iri(term: &str) -> String {
    let space = if term.starts_with("eco:") { ECO } else { DWC };
    format!("{space}{}", short(term))
}

//! What a file is, told from its bytes; names only tell which files of a folder are looked at.

use std::path::Path;

/// The files that are read, for messages.
pub(crate) const READ: &str =
    "delimited text (.csv, .tsv, .txt), .xlsx, .ods or .parquet, as it is or in .gz or .zip";

/// Extensions of the files of a folder or archive that are taken.
const EXTENSIONS: [&str; 8] = ["csv", "tsv", "tab", "txt", "xlsx", "ods", "parquet", "gz"];

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Text,
    Xlsx,
    Ods,
    Parquet,
    Gzip,
    Zip,
}

/// Signatures: PKWARE APPNOTE 4.3.7 (zip, thus .xlsx and .ods), RFC 1952 2.3.1 (gzip), Apache
/// Parquet format. Which zip is a workbook, its members tell: ECMA-376-2 (Open Packaging) 7.2.3.2,
/// OpenDocument 1.2 part 3, 2.2.
pub(crate) fn of(bytes: &[u8], members: impl FnOnce() -> Vec<String>) -> Kind {
    if bytes.starts_with(b"\x1f\x8b") {
        return Kind::Gzip;
    }
    if bytes.starts_with(b"PAR1") {
        return Kind::Parquet;
    }
    if !bytes.starts_with(b"PK\x03\x04") && !bytes.starts_with(b"PK\x05\x06") {
        return Kind::Text;
    }
    let members = members();
    let has = |name: &str| members.iter().any(|m| m == name);
    match () {
        () if has("[Content_Types].xml") && members.iter().any(|m| m.starts_with("xl/")) => {
            Kind::Xlsx
        }
        () if has("mimetype") && has("content.xml") => Kind::Ods,
        () => Kind::Zip,
    }
}

/// Is the file of a folder or archive, by its name, one to read?
pub(crate) fn is_taken(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    // office programs keep locks and leftovers beside an open file
    if name.starts_with(['.', '~']) {
        return false;
    }
    let extension = path.extension().unwrap_or_default().to_string_lossy();
    EXTENSIONS.contains(&extension.to_ascii_lowercase().as_str())
}

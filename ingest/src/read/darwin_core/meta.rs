//! `meta.xml`, which describes the files of a Darwin Core Archive.
//!
//! Darwin Core text guide (TDWG, 2023-09-13), sections 2.1 to 2.4, and its schema
//! `tdwg_dwc_text.xsd`: one core, then extensions; in each the files, the id, then the fields.

use super::tree::{self, Node};

/// A file of the archive and what its columns are.
#[derive(Debug, Clone)]
pub(crate) struct FileSpec {
    pub(crate) row_type: String,
    pub(crate) encoding: String,
    pub(crate) separator: u8,
    /// None where nothing encloses a cell.
    pub(crate) quote: Option<u8>,
    pub(crate) header_lines: u64,
    pub(crate) locations: Vec<String>,
    /// Column of the core's id.
    pub(crate) id: Option<usize>,
    pub(crate) fields: Vec<Field>,
}

/// A column, or a value that holds for every row.
#[derive(Debug, Clone)]
pub(crate) struct Field {
    pub(crate) term: String,
    pub(crate) index: Option<usize>,
    pub(crate) default: Option<String>,
}

/// The archive as described.
#[derive(Debug, Clone)]
pub(crate) struct Meta {
    pub(crate) core: FileSpec,
    pub(crate) extensions: Vec<FileSpec>,
}

/// Why the description is refused, as a phrase with its line.
type Refused = String;

pub(crate) fn read(text: &str) -> Result<Meta, Refused> {
    let root = tree::read(text)?;
    if root.name != "archive" {
        return Err(root.fault("it begins with another element; expected archive"));
    }
    let (mut core, mut extensions) = (None, Vec::new());
    for node in &root.children {
        match node.name.as_str() {
            "core" if core.is_some() => return Err(node.fault("a second core; an archive has one")),
            "core" if !extensions.is_empty() => {
                return Err(node.fault("the core stands behind an extension; it comes first"));
            }
            "core" => core = Some(file(node, "id")?),
            "extension" => extensions.push(file(node, "coreid")?),
            _ => return Err(node.fault("no part of an archive; expected core or extension")),
        }
    }
    let core = core.ok_or_else(|| root.fault("there is no core"))?;
    if !extensions.is_empty() && core.id.is_none() {
        return Err(root.fault("the core has no id, by which extensions are joined to it"));
    }
    Ok(Meta { core, extensions })
}

fn file(node: &Node, id: &'static str) -> Result<FileSpec, Refused> {
    let is_extension = id == "coreid";
    in_order(node, id)?;
    let row_type = node.attribute("rowType");
    let row_type =
        row_type.ok_or_else(|| node.fault("rowType is missing, which says what its rows are"))?;
    let files = node.children.iter().find(|n| n.name == "files");
    let files = files.ok_or_else(|| node.fault("it names no files"))?;
    let locations: Vec<String> = files
        .children
        .iter()
        .map(|n| n.text.trim().to_owned())
        .collect();
    if locations.is_empty() || locations.iter().any(String::is_empty) {
        return Err(files.fault("no location, the name of its file"));
    }
    let ids = node.children.iter().find(|n| n.name == id);
    if ids.is_none() && is_extension {
        return Err(node.fault("coreid is missing, by which its rows are joined to the core"));
    }
    let fields = node.children.iter().filter(|n| n.name == "field");
    let fields = fields.map(field).collect::<Result<Vec<_>, _>>()?;
    if fields.is_empty() {
        return Err(node.fault("it has no field"));
    }
    Ok(FileSpec {
        row_type: row_type.to_owned(),
        encoding: node.attribute("encoding").unwrap_or("UTF-8").to_owned(),
        separator: one_byte(node, "fieldsTerminatedBy", Some(b','))?.unwrap_or(b','),
        quote: one_byte(node, "fieldsEnclosedBy", Some(b'"'))?,
        header_lines: whole(node, "ignoreHeaderLines")?.unwrap_or(0) as u64,
        locations,
        id: ids.map(|n| need_whole(n, "index")).transpose()?,
        fields,
    })
}

/// Files, then the id, then the fields: the schema's sequence.
fn in_order(node: &Node, id: &str) -> Result<(), Refused> {
    let rank = |name: &str| match name {
        "files" => Some(0),
        n if n == id => Some(1),
        "field" => Some(2),
        _ => None,
    };
    let mut highest = (0, "");
    for child in &node.children {
        let name = child.name.as_str();
        let Some(rank) = rank(name) else {
            return Err(child.fault(&format!("no part of it; expected files, {id} or field")));
        };
        if rank < highest.0 {
            let why = format!(
                "it stands behind {}; expected files, then {id}, then the fields",
                highest.1
            );
            return Err(child.fault(&why));
        }
        if rank == highest.0 && rank < 2 && highest.1 == name {
            return Err(child.fault("there is a second one"));
        }
        highest = (rank, name);
    }
    Ok(())
}

fn field(node: &Node) -> Result<Field, Refused> {
    let term = node.attribute("term");
    let term = term.ok_or_else(|| node.fault("term is missing, which says what the column is"))?;
    Ok(Field {
        term: term.to_owned(),
        index: whole(node, "index")?,
        default: node.attribute("default").map(str::to_owned),
    })
}

fn whole(node: &Node, key: &str) -> Result<Option<usize>, Refused> {
    let Some(text) = node.attribute(key) else {
        return Ok(None);
    };
    let number = text.trim().parse();
    let number = number.map_err(|_| {
        node.fault(&format!(
            "{key} is \"{text}\"; expected a whole number from 0 on"
        ))
    })?;
    Ok(Some(number))
}

fn need_whole(node: &Node, key: &str) -> Result<usize, Refused> {
    whole(node, key)?.ok_or_else(|| node.fault(&format!("{key} is missing")))
}

/// A character that may be written as an escape; None where the text is empty.
fn one_byte(node: &Node, key: &str, default: Option<u8>) -> Result<Option<u8>, Refused> {
    let Some(text) = node.attribute(key) else {
        return Ok(default);
    };
    match text {
        "" => Ok(None),
        "\\t" => Ok(Some(b'\t')),
        "\\\\" => Ok(Some(b'\\')),
        one if one.len() == 1 && !matches!(one, "\n" | "\r") => Ok(one.bytes().next()),
        _ => Err(node.fault(&format!(
            "{key} is \"{text}\"; expected one character of ASCII, or \\t for a tab"
        ))),
    }
}

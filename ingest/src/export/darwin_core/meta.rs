//! `meta.xml`: which file holds which terms (Darwin Core text guide, TDWG 2023-09-13).

use super::terms::{EVENT, HUMBOLDT, OCCURRENCE, Table, iri};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use std::io;

pub(super) fn xml() -> io::Result<Vec<u8>> {
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 2);
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    writer
        .create_element("archive")
        .with_attribute(("xmlns", "http://rs.tdwg.org/dwc/text/"))
        .with_attribute(("metadata", "eml.xml"))
        .write_inner_content(|writer| {
            file(writer, "core", &EVENT)?;
            file(writer, "extension", &OCCURRENCE)?;
            file(writer, "extension", &HUMBOLDT)
        })?;
    let mut bytes = writer.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

fn file(writer: &mut Writer<Vec<u8>>, element: &str, table: &Table) -> io::Result<()> {
    let row_type = format!("{}{}", table.row_type.0, table.row_type.1);
    writer
        .create_element(element)
        .with_attribute(("encoding", "UTF-8"))
        .with_attribute(("fieldsTerminatedBy", "\\t"))
        .with_attribute(("linesTerminatedBy", "\\n"))
        .with_attribute(("fieldsEnclosedBy", "\""))
        .with_attribute(("ignoreHeaderLines", "1"))
        .with_attribute(("rowType", row_type.as_str()))
        .write_inner_content(|writer| {
            writer
                .create_element("files")
                .write_inner_content(|writer| {
                    let location = writer.create_element("location");
                    location.write_text_content(BytesText::new(table.file))?;
                    Ok(())
                })?;
            let id = if element == "core" { "id" } else { "coreid" };
            writer
                .create_element(id)
                .with_attribute(("index", "0"))
                .write_empty()?;
            fields(writer, element, table)
        })?;
    Ok(())
}

/// The event's id is a term of the core; in an extension it is no term of its own.
fn fields(writer: &mut Writer<Vec<u8>>, element: &str, table: &Table) -> io::Result<()> {
    let first = if element == "core" { 0 } else { 1 };
    for (index, term) in table.columns.iter().enumerate().skip(first) {
        writer
            .create_element("field")
            .with_attribute(("index", index.to_string().as_str()))
            .with_attribute(("term", iri(term).as_str()))
            .write_empty()?;
    }
    for (term, value) in table.constants {
        writer
            .create_element("field")
            .with_attribute(("term", iri(term).as_str()))
            .with_attribute(("default", *value))
            .write_empty()?;
    }
    Ok(())
}

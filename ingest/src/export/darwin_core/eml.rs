//! `eml.xml`: whose data these are (Ecological Metadata Language 2.2.0, the least of it).

use super::super::outgoing::Outgoing;
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use std::io;

const ABSTRACT: &str = "Dated visits to fixed places and the birds counted on them, with absences \
    on visits that were fully reported. Records of sensitive species and places may be left out \
    or told roughly.";

pub(super) fn xml(out: &Outgoing) -> io::Result<Vec<u8>> {
    let keeper = out.keeper.as_deref().unwrap_or(&out.name);
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 2);
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    writer
        .create_element("eml:eml")
        .with_attribute(("xmlns:eml", "https://eml.ecoinformatics.org/eml-2.2.0"))
        .with_attribute(("packageId", out.name.as_str()))
        .with_attribute(("system", "wingtide"))
        .write_inner_content(|writer| {
            writer
                .create_element("dataset")
                .write_inner_content(|writer| {
                    text(writer, "title", &out.name)?;
                    party(writer, "creator", keeper)?;
                    text(writer, "language", &out.language)?;
                    let summary = writer.create_element("abstract");
                    summary.write_inner_content(|writer| text(writer, "para", ABSTRACT))?;
                    party(writer, "contact", keeper)
                })?;
            Ok(())
        })?;
    let mut bytes = writer.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

fn text(writer: &mut Writer<Vec<u8>>, element: &str, content: &str) -> io::Result<()> {
    let element = writer.create_element(element);
    element.write_text_content(BytesText::new(content))?;
    Ok(())
}

fn party(writer: &mut Writer<Vec<u8>>, element: &str, name: &str) -> io::Result<()> {
    let element = writer.create_element(element);
    element.write_inner_content(|writer| text(writer, "organizationName", name))?;
    Ok(())
}

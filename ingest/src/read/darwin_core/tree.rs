//! XML as a small tree, read within bounds: no document type, no entities, little depth.

use quick_xml::XmlVersion;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::name::{Namespace, ResolveResult};
use quick_xml::reader::NsReader;

/// The namespace of the Darwin Core text guide.
const NAMESPACE: &str = "http://rs.tdwg.org/dwc/text/";

/// Elements inside elements: archive, core, files, location.
const DEEPEST: usize = 8;

/// Elements in all; the longest descriptions name some hundred terms for a dozen files.
const MOST: usize = 20_000;

/// Longest description, bytes.
const LONGEST: usize = 4 << 20;

/// An element.
#[derive(Debug, Default)]
pub(super) struct Node {
    pub(super) name: String,
    pub(super) text: String,
    pub(super) children: Vec<Node>,
    attributes: Vec<(String, String)>,
    line: usize,
}

impl Node {
    pub(super) fn attribute(&self, key: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(k, _)| k == key);
        found.map(|(_, value)| value.as_str())
    }

    /// What is wrong with it, with its line.
    pub(super) fn fault(&self, why: &str) -> String {
        format!("line {}, {}: {why}", self.line, self.name)
    }
}

/// The root element; an error is a phrase.
pub(super) fn read(text: &str) -> Result<Node, String> {
    if text.len() > LONGEST {
        return Err(format!("it is longer than {} MiB", LONGEST >> 20));
    }
    let mut reader = NsReader::from_str(text);
    let (mut open, mut elements) = (vec![Node::default()], 0);
    loop {
        let line = 1 + text[..reader.buffer_position() as usize]
            .matches('\n')
            .count();
        let at = |why: String| format!("line {line}: {why}");
        let (space, event) = reader
            .read_resolved_event()
            .map_err(|e| at(e.to_string()))?;
        let ours = matches!(&space, ResolveResult::Bound(Namespace(n)) if *n == NAMESPACE);
        match event {
            Event::DocType(_) => {
                return Err(at("it has a document type, which is not read".to_owned()));
            }
            Event::Start(_) | Event::Empty(_) if elements == MOST || open.len() > DEEPEST => {
                return Err(at("too many elements, or too deep".to_owned()));
            }
            Event::Start(e) => {
                elements += 1;
                open.push(node(&e, ours, line)?);
            }
            Event::Empty(e) => {
                elements += 1;
                let node = node(&e, ours, line)?;
                inner(&mut open).children.push(node);
            }
            Event::End(_) => {
                // the reader has seen to it that every end has its beginning
                let closed = open.pop().unwrap_or_default();
                inner(&mut open).children.push(closed);
            }
            Event::Text(t) => inner(&mut open).text.push_str(&t.xml10_content()),
            Event::CData(t) => inner(&mut open).text.push_str(&t.xml10_content()),
            Event::GeneralRef(e) => inner(&mut open).text.push(character(&e).map_err(at)?),
            Event::Eof => break,
            Event::Comment(_) | Event::Decl(_) | Event::PI(_) => {}
        }
    }
    if open.len() != 1 {
        return Err("it is cut off".to_owned());
    }
    let root = open.remove(0).children.into_iter().next();
    root.ok_or_else(|| "it is empty".to_owned())
}

fn inner(open: &mut [Node]) -> &mut Node {
    let last = open.len() - 1; // the outermost is never taken out
    &mut open[last]
}

fn node(start: &BytesStart<'_>, ours: bool, line: usize) -> Result<Node, String> {
    let name = start.local_name().as_ref().to_owned();
    if !ours {
        return Err(format!(
            "line {line}, {name}: not of the namespace {NAMESPACE}"
        ));
    }
    let mut attributes = Vec::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|e| format!("line {line}, {name}: {e}"))?;
        let value = attribute
            .normalized_value(XmlVersion::Implicit1_0)
            .map_err(|e| format!("line {line}, {name}: {e}"))?;
        let key = attribute.key.local_name().as_ref().to_owned();
        attributes.push((key, value.into_owned()));
    }
    Ok(Node {
        name,
        attributes,
        line,
        ..Node::default()
    })
}

/// One of the five characters that XML itself names, or one by its number.
fn character(reference: &BytesRef<'_>) -> Result<char, String> {
    if let Ok(Some(numbered)) = reference.resolve_char_ref() {
        return Ok(numbered);
    }
    let name = reference.xml10_content();
    match &*name {
        "amp" => Ok('&'),
        "lt" => Ok('<'),
        "gt" => Ok('>'),
        "quot" => Ok('"'),
        "apos" => Ok('\''),
        other => Err(format!("the entity {other} is not read")),
    }
}

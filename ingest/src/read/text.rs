//! A file's bytes as UTF-8 text.

use crate::error::LoadError;
use config::settings::Source;
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// Text in UTF-8 without a byte order mark.
#[derive(Debug)]
pub(crate) struct Text {
    /// Shared with the thread that cuts it into rows.
    pub(crate) text: Arc<String>,
    pub(crate) encoding: &'static str,
    /// Line of the first bytes that are no UTF-8, where that decided the encoding.
    pub(crate) not_utf8_line: Option<u64>,
}

/// SHA-256 in lower-case hex.
pub(crate) fn sha256_hex(bytes: &[u8]) -> String {
    let digest = Sha256::digest(bytes);
    digest.iter().map(|b| format!("{b:02x}")).collect()
}

/// Bytes at the head of a file by which it is told what it is.
const LOOKED_AT: usize = 64 << 10;

/// Decodes by the byte order mark, else as stated, else as UTF-16 where every other byte shows it,
/// else as UTF-8, else as windows-1252.
pub(crate) fn decode(bytes: Vec<u8>, source: &Source, file: &str) -> Result<Text, LoadError> {
    let stated = source.encoding.as_deref().map(|label| {
        Encoding::for_label(label.trim().as_bytes()).ok_or_else(|| LoadError::UnknownEncoding {
            source_id: source.id.clone(),
            label: label.to_owned(),
        })
    });
    let marked = Encoding::for_bom(&bytes);
    let stated = stated.transpose()?.or_else(|| unmarked(&bytes));
    let wide = stated.is_some_and(|e| e == UTF_16LE || e == UTF_16BE);
    if let Some(looks_like) = binary(&bytes).filter(|_| marked.is_none() && !wide) {
        let file = file.to_owned();
        return Err(LoadError::NotText { file, looks_like });
    }
    match (marked, stated) {
        (Some((encoding, mark)), _) => strictly(encoding, bytes, mark, source, file),
        (None, Some(encoding)) => strictly(encoding, bytes, 0, source, file),
        (None, None) => Ok(guessed(bytes)),
    }
}

fn strictly(
    encoding: &'static Encoding,
    bytes: Vec<u8>,
    mark: usize,
    source: &Source,
    file: &str,
) -> Result<Text, LoadError> {
    let text = encoding
        .decode_without_bom_handling_and_without_replacement(&bytes[mark..])
        .ok_or_else(|| LoadError::Encoding {
            file: file.to_owned(),
            line: first_bad_line(encoding, &bytes[mark..]),
            label: encoding.name().to_owned(),
            source_id: source.id.clone(),
        })?;
    Ok(Text {
        text: Arc::new(text.into_owned()),
        encoding: encoding.name(),
        not_utf8_line: None,
    })
}

/// In every encoding of the standard but UTF-16 a line feed is one byte that means nothing else.
fn first_bad_line(encoding: &'static Encoding, bytes: &[u8]) -> u64 {
    let bad = |line: &&[u8]| {
        let decoded = encoding.decode_without_bom_handling_and_without_replacement(line);
        decoded.is_none()
    };
    let before = bytes.split(|b| *b == b'\n').take_while(|line| !bad(line));
    before.count() as u64 + 1
}

fn guessed(bytes: Vec<u8>) -> Text {
    match String::from_utf8(bytes) {
        Ok(text) => Text {
            text: Arc::new(text),
            encoding: UTF_8.name(),
            not_utf8_line: None,
        },
        Err(error) => {
            let sound = error.utf8_error().valid_up_to();
            let bytes = error.as_bytes();
            let line = bytes[..sound].iter().filter(|b| **b == b'\n').count() as u64 + 1;
            let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
            Text {
                text: Arc::new(text.into_owned()),
                encoding: WINDOWS_1252.name(),
                not_utf8_line: Some(line),
            }
        }
    }
}

/// UTF-16 without its mark: of text in letters of western Europe, every other byte is NUL, and none
/// of the others.
fn unmarked(bytes: &[u8]) -> Option<&'static Encoding> {
    const SHOWN_BY: usize = 8;
    let head = &bytes[..bytes.len().min(LOOKED_AT) / 2 * 2];
    let nul = |at: usize| head.iter().skip(at).step_by(2).filter(|b| **b == 0).count();
    match (nul(0), nul(1)) {
        (0, wide) if wide >= SHOWN_BY && wide * 4 >= head.len() => Some(UTF_16LE),
        (wide, 0) if wide >= SHOWN_BY && wide * 4 >= head.len() => Some(UTF_16BE),
        _ => None,
    }
}

/// What the bytes look like where they are no text. Signatures: MS-CFB 2.2 (.xls, and .xlsx with a
/// password), ISO 32000-1 7.5.2 (PDF); text holds no NUL byte.
pub(super) fn binary(bytes: &[u8]) -> Option<&'static str> {
    let signatures: [(&[u8], &'static str); 2] = [
        (
            b"\xd0\xcf\x11\xe0",
            "a workbook of an old kind or with a password",
        ),
        (b"%PDF", "a PDF"),
    ];
    let signed = signatures.iter().find(|(s, _)| bytes.starts_with(s));
    let head = &bytes[..bytes.len().min(LOOKED_AT)];
    let nul = || head.contains(&0).then_some("binary data");
    let page = || is_web_page(head).then_some("a web page");
    signed.map(|(_, what)| *what).or_else(nul).or_else(page)
}

/// Some web sites hand out tables as pages that are named like workbooks. How a page begins: HTML
/// Living Standard 13.1.
fn is_web_page(head: &[u8]) -> bool {
    let head = head.trim_ascii_start();
    let begins = |with: &[u8]| {
        let begin = head.get(..with.len()).unwrap_or_default();
        begin.eq_ignore_ascii_case(with)
    };
    begins(b"<!doctype html") || begins(b"<html")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn utf_16_without_its_mark_is_known_by_its_nul_bytes() {
        let text = "Date,Place\r\n2024-05-11,Long Bank\r\n";
        let wide = |order: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(order).collect();
        let (little, big): (Vec<u8>, Vec<u8>) = (wide(u16::to_le_bytes), wide(u16::to_be_bytes));
        assert_eq!(unmarked(&little), Some(UTF_16LE));
        assert_eq!(unmarked(&big), Some(UTF_16BE));
        assert_eq!(unmarked(text.as_bytes()), None);
        assert_eq!(unmarked(&[0; 100]), None);
    }

    #[test]
    fn web_pages_are_known_by_their_beginning() {
        assert!(is_web_page(b"\r\n <!DOCTYPE html>"));
        assert!(is_web_page(b"<HTML><body>"));
        assert!(!is_web_page(b"Date,Place"));
        assert!(!is_web_page(b"<h"));
    }
}

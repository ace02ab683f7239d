//! A file's bytes as UTF-8 text.

use crate::error::LoadError;
use config::settings::Source;
use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};
use sha2::{Digest, Sha256};

/// Text in UTF-8 without a byte order mark.
#[derive(Debug)]
pub(crate) struct Text {
    pub(crate) text: String,
    pub(crate) encoding: &'static str,
    /// Line of the first bytes that are no UTF-8, where that decided the encoding.
    pub(crate) not_utf8_line: Option<u64>,
}

/// SHA-256 in lower-case hex.
pub(crate) fn sha256_hex(bytes: &[u8]) -> String {
    let digest = Sha256::digest(bytes);
    digest.iter().map(|b| format!("{b:02x}")).collect()
}

/// Decodes by the byte order mark, else as stated, else as UTF-8, else as windows-1252.
pub(crate) fn decode(bytes: Vec<u8>, source: &Source, file: &str) -> Result<Text, LoadError> {
    let stated = source.encoding.as_deref().map(|label| {
        Encoding::for_label(label.trim().as_bytes()).ok_or_else(|| LoadError::UnknownEncoding {
            source_id: source.id.clone(),
            label: label.to_owned(),
        })
    });
    let marked = Encoding::for_bom(&bytes);
    if let Some(looks_like) = binary(&bytes).filter(|_| marked.is_none()) {
        let file = file.to_owned();
        return Err(LoadError::NotText { file, looks_like });
    }
    match (marked, stated.transpose()?) {
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
        text: text.into_owned(),
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
            text,
            encoding: UTF_8.name(),
            not_utf8_line: None,
        },
        Err(error) => {
            let sound = error.utf8_error().valid_up_to();
            let bytes = error.as_bytes();
            let line = bytes[..sound].iter().filter(|b| **b == b'\n').count() as u64 + 1;
            let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
            Text {
                text: text.into_owned(),
                encoding: WINDOWS_1252.name(),
                not_utf8_line: Some(line),
            }
        }
    }
}

/// What the bytes look like where they are no text. Signatures: MS-CFB 2.2 (.xls, and .xlsx with a
/// password), ISO 32000-1 7.5.2 (PDF); text holds no NUL byte.
fn binary(bytes: &[u8]) -> Option<&'static str> {
    const LOOKED_AT: usize = 64 << 10;
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
    signed.map(|(_, what)| *what).or_else(nul)
}

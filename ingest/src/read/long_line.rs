//! Lines too long to be rows, seen while a file is read, so that no more of it is held in memory.

use std::io::{self, Read};

/// Longest line of text that is read, MiB. A sheet has 16,384 columns at most (ECMA-376-1 18.3.1.73
/// and OpenDocument's programs alike); so each may hold 1,024 bytes, far more than a date or a name.
pub(crate) const LINE_MIB: usize = 16;

/// Bytes looked at together.
const CHUNK: u64 = 1 << 20;

/// How the reading ended.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// With the last byte.
    Whole,
    /// In a line of text, with this number, that is too long.
    LongLine(u64),
}

/// Reads to the end, or to the first line of text that is too long.
pub(crate) fn read_to_end(mut from: impl Read, bytes: &mut Vec<u8>) -> io::Result<Ended> {
    let mut begun = 0; // where the last line begins
    loop {
        let before = bytes.len();
        if from.by_ref().take(CHUNK).read_to_end(bytes)? == 0 {
            return Ok(Ended::Whole);
        }
        let ends = |b: &u8| matches!(b, b'\n' | b'\r');
        if let Some(end) = bytes[before..].iter().rposition(ends) {
            begun = before + end + 1;
        }
        if bytes.len() - begun > LINE_MIB << 20 && is_text(bytes) {
            let above = bytes[..begun].iter().filter(|b| **b == b'\n').count();
            return Ok(Ended::LongLine(above as u64 + 1));
        }
    }
}

/// What is packed or in columns has no lines.
fn is_text(bytes: &[u8]) -> bool {
    super::kind::of(bytes, Vec::new) == super::kind::Kind::Text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(from: impl Read) -> (Ended, usize) {
        let mut bytes = Vec::new();
        let ended = read_to_end(from, &mut bytes).unwrap();
        (ended, bytes.len())
    }

    #[test]
    fn an_endless_line_is_left_soon() {
        let endless = (&b"Date,Place\n2024-05-11,"[..]).chain(io::repeat(b'a'));
        let (ended, held) = read(endless);
        assert_eq!(ended, Ended::LongLine(2));
        assert!(held <= (LINE_MIB + 2) << 20, "{held}");
    }

    #[test]
    fn lines_that_end_are_read_and_so_is_what_has_none() {
        let lines = b"2024-05-11,Long Bank,Dunlin,3\n".repeat(1_000_000);
        assert_eq!(read(&lines[..]), (Ended::Whole, 30_000_000));
        let returns = lines.iter().map(|b| if *b == b'\n' { b'\r' } else { *b });
        let returns: Vec<u8> = returns.collect();
        assert_eq!(read(&returns[..]), (Ended::Whole, 30_000_000));
        let packed = (&b"\x1f\x8b"[..]).chain(io::repeat(b'a').take(20 << 20));
        assert_eq!(read(packed), (Ended::Whole, (20 << 20) + 2));
    }
}

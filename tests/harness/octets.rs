//! The rules of RFC 5545, 3.1, on octets, which readers of calendars do not hold anybody to.

/// The most octets of a line, without its end.
const LONGEST: usize = 75;

/// Lines that break the rules: that end otherwise than by CR LF, or are too long.
pub fn broken_lines(calendar: &[u8]) -> Vec<String> {
    let mut lines: Vec<&[u8]> = calendar.split(|byte| *byte == b'\n').collect();
    // what follows the last line's end, which is nothing where it has one
    let rest = lines.pop().unwrap_or_default();
    let broken = |line: &&[u8]| match line.strip_suffix(b"\r") {
        Some(line) => line.len() > LONGEST || line.contains(&b'\r'),
        None => true,
    };
    let rest = (!rest.is_empty()).then_some(rest);
    let broken = lines.into_iter().filter(broken).chain(rest);
    broken
        .map(|line| String::from_utf8_lossy(line).into_owned())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_held_to_their_ends_and_lengths() {
        let line = |octets: usize, end: &str| "x".repeat(octets) + end;
        assert_eq!(
            broken_lines(line(75, "\r\n").as_bytes()),
            Vec::<String>::new()
        );
        for bad in [
            line(76, "\r\n"),
            line(5, "\n"),
            line(5, ""),
            line(5, "\r\r\n"),
        ] {
            assert_eq!(broken_lines(bad.as_bytes()).len(), 1, "{bad:?}");
        }
    }
}

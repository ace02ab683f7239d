//! Disks without room.

use std::error::Error;
use std::io::{self, ErrorKind, Seek, SeekFrom, Write};

/// Did a write fail for want of room: on the disk, in somebody's share of it, or for so long a file?
pub fn is_full(cause: &io::Error) -> bool {
    matches!(
        cause.kind(),
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge
    )
}

/// Writes on, and keeps the kind of a write that failed: a library that writes through it may hand
/// on no more than its text.
#[derive(Debug)]
pub(crate) struct Noting<W> {
    to: W,
    failed: Option<ErrorKind>,
}

impl<W: Write> Noting<W> {
    pub(crate) fn new(to: W) -> Self {
        Noting { to, failed: None }
    }

    /// What the library says, with the kind of the system's own word on it.
    pub(crate) fn cause(&self, said: impl Into<Box<dyn Error + Send + Sync>>) -> io::Error {
        io::Error::new(self.failed.unwrap_or(ErrorKind::Other), said)
    }

    fn noted<T>(&mut self, written: io::Result<T>) -> io::Result<T> {
        if let Err(cause) = &written {
            self.failed = Some(cause.kind());
        }
        written
    }
}

impl<W: Write> Write for Noting<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.to.write(bytes);
        self.noted(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        let flushed = self.to.flush();
        self.noted(flushed)
    }
}

impl<W: Seek> Seek for Noting<W> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.to.seek(to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A disk with room for so many bytes.
    struct Room(usize);

    impl Write for Room {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0 = self
                .0
                .checked_sub(bytes.len())
                .ok_or(ErrorKind::StorageFull)?;
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn the_kind_of_a_failed_write_is_kept() {
        let mut noting = Noting::new(Room(3));
        noting.write_all(b"abc").unwrap();
        assert!(!is_full(&noting.cause("said")));
        noting.write_all(b"d").unwrap_err();
        let cause = noting.cause("said");
        assert!(is_full(&cause));
        assert_eq!(cause.to_string(), "said");
    }
}

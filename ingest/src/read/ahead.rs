//! Rows of a long text, cut in a thread of its own while others look at those already cut.

use super::delimited::{Delimited, Shape};
use super::header::Whose;
use super::rows::{Row, Rows};
use crate::error::LoadError;
use csv::ByteRecord;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::thread::JoinHandle;

/// Shorter texts are read before a thread pays.
pub(super) const LONG: usize = 1 << 20;

/// Rows handed over at once: handing over is dear beside cutting a row.
const ROWS_A_BLOCK: usize = 1024;

/// Blocks that may wait, so that neither side stands still for long and little memory is held.
const BLOCKS_WAITING: usize = 4;

/// A row as cut.
#[derive(Default)]
pub(super) struct Cut {
    /// Line on which it begins, and lines that it spans.
    pub(super) line: u64,
    pub(super) lines: u64,
    pub(super) cells: ByteRecord,
}

/// Rows that stand one after the other.
#[derive(Default)]
struct Block {
    rows: Vec<Cut>,
    /// How many of the rows are of this block; the others are room.
    filled: usize,
    /// Bytes read up to its end.
    bytes_read: u64,
    /// How the text ends, if it does behind these rows.
    end: Option<Result<(), LoadError>>,
}

/// The rows below the header, cut ahead.
pub(super) struct Ahead {
    blocks: Receiver<Block>,
    /// Blocks go back to be filled again.
    spent: Sender<Block>,
    thread: Option<JoinHandle<()>>,
    block: Block,
    /// Rows of the block that were passed; the last of them is the row come to.
    passed: usize,
}

impl Ahead {
    /// Begins to cut the text, which is `skipped` bytes longer than its table.
    pub(super) fn new(text: Arc<String>, skipped: usize, shape: Shape, whose: Whose<'_>) -> Self {
        let (full, blocks) = sync_channel(BLOCKS_WAITING);
        let (spent, empty) = channel();
        let (file, source_id) = (whose.file.to_owned(), whose.source_id.to_owned());
        let thread = std::thread::spawn(move || {
            let whose = Whose {
                file: &file,
                source_id: &source_id,
            };
            cut(Delimited::new(&text, skipped, shape, whose), &full, &empty);
        });
        Ahead {
            blocks,
            spent,
            thread: Some(thread),
            block: Block::default(),
            passed: 0,
        }
    }

    /// The next block; false where there is none.
    fn turn(&mut self) -> Result<bool, LoadError> {
        if let Some(end) = self.block.end.take() {
            self.block.filled = 0;
            self.block.end = Some(Ok(()));
            return end.map(|()| false);
        }
        match self.blocks.recv() {
            Ok(block) => {
                let spent = std::mem::replace(&mut self.block, block);
                let _ = self.spent.send(spent); // the thread may have come to the end
                self.passed = 0;
                Ok(true)
            }
            Err(_) => self.fail(),
        }
    }

    /// The thread went without telling the end: it panicked, and so does whoever waits for it.
    fn fail(&mut self) -> Result<bool, LoadError> {
        if let Some(Err(panic)) = self.thread.take().map(JoinHandle::join) {
            std::panic::resume_unwind(panic);
        }
        unreachable!("the thread tells how the text ends")
    }
}

impl Rows for Ahead {
    fn advance(&mut self) -> Result<bool, LoadError> {
        while self.passed >= self.block.filled {
            if !self.turn()? {
                return Ok(false);
            }
        }
        self.passed += 1;
        Ok(true)
    }

    fn row(&self) -> Row<'_> {
        let cut = &self.block.rows[self.passed - 1];
        Row::plain(cut.line, cut.lines, &cut.cells)
    }

    fn bytes_read(&self) -> u64 {
        self.block.bytes_read
    }
}

/// Cuts the rows below the header, until there are none or nobody takes them.
fn cut(mut rows: Delimited<'_>, full: &SyncSender<Block>, empty: &Receiver<Block>) {
    let mut header = rows.advance().err();
    loop {
        let mut block = empty.try_recv().unwrap_or_default();
        fill(&mut block, &mut rows);
        if let Some(error) = header.take() {
            block.end = Some(Err(error));
        }
        let ended = block.end.is_some();
        if full.send(block).is_err() || ended {
            return;
        }
    }
}

fn fill(block: &mut Block, rows: &mut Delimited<'_>) {
    (block.filled, block.end) = (0, None);
    block.rows.resize_with(ROWS_A_BLOCK, Cut::default);
    for room in &mut block.rows {
        match rows.advance() {
            Ok(true) => rows.swap(room),
            end => {
                block.end = Some(end.map(|_| ()));
                break;
            }
        }
        block.filled += 1;
    }
    block.bytes_read = rows.bytes_read();
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHOSE: Whose<'static> = Whose {
        file: "counts.csv",
        source_id: "counts",
    };
    const SHAPE: Shape = Shape {
        separator: b',',
        quote: Some(b'"'),
    };

    type Seen = (u64, u64, Vec<Vec<u8>>);

    fn all(mut rows: impl Rows) -> (Vec<Seen>, Option<String>) {
        let mut seen = Vec::new();
        loop {
            match rows.advance() {
                Ok(true) => {
                    let row = rows.row();
                    let cells = row.cells.iter().map(<[u8]>::to_vec);
                    seen.push((row.line, row.lines, cells.collect()));
                }
                Ok(false) => {
                    assert!(!rows.advance().unwrap(), "the end stays the end");
                    return (seen, None);
                }
                Err(error) => return (seen, Some(error.to_string())),
            }
        }
    }

    fn both(text: &str) -> [(Vec<Seen>, Option<String>); 2] {
        let mut plain = Delimited::new(text, 0, SHAPE, WHOSE);
        plain.advance().unwrap();
        let ahead = Ahead::new(Arc::new(text.to_owned()), 0, SHAPE, WHOSE);
        [all(plain), all(ahead)]
    }

    /// Rows that are short, long, blank, quoted over several lines, in number around the blocks'.
    #[test]
    fn rows_are_the_same_as_those_cut_in_step() {
        for rows in [0, 1, ROWS_A_BLOCK - 1, ROWS_A_BLOCK, 3 * ROWS_A_BLOCK + 7] {
            let mut text = "Date,Place\n".to_owned();
            for n in 0..rows {
                text += &match n % 5 {
                    0 => format!("{n},\"a\nb {n}\"\n"),
                    1 => format!("{n}\r\n\r\n"),
                    2 => format!("{n},b,c,{}\n", "long ".repeat(n % 40)),
                    _ => format!("{n},b\n"),
                };
            }
            let [plain, ahead] = both(&text);
            assert_eq!(plain.0.len(), rows);
            assert_eq!(plain, ahead);
        }
    }

    #[test]
    fn what_stops_the_reading_stops_it_at_the_same_row() {
        let text = format!(
            "Date,Place\n{}\"c,d\ne,f\n",
            "a,b\n".repeat(ROWS_A_BLOCK + 3)
        );
        let [plain, ahead] = both(&text);
        assert!(plain.1.as_ref().unwrap().contains("is never closed"));
        assert_eq!(plain, ahead);
    }

    #[test]
    fn rows_that_nobody_takes_hold_nobody_up() {
        let text = "Date,Place\n".to_owned() + &"a,b\n".repeat(20 * ROWS_A_BLOCK);
        let mut ahead = Ahead::new(Arc::new(text), 0, SHAPE, WHOSE);
        assert!(ahead.advance().unwrap());
        let thread = ahead.thread.take().unwrap();
        drop(ahead);
        thread.join().unwrap();
    }
}

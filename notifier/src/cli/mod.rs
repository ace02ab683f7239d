//! The command line: one file a command.
//!
//! Data go to `out`, words about them to `err`; an error is printed once, here.

mod args;
mod backtest;
mod backup;
mod batches;
mod bounce;
mod curve;
mod date;
mod deliveries;
mod demo;
pub(crate) mod digest;
mod erase_observer;
mod export;
mod fit;
mod handed_out;
mod handout;
mod help;
pub(crate) mod load;
mod new;
mod pages;
mod plan;
mod practice;
mod program;
mod restore;
mod season;
mod second_look;
mod serve;
pub(crate) mod session;
mod set;
mod start;
mod undo;
mod week;
mod windows;
mod year;

pub use start::start;

use crate::columns::wrap;
use crate::service::retry::{Fault, Kind, kind_of};
use args::{Args, Command};
use clap::Parser;
use std::ffi::OsString;
use std::io::{self, BufRead, Write};

/// Where a command writes, and whether people are looking.
pub struct Streams<'a> {
    /// Answers, where a command asks.
    pub input: &'a mut dyn BufRead,
    /// Data.
    pub out: &'a mut dyn Write,
    /// Words.
    pub err: &'a mut dyn Write,
    /// Show progress: stderr is a terminal.
    pub progress: bool,
    /// Columns to fill.
    pub width: usize,
    /// Colour the output.
    pub colour: bool,
}

impl Streams<'_> {
    /// An answer on standard output, in the columns of the screen.
    fn tell(&mut self, text: &str) -> Result<(), Failure> {
        writeln!(self.out, "{}", wrap(text, "", "  ", self.width))?;
        Ok(())
    }

    /// A remark on standard error, in the columns of the screen.
    fn remark(&mut self, text: &str) -> Result<(), Failure> {
        writeln!(self.err, "{}", wrap(text, "", "  ", self.width))?;
        Ok(())
    }
}

/// A command that could not do its work: one sentence, and what may help.
#[derive(Debug)]
pub struct Failure {
    message: String,
    hint: Option<String>,
    /// Behind the same command it makes it work.
    missing: Option<String>,
    /// The reader of our output went away, as `head` does: nothing to tell anybody.
    unheard: bool,
    /// The exit code.
    code: u8,
    /// What stopped it, for the service, which may try again.
    kind: Kind,
}

impl Failure {
    /// One sentence.
    pub fn new(message: impl Into<String>) -> Self {
        Failure {
            message: message.into(),
            hint: None,
            missing: None,
            unheard: false,
            code: 1,
            kind: Kind::Lasting,
        }
    }

    /// With another exit code than 1, for callers that go by it.
    fn code(mut self, code: u8) -> Self {
        self.code = code;
        self
    }

    /// With what makes the same command work, where it stands behind it.
    pub fn missing(mut self, missing: impl Into<String>) -> Self {
        self.missing = Some(missing.into());
        self
    }

    /// With what may help.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

impl<E: std::error::Error + 'static> From<E> for Failure {
    fn from(error: E) -> Self {
        let io = (&error as &dyn std::error::Error).downcast_ref::<io::Error>();
        let unheard = io.is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe);
        Failure {
            unheard,
            kind: kind_of(&error),
            ..Failure::new(error.to_string())
        }
    }
}

impl From<Failure> for Fault {
    fn from(failure: Failure) -> Self {
        let sentence = match failure.hint {
            Some(hint) => format!("{}; {hint}", failure.message),
            None => failure.message,
        };
        Fault {
            kind: failure.kind,
            sentence,
        }
    }
}

/// Runs the program with its arguments (the program's name first); gives its exit code: 0 done,
/// 1 the command failed, 2 the command line makes no sense; `bounce` answers as mail servers expect.
pub fn run(
    args: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    streams: &mut Streams,
) -> u8 {
    let typed: Vec<OsString> = args.into_iter().map(Into::into).collect();
    let args = match Args::try_parse_from(&typed) {
        Ok(args) => args,
        Err(error) => return refuse(&error, streams),
    };
    match dispatch(&args, streams) {
        Ok(()) => 0,
        Err(failure) if failure.unheard => 0,
        Err(failure) => {
            failure.tell(&args, &typed, streams.err);
            failure.code
        }
    }
}

impl Failure {
    fn tell(&self, args: &Args, typed: &[OsString], err: &mut dyn Write) {
        // nowhere is left to tell of an error in telling
        let message = program::complete(&self.message, &args.dir);
        let _ = writeln!(err, "error: {message}");
        if let Some(hint) = &self.hint {
            let hint = program::complete(hint, &args.dir);
            let _ = writeln!(err, "  {hint}");
        }
        if let Some(missing) = &self.missing {
            let command = program::typed(typed);
            let _ = writeln!(err, "  such as: {command} {missing}");
        }
    }
}

fn refuse(error: &clap::Error, streams: &mut Streams) -> u8 {
    let text = error.render().to_string();
    let (to, text, code): (&mut dyn Write, String, u8) = if error.use_stderr() {
        (&mut *streams.err, text, 2)
    } else {
        (&mut *streams.out, help::folded(&text, streams.width), 0)
    };
    if write!(to, "{text}").is_err() {
        1
    } else {
        code
    }
}

fn dispatch(args: &Args, streams: &mut Streams) -> Result<(), Failure> {
    match &args.command {
        Command::New(a) => new::run(a, streams),
        Command::Demo(a) => demo::run(a, streams),
        Command::Load(a) => load::run(&args.dir, a, streams),
        Command::Batches(a) => batches::run(&args.dir, a, streams),
        Command::Undo(a) => undo::run(&args.dir, a, streams),
        Command::EraseObserver(a) => erase_observer::run(&args.dir, a, streams),
        Command::Fit => fit::run(&args.dir, streams),
        Command::Windows(a) => windows::run(&args.dir, a, streams),
        Command::Curve(a) => curve::run(&args.dir, a, streams),
        Command::Week(a) => week::run(&args.dir, a, streams),
        Command::Season(a) => season::run(&args.dir, a, streams),
        Command::Set(a) => set::run(&args.dir, a, streams),
        Command::Handout(a) => handout::run(&args.dir, a, streams),
        Command::Year(a) => year::run(&args.dir, a, streams),
        Command::Practice(a) => practice::run(&args.dir, a, streams),
        Command::Pages(a) => pages::run(&args.dir, a, streams),
        Command::Export(a) => export::run(&args.dir, a, streams),
        Command::SecondLook(a) => second_look::run(&args.dir, a, streams),
        Command::Backtest(a) => backtest::run(&args.dir, a, streams),
        Command::Plan(a) => plan::run(&args.dir, a, streams),
        Command::Digest(a) => digest::run(&args.dir, a, streams),
        Command::Deliveries(a) => deliveries::run(&args.dir, a, streams),
        Command::Bounce => bounce::run(&args.dir, streams),
        Command::Serve(a) => serve::run(&args.dir, a, streams),
        Command::Backup(a) => backup::run(&args.dir, a, streams),
        Command::Restore(a) => restore::run(&args.dir, a, streams),
    }
}

/// Writes a JSON document with a line end.
fn print_json(value: &serde_json::Value, out: &mut dyn Write) -> Result<(), Failure> {
    serde_json::to_writer_pretty(&mut *out, value).map_err(io::Error::from)?;
    writeln!(out)?;
    Ok(())
}

//! The program as the system starts it.

use super::{Streams, run};
use std::io::{IsTerminal, stderr, stdin, stdout};
use std::process::ExitCode;

/// Columns filled where the terminal does not say how many it has.
const WIDTH: usize = 80;

/// All of the program `wingtide`, from its arguments to its exit code. Where the program was
/// started to be a confined reader, it is that alone.
pub fn start() -> ExitCode {
    if let Some(code) = ingest::confined::at_start() {
        return code;
    }
    let (mut input, mut out, mut err) = (stdin().lock(), stdout(), stderr());
    let progress = err.is_terminal();
    let colour = out.is_terminal() && std::env::var_os("NO_COLOR").is_none();
    ExitCode::from(run(
        std::env::args_os(),
        &mut Streams {
            input: &mut input,
            out: &mut out,
            err: &mut err,
            progress,
            width: WIDTH,
            colour,
        },
    ))
}

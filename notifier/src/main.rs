//! The program `wingtide`.

use std::process::ExitCode;

fn main() -> ExitCode {
    notifier::cli::start()
}

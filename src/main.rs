//! The program: arguments in, exit status out, nothing else.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(tarebook::cli::run(std::env::args_os()).status())
}

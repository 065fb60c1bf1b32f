//! The program: arguments in, exit status out, nothing else.

use std::process::ExitCode;

/// Pages are made of many short texts; the system's allocator took a fifth of a publish.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    ExitCode::from(tarebook::cli::run(std::env::args_os()).status())
}

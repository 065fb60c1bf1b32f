//! The edge: the only part that reads and writes files, watches folders, opens sockets and prints.

mod begin;
mod compare;
mod correct;
mod csv;
mod due;
mod errata;
mod events;
mod explain;
mod export;
mod folder;
mod output;
mod publish;
mod serve;
mod shopping_list;
mod since;
mod standalone;
mod terminal;
mod watch;
mod weigh;

pub use begin::begin;
pub use compare::compare;
pub use correct::correct;
pub use due::due;
pub use explain::explain;
pub use export::{export, import};
pub use folder::{Folder, FolderError};
pub use output::{Keep, OutputError, OutputFolder};
pub use publish::{Publishing, proofread, publish};
pub use shopping_list::{ListFormat, Shopping, shopping_list};
pub use since::since;
pub use terminal::Terminal;
pub use watch::{Rebuild, Watcher, watch};
pub use weigh::{Size, WeighFormat, weigh};

/// How a command ended; the exit status of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Done, and no error was found: 0.
    Clean,
    /// Errors were found in the notebooks: 1.
    Findings,
    /// The command could not run: 2.
    CouldNotRun,
}

impl Outcome {
    /// The exit status.
    pub fn status(self) -> u8 {
        match self {
            Outcome::Clean => 0,
            Outcome::Findings => 1,
            Outcome::CouldNotRun => 2,
        }
    }
}

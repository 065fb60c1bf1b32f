//! The command line: arguments in, outcome out.

use crate::edge::{self, ListFormat, Outcome, Shopping, Size, Terminal, WeighFormat};
use crate::quantity::{Date, Decimal, Percent, read_decimal, split_number};
use clap::{CommandFactory, Parser, Subcommand, ValueEnum};
use std::ffi::OsString;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

/// Compile plain-text recipe notebooks into checked pages: Markdown with formula blocks in, weights, active matter and
/// cautions out.
#[derive(Debug, Parser)]
#[command(name = "tarebook", version, about, disable_help_subcommand = true, after_help = EXAMPLES, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

const EXAMPLES: &str = "\
Examples:
  tarebook begin kitchen                make a small collection to start from
  tarebook watch kitchen                write, save, and see the page change
  tarebook proofread kitchen            list everything that was found
  tarebook correct kitchen              write computed numbers anew where the text went stale
  tarebook publish kitchen              write the pages
  tarebook weigh first-wash --batch 2kg --in kitchen
                                        the sheet for another batch size
  tarebook explain glycerin             what is known of a raw material

Exit status: 0 no error, 1 errors were found in the notebooks, 2 the command could not run.";

#[derive(Debug, Subcommand)]
enum Command {
    /// Write a collection's pages; with an error nothing is written
    #[command(after_help = "\
Examples:
  tarebook publish                      the collection in this folder, into ./pages
  tarebook publish kitchen --into /srv/www/kitchen
  tarebook publish kitchen --standalone
                                        each page as one file to send, into kitchen/standalone
  tarebook publish kitchen --standalone --only notes/weighing.md --into /media/stick
                                        one notebook as one file

Numbers that are not what the last publish into the same folder said are added, with the day, to a list of corrections:
`oat-wash.corrections.toml` beside `oat-wash.md`, for you to edit, and shown on its page. A first publish has none.

The old pages stay whole until all new ones are ready. Only files that tarebook wrote are ever replaced or removed.")]
    Publish {
        /// The collection's folder
        #[arg(default_value = ".")]
        collection: PathBuf,
        /// Where the pages go [default: the folder `pages` in the collection, or `standalone`]
        #[arg(long, value_name = "DIR")]
        into: Option<PathBuf>,
        /// The day for new corrections, as 2026-03-14 [default: today]
        #[arg(long, value_name = "DAY", value_parser = read_day)]
        date: Option<Date>,
        /// Write each page as one file that needs no other, to send by mail or to carry on a stick
        #[arg(long)]
        standalone: bool,
        /// Write this notebook's page alone, by its path in the collection
        #[arg(long, value_name = "NOTEBOOK", requires = "standalone")]
        only: Option<String>,
    },
    /// List everything that was found, without writing anything
    #[command(after_help = "\
Examples:
  tarebook proofread kitchen
  tarebook proofread kitchen --format json > findings.json
  tarebook proofread kitchen --loose    with a calc link for each number of the text that could be one

error     cannot be published
caution   somebody or the batch may come to harm
question  cannot be judged until you say something
note      worth knowing

`tarebook explain NAME` explains a finding by its name.")]
    Proofread {
        /// The collection's folder
        #[arg(default_value = ".")]
        collection: PathBuf,
        /// Text to read, or JSON for programs
        #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
        format: ReportFormat,
        /// List numbers of the text that agree with a formula too, with the calc link to write in their place
        #[arg(long)]
        loose: bool,
    },
    /// Write the numbers of calc links anew where the text says something else than is computed
    #[command(after_help = "\
Examples:
  tarebook correct kitchen --dry-run    show as a diff what would be written
  tarebook correct kitchen

`[35 g](calc:first-wash/glycerin/weight)` becomes `[10.5 g](calc:…)`, and empty brackets are filled. Only the text between
the brackets is written; code is never touched. A notebook that is saved by somebody else meanwhile stops it, and nothing
is written then.")]
    Correct {
        /// The collection's folder
        #[arg(default_value = ".")]
        collection: PathBuf,
        /// Only show what would be written, as a unified diff
        #[arg(long)]
        dry_run: bool,
    },
    /// Rebuild on every save and show the pages in the browser
    #[command(after_help = "\
Example:
  tarebook watch kitchen                then open the address it prints

Errors are shown at the top of the page they concern. The pages are drafts: they go to a folder of their own, and are
served to this machine only. Ctrl-C ends it.")]
    Watch {
        /// The collection's folder
        #[arg(default_value = ".")]
        collection: PathBuf,
        /// Where the pages go [default: the hidden folder `.draft` in the collection, so that what was published stays as it is]
        #[arg(long, value_name = "DIR")]
        into: Option<PathBuf>,
        /// Port on 127.0.0.1; 0 takes any free one
        #[arg(long, default_value_t = 0)]
        port: u16,
    },
    /// Print the weighing sheet of one formula
    #[command(after_help = "\
Examples:
  tarebook weigh first-wash --in kitchen
  tarebook weigh first-wash --in kitchen --batch 2kg
  tarebook weigh first-wash --in kitchen --batch 1.5l --format csv
  tarebook weigh first-wash --in kitchen --batch 50g --balance 0.01g
  tarebook weigh first-wash --in kitchen --record
                                        a batch record to print and fill in by hand")]
    Weigh {
        /// The formula's id
        formula: String,
        /// Another batch size, such as 500g, 2kg, or 2l where the formula gives a density
        #[arg(long)]
        batch: Option<String>,
        /// Another readability of the balance, such as 1g or 0.01g
        #[arg(long, value_name = "READABILITY")]
        balance: Option<String>,
        /// The collection's folder
        #[arg(long = "in", value_name = "COLLECTION", default_value = ".")]
        collection: PathBuf,
        /// A table, comma-separated values, or everything as JSON
        #[arg(long, value_enum, default_value_t = WeighFormat::Text)]
        format: WeighFormat,
        /// A batch record to be filled in by hand, with boxes for weights, lots, times and initials
        #[arg(long, conflicts_with = "format")]
        record: bool,
    },
    /// Print what has to be bought for any set of batches
    #[command(after_help = "\
Examples:
  tarebook shopping-list --batch first-wash=2kg --batch second-wash=600g --in kitchen
  tarebook shopping-list first-wash second-wash --in kitchen
                                        each in its own batch
  tarebook shopping-list first-wash --batch 2kg --without-stock --in kitchen
  tarebook shopping-list class-of-monday --in kitchen
                                        what the kit of a class needs, or a list that stands in a notebook
  tarebook shopping-list --batch first-wash=2kg --not-bought water --format csv --in kitchen > list.csv

All batches are put together, less what is in stock, in whole packs. The same formula twice is two batches, and both count. What is said of a
list in a notebook takes the place of what the notebook says.")]
    ShoppingList {
        /// The ids of formulas, each in its own batch, and of kits; or of one shopping list that stands in a notebook
        #[arg(value_name = "ID")]
        ids: Vec<String>,
        /// A batch, such as first-wash=2kg, or first-wash=2l where the formula gives a density; once for each
        #[arg(long = "batch", value_name = "FORMULA=SIZE", allow_hyphen_values = true)]
        batches: Vec<String>,
        /// What is taken on top of what is weighed, such as 5%
        #[arg(long, value_name = "SHARE", value_parser = read_share)]
        overage: Option<Percent>,
        /// What is taken on top of what is dosed to effect, such as 50%
        #[arg(long, value_name = "SHARE", value_parser = read_share)]
        dose_reserve: Option<Percent>,
        /// Leave what is in the cupboard out of account
        #[arg(long)]
        without_stock: bool,
        /// A raw material that is not bought, such as water; once for each
        #[arg(long, value_name = "MATERIAL")]
        not_bought: Vec<String>,
        /// The day to reckon for, as 2026-03-14 [default: today; of a list in a notebook what it says]
        #[arg(long, value_name = "DAY", value_parser = read_day)]
        date: Option<Date>,
        /// How many days old a price may be on that day [default: 365; of a list in a notebook what it says]
        #[arg(long, value_name = "DAYS")]
        stale_after: Option<u32>,
        /// The collection's folder
        #[arg(long = "in", value_name = "COLLECTION", default_value = ".")]
        collection: PathBuf,
        /// A table, comma-separated values, or everything as JSON
        #[arg(long, value_enum, default_value_t = ListFormat::Text)]
        format: ListFormat,
    },
    /// Show what is different between formulas, batches or two states of a collection
    #[command(after_help = "\
Examples:
  tarebook compare first-wash second-wash --in kitchen
  tarebook compare first-wash second-wash third-wash --batch 1kg --in kitchen
  tarebook compare first-wash wash-of-monday --in kitchen
                                        a formula beside what was really weighed
  tarebook compare --since kitchen/pages --in kitchen
                                        all figures beside those that were last published
  tarebook compare first-wash --since kitchen-in-march --in kitchen
                                        one formula beside what it was in an older copy of the notebooks

The first formula is what the others are compared with. Raw materials of which all hold the same are left out.")]
    Compare {
        /// The ids of two or more formulas or batch records; with --since any number of formulas and blocks, or none for all
        #[arg(required_unless_present = "since", value_name = "FORMULA")]
        formulas: Vec<String>,
        /// The batch that all weights are for [default: that of the first formula]
        #[arg(long, conflicts_with = "since")]
        batch: Option<String>,
        /// What was kept of another time: a folder of published pages, one of their data files, or a folder with the notebooks as they were
        #[arg(long, value_name = "DIR")]
        since: Option<PathBuf>,
        /// The collection's folder
        #[arg(long = "in", value_name = "COLLECTION", default_value = ".")]
        collection: PathBuf,
        /// Text to read, or JSON for programs
        #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
        format: ReportFormat,
    },
    /// List the checks of stability logs that are still to be made
    #[command(after_help = "\
Examples:
  tarebook due kitchen
  tarebook due kitchen --date 2026-05-01
                                        as it stands on another day

Pages show the dates of the next checks and know no day, so that the same sources give the same pages. This command and the
start of `watch` compare them with the day.")]
    Due {
        /// The collection's folder
        #[arg(default_value = ".")]
        collection: PathBuf,
        /// The day to compare with, as 2026-03-14 [default: today]
        #[arg(long, value_name = "DAY", value_parser = read_day)]
        date: Option<Date>,
    },
    /// Explain a figure, a formula, a raw material, a lot, a product type or a finding
    #[command(after_help = "\
Examples:
  tarebook explain first-wash/active-matter --in kitchen
                                        one figure with its working
  tarebook explain first-wash --in kitchen
                                        every address that calc links can use
  tarebook explain sodium-benzoate      a raw material, each figure with its source
  tarebook explain preservative         all raw materials that are used so
  tarebook explain sum-not-100          what a finding means
  tarebook explain lot/24-117 --in kitchen
                                        the batches and formulas that hold a lot
  tarebook explain batch/LW-260314 --in kitchen
                                        the record of a batch number, and what was decided
  tarebook explain products             all product types; so do materials, findings and blocks")]
    Explain {
        /// An address such as first-wash/glycerin/weight, or a name
        #[arg(value_name = "ADDRESS-OR-NAME")]
        name: String,
        /// The collection's folder
        #[arg(long = "in", value_name = "COLLECTION", default_value = ".")]
        collection: PathBuf,
    },
    /// Write a collection as one JSON file, with every figure and what it was reckoned from
    #[command(after_help = "\
Examples:
  tarebook export kitchen --into kitchen.json
  tarebook export kitchen | python3 my-script.py -

The file holds every notebook, the settings, raw materials, templates, corrections and linked files as they are, and beside them
what each block says as exact decimals, the facts about raw materials, and each figure with its working. With an error in the
notebooks nothing is written. The manual tells every key: `exported-data.md`.")]
    Export {
        /// The collection's folder
        #[arg(default_value = ".")]
        collection: PathBuf,
        /// Where the file goes [default: the standard output]
        #[arg(long, value_name = "FILE")]
        into: Option<PathBuf>,
    },
    /// Restore a collection from a file that `export` wrote
    #[command(after_help = "\
Examples:
  tarebook import kitchen.json --into kitchen-again
  tarebook import - --into kitchen-again < kitchen.json

Every file comes back byte for byte. Then all figures are computed again and compared with those in the file; what is
different is listed. A folder that is not empty is left alone.")]
    Import {
        /// The file, or - for the standard input
        file: PathBuf,
        /// A folder that does not exist yet, or is empty
        #[arg(long, value_name = "FOLDER")]
        into: PathBuf,
    },
    /// Make a small collection to start from
    #[command(after_help = "\
Example:
  tarebook begin kitchen && tarebook watch kitchen")]
    Begin {
        /// A folder that does not exist yet, or is empty
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
    /// Print completions for a shell
    #[command(after_help = "\
Example:
  tarebook completions bash > ~/.local/share/bash-completion/completions/tarebook")]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum ReportFormat {
    Text,
    Json,
}

/// A day as the command line gives it.
fn read_day(text: &str) -> Result<Date, String> {
    Date::read(text)
        .map_err(|fault| format!("it {}; write the year, the month and the day: 2026-03-14", fault.sentence()))
}

/// A share as the command line gives it: from 0 % to 100 %.
fn read_share(text: &str) -> Result<Percent, String> {
    let (number, unit) = split_number(text);
    let share = read_decimal(number).map_err(|fault| format!("it {}", fault.sentence()))?;
    match unit {
        "%" if (Decimal::ZERO..=Decimal::ONE_HUNDRED).contains(&share) => Ok(Percent::new(share)),
        "%" => Err("it is from 0 % to 100 %".to_owned()),
        _ => Err("it is in %, such as 5%".to_owned()),
    }
}

/// The commands with all their options, for whoever describes them.
pub fn command_tree() -> clap::Command {
    Arguments::command()
}

/// Runs the program with these arguments, the program's name first.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> Outcome {
    let terminal = Terminal::default();
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are answers, not failures.
            let asked = !error.use_stderr();
            let _ = error.print();
            return if asked { Outcome::Clean } else { Outcome::CouldNotRun };
        }
    };
    // A panic is a fault of the program. Inside a notebook it becomes a finding with the notebook's name; anywhere else the
    // program says so here, instead of printing a trace.
    std::panic::set_hook(Box::new(|panic| {
        let words = panic.to_string().replace('\n', " ");
        *LAST_FAULT.lock().unwrap_or_else(PoisonError::into_inner) = words;
    }));
    let command = AssertUnwindSafe(|| run_command(arguments.command, &terminal));
    let outcome = catch_unwind(command).unwrap_or_else(|_| {
        let words = LAST_FAULT.lock().unwrap_or_else(PoisonError::into_inner).clone();
        terminal.refuse(&format!("this is a fault of tarebook, not of the notebooks; please report it: {words}"));
        Outcome::CouldNotRun
    });
    if terminal.has_failed() { Outcome::CouldNotRun } else { outcome }
}

/// What the last panic said.
static LAST_FAULT: Mutex<String> = Mutex::new(String::new());

fn run_command(command: Command, terminal: &Terminal) -> Outcome {
    match command {
        Command::Publish { collection, into, date, standalone, only } => {
            let asked = edge::Publishing { into: into.as_deref(), date, standalone, only: only.as_deref() };
            edge::publish(&collection, asked, terminal)
        }
        Command::Proofread { collection, format, loose } => {
            edge::proofread(&collection, format == ReportFormat::Json, loose, terminal)
        }
        Command::Correct { collection, dry_run } => edge::correct(&collection, dry_run, terminal),
        Command::Watch { collection, into, port } => edge::watch(&collection, into.as_deref(), port, terminal),
        Command::Weigh { formula, batch, balance, collection, format, record } => {
            let format = if record { WeighFormat::Record } else { format };
            let size = Size { batch: batch.as_deref(), balance: balance.as_deref() };
            edge::weigh(&formula, size, &collection, format, terminal)
        }
        Command::ShoppingList {
            ids,
            batches,
            overage,
            dose_reserve,
            without_stock,
            not_bought,
            date,
            stale_after,
            collection,
            format,
        } => {
            let asked = Shopping {
                ids: &ids,
                batches: &batches,
                overage,
                dose_reserve,
                without_stock,
                not_bought: &not_bought,
                date,
                stale_after,
            };
            edge::shopping_list(asked, &collection, format, terminal)
        }
        Command::Compare { formulas, batch, since, collection, format } => {
            let json = format == ReportFormat::Json;
            match since {
                Some(since) => edge::since(&formulas, &since, &collection, json, terminal),
                None => edge::compare(&formulas, batch.as_deref(), &collection, json, terminal),
            }
        }
        Command::Due { collection, date } => edge::due(&collection, date, terminal),
        Command::Explain { name, collection } => edge::explain(&name, &collection, terminal),
        Command::Export { collection, into } => edge::export(&collection, into.as_deref(), terminal),
        Command::Import { file, into } => edge::import(&file, &into, terminal),
        Command::Begin { folder } => edge::begin(&folder, terminal),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut command_tree(), "tarebook", &mut script);
            terminal.say(&String::from_utf8_lossy(&script));
            Outcome::Clean
        }
    }
}

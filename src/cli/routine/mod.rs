//! `carpotempo routine`: write a prescription, check it, print it for the patient.

mod check;
mod new;
mod print;

use std::io::Write;
use std::path::Path;

use anyhow::{Context, anyhow};
use clap::{Args, Subcommand};

use crate::routine::{Routine, RoutineError};

/// Arguments of `routine`.
#[derive(Debug, Args)]
pub struct RoutineArguments {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Writes a starting routine to edit; without --from, names them
    New(new::NewArguments),
    /// Says what is wrong in a routine, line by line, and what to look at once more
    Check(check::CheckArguments),
    /// Names every field of a routine file and what it takes
    Fields,
    /// Makes the patient's handout: a page of HTML that prints on A4 or Letter
    Print(print::PrintArguments),
}

/// Runs the command.
pub fn run(arguments: &RoutineArguments) -> anyhow::Result<()> {
    match &arguments.what {
        What::New(arguments) => new::run(arguments),
        What::Check(arguments) => check::run(arguments),
        What::Fields => super::exit::say(&crate::routine::fields()),
        What::Print(arguments) => print::run(arguments),
    }
}

/// The routine of a file.
///
/// # Errors
/// The file cannot be read; every problem of its text, a line each.
pub fn read(path: &Path) -> anyhow::Result<Routine> {
    let shown = path.display();
    let text = std::fs::read_to_string(path).with_context(|| format!("reading {shown}"))?;
    let problems = Routine::problems(&text);
    if problems.is_empty() {
        return Routine::from_toml(&text).with_context(|| format!("reading the routine {shown}"));
    }
    let lines: Vec<String> = problems.iter().map(RoutineError::to_string).collect();
    let count = match problems.len() {
        1 => "1 thing is wrong".to_owned(),
        count => format!("{count} things are wrong"),
    };
    Err(anyhow!("{shown}: {count}\n  {}", lines.join("\n  ")))
}

/// Writes a file that is not there yet.
///
/// # Errors
/// It is there already; it cannot be written.
fn write_new(path: &Path, text: &str) -> anyhow::Result<()> {
    let shown = path.display();
    let mut file = match std::fs::File::create_new(path) {
        Ok(file) => file,
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(anyhow!(
                "{shown} is there already, and nothing is written over it; give another --out"
            ));
        }
        Err(error) => return Err(error).with_context(|| format!("writing {shown}")),
    };
    file.write_all(text.as_bytes())
        .and_then(|()| file.sync_all())
        .with_context(|| format!("writing {shown}"))
}

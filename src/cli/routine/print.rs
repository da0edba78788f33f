//! `carpotempo routine print`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::super::exit::say;
use super::{read, write_new};
use crate::recording::PatientCode;
use crate::report::{HandoutOptions, Paper, handout};

/// Arguments.
#[derive(Debug, Args)]
pub struct PrintArguments {
    /// The routine, a TOML file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// File to write [default: the routine's name with .html, beside it]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The patient's code (no name) [default: a line to write on]
    #[arg(long, value_name = "CODE")]
    patient: Option<PatientCode>,
    /// The paper
    #[arg(long, value_enum, default_value_t = PaperName::A4)]
    paper: PaperName,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PaperName {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 inches
    Letter,
}

/// Runs the command.
pub fn run(arguments: &PrintArguments) -> anyhow::Result<()> {
    let routine = read(&arguments.file)?;
    let options = HandoutOptions {
        day: jiff::ZonedDateTime::now().date(),
        patient: arguments.patient.clone(),
        paper: match arguments.paper {
            PaperName::A4 => Paper::A4,
            PaperName::Letter => Paper::Letter,
        },
    };
    let beside = arguments.file.with_extension("html");
    let out = arguments.out.as_ref().unwrap_or(&beside);
    write_new(out, &handout(&routine, &options))?;
    let shown = std::path::absolute(out).unwrap_or_else(|_| out.clone());
    say(&format!(
        "Handout: {}\nOpen it in a browser and print it. It holds no script and needs no network.\n",
        shown.display()
    ))
}

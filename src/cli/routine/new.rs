//! `carpotempo routine new`.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::Args;

use super::super::demo::quoted;
use super::super::exit::{WrongArguments, say};
use super::write_new;
use crate::routine::{Routine, STARTING, Starting, nearest::nearest};

/// Arguments.
#[derive(Debug, Args)]
pub struct NewArguments {
    /// Which starting routine
    #[arg(long, value_name = "NAME")]
    from: Option<String>,
    /// File to write [default: standard output]
    #[arg(long, value_name = "FILE", requires = "from")]
    out: Option<PathBuf>,
}

/// Runs the command.
pub fn run(arguments: &NewArguments) -> anyhow::Result<()> {
    let Some(name) = &arguments.from else {
        return say(&names());
    };
    let Some(starting) = STARTING.iter().find(|own| own.name == name) else {
        let known = STARTING.iter().map(|own| own.name);
        let meant = match nearest(name, known.clone()) {
            Some(word) => format!("did you mean {word}?"),
            None => format!("write one of {}", known.collect::<Vec<_>>().join(", ")),
        };
        return Err(WrongArguments(format!(
            "there is no starting routine named {name:?}; {meant}"
        ))
        .into());
    };
    let Some(out) = &arguments.out else {
        return say(starting.toml);
    };
    write_new(out, starting.toml)?;
    let shown = quoted(&out.display().to_string());
    say(&format!(
        "Written to {shown}: a first page to edit, never a prescription by itself.\n\
         No weight is offered until you have filled in screened_on, contact and review_by.\n\
         Then: carpotempo routine check {shown}\n"
    ))
}

fn names() -> String {
    let mut text = String::from("Starting routines, to edit; none is a prescription by itself:\n");
    let width = STARTING.iter().map(|own| own.name.len()).max().unwrap_or(0);
    for starting in STARTING {
        let _infallible = writeln!(text, "  {:width$}  {}", starting.name, about(starting));
    }
    let first = STARTING.first().map_or("NAME", |own| own.name);
    let _infallible = writeln!(
        text,
        "\nOne of them into a file: carpotempo routine new --from {first} --out routine.toml"
    );
    text
}

fn about(starting: &Starting) -> String {
    match Routine::from_toml(starting.toml) {
        Ok(routine) => {
            let minutes = (routine.duration().session_s / 60.0).round();
            format!(
                "{}: {} exercises, about {minutes} minutes",
                routine.title,
                routine.items.len()
            )
        }
        Err(error) => error.to_string(),
    }
}

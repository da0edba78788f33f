//! `carpotempo store`: a patient into a backup, back from it, and out of the store.

use std::path::{Path, PathBuf};

use anyhow::anyhow;
use clap::{Args, Subcommand};

use super::exit::say;
use super::question::agreed;
use super::store::StoreOption;
use crate::handover::{self, Placed};
use crate::recording::PatientCode;

/// Arguments of `store`.
#[derive(Debug, Args)]
pub struct StoreArguments {
    #[command(subcommand)]
    command: StoreCommand,
}

#[derive(Debug, Subcommand)]
enum StoreCommand {
    /// Writes all of a patient to one file, readable by whoever has it
    Backup(BackupArguments),
    /// Puts a backup back; what is there already stays as it is
    Restore(RestoreArguments),
    /// Removes all of a patient from the store
    Remove(RemoveArguments),
}

#[derive(Debug, Args)]
struct BackupArguments {
    /// The patient's code
    patient: PatientCode,
    /// File to write; never over another
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    #[command(flatten)]
    yes: YesOption,
    #[command(flatten)]
    store: StoreOption,
}

#[derive(Debug, Args)]
struct RestoreArguments {
    /// The backup
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    yes: YesOption,
    #[command(flatten)]
    store: StoreOption,
}

#[derive(Debug, Args)]
struct RemoveArguments {
    /// The patient's code
    patient: PatientCode,
    #[command(flatten)]
    yes: YesOption,
    #[command(flatten)]
    store: StoreOption,
}

#[derive(Debug, Args)]
struct YesOption {
    /// The patient's code once more instead of the question, for scripts
    #[arg(long, value_name = "CODE")]
    yes: Option<PatientCode>,
}

/// Runs the command.
pub fn run(arguments: &StoreArguments) -> anyhow::Result<()> {
    match &arguments.command {
        StoreCommand::Backup(arguments) => backup(arguments),
        StoreCommand::Restore(arguments) => restore(arguments),
        StoreCommand::Remove(arguments) => remove(arguments),
    }
}

fn backup(arguments: &BackupArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let patient = &arguments.patient;
    let extent = handover::extent(&store, patient)?;
    let shown = arguments.out.display();
    let what = format!(
        "All that is kept of {patient} ({extent}) is written to {shown}, and whoever has that file can read it."
    );
    agreed(&what, patient, arguments.yes.yes.as_ref())?;
    let done = handover::backup(&store, patient, &arguments.out)?;
    for left in &done.left_out {
        eprintln!("Warning: {left} is no part of a recording and is not in the backup.");
    }
    let sessions = counted(done.session_count);
    say(&format!(
        "Backed up: {sessions} of {patient} in {shown}. Keep it where only you can read it. Put it back with:\n  carpotempo store restore {}\n",
        super::demo::quoted(&shown.to_string())
    ))
}

fn restore(arguments: &RestoreArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let file = &arguments.file;
    let list = handover::backup_list(file)?;
    let what = format!(
        "{} of {} are put into the store {}. What is there already stays as it is.",
        counted(list.sessions.len()),
        list.patient,
        store.root().display()
    );
    agreed(&what, &list.patient, arguments.yes.yes.as_ref())?;
    let placed = handover::restore(&store, file, &list.patient)?;
    told(&placed, store.root())
}

fn remove(arguments: &RemoveArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let patient = &arguments.patient;
    let extent = handover::extent(&store, patient)?;
    let shown = store.root().display();
    let root = super::demo::quoted(&shown.to_string());
    let what = format!(
        "All that is kept of {patient} ({extent}) is removed from the store {shown}. It cannot be taken back; a backup first: carpotempo store backup {patient} --store {root} --out FILE."
    );
    agreed(&what, patient, arguments.yes.yes.as_ref())?;
    handover::sweep(&store);
    handover::remove(&store, patient)?;
    say(&format!(
        "Removed: {patient}, {extent}. Backups, reports and files saved for a clinic are elsewhere and were left.\n"
    ))
}

/// Says what became of the sessions.
///
/// # Errors
/// Some are there with something else in them.
pub fn told(placed: &Placed, store: &Path) -> anyhow::Result<()> {
    let mut text = match (placed.new.len(), placed.grown.len()) {
        (0, 0) if placed.different.is_empty() => format!(
            "Nothing new: {} of {} there already. The store is as it was.\n",
            match placed.already.len() {
                1 => "the session".to_owned(),
                count => format!("all {count} sessions"),
            },
            match placed.already.len() {
                1 => format!("{} is", placed.patient),
                _ => format!("{} are", placed.patient),
            }
        ),
        (new, _) => format!(
            "{} of {} put into the store {}.\n",
            counted(new),
            placed.patient,
            store.display()
        ),
    };
    for (list, words) in [
        (&placed.new, "new"),
        (&placed.grown, "there in part before, whole now"),
    ] {
        for name in list {
            text.push_str(&format!("  {name}  {words}\n"));
        }
    }
    let something = !placed.new.is_empty() || !placed.grown.is_empty();
    if something && !placed.already.is_empty() {
        text.push_str(&format!(
            "{} there already and left as they are.\n",
            counted(placed.already.len())
        ));
    }
    if placed.different.is_empty() {
        return say(&text);
    }
    Err(anyhow!(
        "{text}not taken, since something else of that name is in the store of {}, which was left as it is: {}",
        placed.patient,
        placed.different.join(", ")
    ))
}

fn counted(count: usize) -> String {
    match count {
        1 => "1 session".to_owned(),
        _ => format!("{count} sessions"),
    }
}

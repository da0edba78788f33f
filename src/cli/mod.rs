//! The command line: arguments, and one file a command.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "the command line is where the program speaks"
)]

mod browser;
mod caseload;
mod clinic;
mod compare;
mod demo;
mod exit;
mod export;
mod handover;
mod keeping;
mod question;
mod record;
mod refresh;
mod replay;
mod review;
mod routine;
mod sensors;
mod session;
mod store;
mod visit;
mod worn;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Counts, times and charts prescribed wrist exercise from a motion sensor on the back of the hand.
///
/// It records and times what a clinician prescribed. It does not treat, diagnose or decide.
#[derive(Debug, Parser)]
#[command(name = "carpotempo", version, max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Shows everything with invented data: no sensor, nothing to set up
    Demo(demo::DemoArguments),
    /// Records one set from the sensor on the hand, with prompts and a live count
    Record(Box<record::RecordArguments>),
    /// Counts and times the repetitions of a recording: a session folder or a CSV file
    Replay(Box<replay::ReplayArguments>),
    /// Holds the repetitions of recordings against marks made by hand; writes a practice set
    Compare(Box<compare::CompareArguments>),
    /// The guided session: leads a patient through a routine in the browser, and records it
    Session(session::SessionArguments),
    /// Writes, checks and prints a prescription
    Routine(routine::RoutineArguments),
    /// The clinic's page: everybody at a glance, prescriptions written and printed, the review
    Clinic(clinic::ClinicArguments),
    /// Every patient in one line, those who need a look first
    Caseload(caseload::CaseloadArguments),
    /// Makes missing and stale summaries anew, of some patients or of all
    Refresh(refresh::RefreshArguments),
    /// Charts and report over all sessions of a patient
    Review(review::ReviewArguments),
    /// Writes a visit to the clinic into a patient's record: ranges, strength, what was decided
    Visit(Box<visit::VisitArguments>),
    /// Between clinic and patient: key, clinic file, sealed sessions
    Handover(handover::HandoverArguments),
    /// Backs a patient up, restores one, removes one from the store
    Store(keeping::StoreArguments),
    /// Takes a patient's figures along: CSV, FHIR R4, Parquet
    Export(export::ExportArguments),
    /// Finds the motion sensors near this computer, or checks one
    Sensors(sensors::SensorsArguments),
}

/// Runs the program; the result is its exit status: 0 done, 1 could not be done, 2 wrong arguments.
pub fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let result = match arguments.command {
        Command::Demo(arguments) => demo::run(&arguments),
        Command::Record(arguments) => record::run(&arguments),
        Command::Replay(arguments) => replay::run(&arguments),
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Session(arguments) => session::run(&arguments),
        Command::Routine(arguments) => routine::run(&arguments),
        Command::Clinic(arguments) => clinic::run(&arguments),
        Command::Caseload(arguments) => caseload::run(&arguments),
        Command::Refresh(arguments) => refresh::run(&arguments),
        Command::Review(arguments) => review::run(&arguments),
        Command::Visit(arguments) => visit::run(&arguments),
        Command::Handover(arguments) => handover::run(&arguments),
        Command::Store(arguments) => keeping::run(&arguments),
        Command::Export(arguments) => export::run(&arguments),
        Command::Sensors(arguments) => sensors::run(&arguments),
    };
    exit::status(result)
}

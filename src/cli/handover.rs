//! `carpotempo handover`: a clinic's key, its file for a patient's computer, sessions sealed and opened.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use jiff::civil::Date;

use super::demo::quoted;
use super::exit::{WrongArguments, say};
use super::keeping::told;
use super::routine;
use super::store::StoreOption;
use crate::handover::{self, Chosen, ClinicFile, PublicKey, SecretKey};
use crate::recording::PatientCode;

/// Arguments of `handover`.
#[derive(Debug, Args)]
pub struct HandoverArguments {
    #[command(subcommand)]
    command: HandoverCommand,
}

#[derive(Debug, Subcommand)]
enum HandoverCommand {
    /// Clinic, once: makes the key pair; its secret file stays in the clinic
    Key(KeyArguments),
    /// Clinic: makes the file that sets up a patient's computer, with routine, key and whom to ask
    Prepare(PrepareArguments),
    /// Patient: saves sessions for the clinic in one sealed file, as the page's button does
    Save(SaveArguments),
    /// Clinic: opens a sealed file into its store; nothing there is written over
    Open(OpenArguments),
}

#[derive(Debug, Args)]
struct KeyArguments {
    /// File of the secret key; never over another
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

#[derive(Debug, Args)]
struct PrepareArguments {
    /// The routine, a TOML file
    #[arg(long, value_name = "FILE")]
    routine: PathBuf,
    /// The clinic's secret key file; only its public half goes along
    #[arg(long, value_name = "FILE", required_unless_present = "public_key")]
    key: Option<PathBuf>,
    /// The clinic's public key, the line that begins with age1
    #[arg(long, value_name = "KEY", conflicts_with = "key")]
    public_key: Option<String>,
    /// Whom the patient asks and how, in words [default: the routine's contact]
    #[arg(long, value_name = "WORDS")]
    contact: Option<String>,
    /// The patient's code (no name), if the file is for one patient
    #[arg(long, value_name = "CODE")]
    patient: Option<PatientCode>,
    /// File to write; never over another
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
}

#[derive(Debug, Args)]
struct SaveArguments {
    /// The clinic file
    #[arg(long, value_name = "FILE")]
    clinic: PathBuf,
    /// The patient's code [default: the clinic file's]
    #[arg(long, value_name = "CODE")]
    patient: Option<PatientCode>,
    /// All sessions, and not only those since last time
    #[arg(long, conflicts_with_all = ["since", "session"])]
    all: bool,
    /// Sessions of this day and later, such as 2026-03-01
    #[arg(long, value_name = "DATE", conflicts_with = "session")]
    since: Option<Date>,
    /// This session, by its folder's name; may be given several times
    #[arg(long, value_name = "NAME")]
    session: Vec<String>,
    /// Folder to write to
    #[arg(long, value_name = "DIR", default_value = ".")]
    out: PathBuf,
    #[command(flatten)]
    store: StoreOption,
}

#[derive(Debug, Args)]
struct OpenArguments {
    /// The sealed file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// The clinic's secret key file
    #[arg(long, value_name = "FILE")]
    key: PathBuf,
    /// The patient who is expected; another's sessions are refused
    #[arg(long, value_name = "CODE")]
    patient: Option<PatientCode>,
    #[command(flatten)]
    store: StoreOption,
}

/// Runs the command.
pub fn run(arguments: &HandoverArguments) -> anyhow::Result<()> {
    match &arguments.command {
        HandoverCommand::Key(arguments) => key(arguments),
        HandoverCommand::Prepare(arguments) => prepare(arguments),
        HandoverCommand::Save(arguments) => save(arguments),
        HandoverCommand::Open(arguments) => open(arguments),
    }
}

fn key(arguments: &KeyArguments) -> anyhow::Result<()> {
    let key = SecretKey::make(&arguments.out)?;
    let shown = arguments.out.display();
    say(&format!(
        "The clinic's secret key: {shown}\n\
         Keep it in the clinic, where nobody else can read it, with a copy in a second safe place. Never\n\
         send it. Whoever has it can open what patients save; without it nobody can, and it cannot be\n\
         made again.\n\
         The public key, which may go anywhere:\n  {}\n\
         Next: carpotempo handover prepare --key {} --routine ROUTINE --out FILE\n",
        key.public(),
        quoted(&shown.to_string())
    ))
}

fn prepare(arguments: &PrepareArguments) -> anyhow::Result<()> {
    let key: PublicKey = match (&arguments.key, &arguments.public_key) {
        (Some(file), _) => secret(file)?.public(),
        (None, text) => text
            .as_deref()
            .unwrap_or("")
            .parse()
            .map_err(|error: handover::HandoverError| WrongArguments(error.to_string()))?,
    };
    let routine = routine::read(&arguments.routine)?;
    let contact = arguments.contact.as_deref();
    let file = ClinicFile::new(key, arguments.patient.clone(), routine, contact)
        .map_err(|error| WrongArguments(error.to_string()))?;
    file.write(&arguments.out)?;
    let shown = quoted(&arguments.out.display().to_string());
    let patient = match &file.patient {
        Some(_) => "",
        None => " --patient CODE",
    };
    say(&format!(
        "Clinic file: {shown}\n\
         It holds the routine \"{}\", whom to ask, and the public key; nothing secret. Give it to the\n\
         patient yourself: what is saved with it can be opened by whoever made it. On the patient's\n\
         computer:\n  carpotempo session --clinic {shown}{patient} --launcher \"Wrist exercises\"\n",
        file.routine.title
    ))
}

fn save(arguments: &SaveArguments) -> anyhow::Result<()> {
    let clinic = ClinicFile::read(&arguments.clinic)?;
    let patient = patient(&clinic, arguments.patient.as_ref())?;
    let store = arguments.store.resolve()?;
    let chosen = match arguments.since {
        Some(day) => Chosen::Since(day),
        None if arguments.all => Chosen::All,
        None if arguments.session.is_empty() => Chosen::SinceLastTime,
        None => Chosen::Named(arguments.session.clone()),
    };
    let saved = match handover::save(&store, &patient, &clinic.key, &chosen, &arguments.out) {
        Err(nothing @ handover::HandoverError::Nothing { .. })
            if chosen == Chosen::SinceLastTime =>
        {
            return say(&format!("{nothing}. --all saves everything again.\n"));
        }
        saved => saved?,
    };
    for left in &saved.left_out {
        eprintln!(
            "Warning: {left} is no session of {patient} that can be read, and is not in the file."
        );
    }
    let sessions = match saved.sessions.len() {
        1 => "1 session".to_owned(),
        count => format!("{count} sessions"),
    };
    say(&format!(
        "Saved for the clinic: {sessions} in {}\nIt is sealed: only the clinic can open it. Give it to the clinic.\n",
        absolute(&saved.path).display()
    ))
}

fn open(arguments: &OpenArguments) -> anyhow::Result<()> {
    let key = secret(&arguments.key)?;
    let store = arguments.store.resolve()?;
    let patient = arguments.patient.as_ref();
    let placed = handover::open(&store, &arguments.file, &key, &arguments.key, patient)?;
    told(&placed, store.root())
}

fn secret(path: &Path) -> anyhow::Result<SecretKey> {
    let key = SecretKey::read(path)?;
    if handover::is_open_to_others(path) {
        eprintln!(
            "Warning: others on this computer may read the secret key {}; take that right from them (chmod 600).",
            path.display()
        );
    }
    Ok(key)
}

/// The patient meant: as given, else as the clinic file says.
///
/// # Errors
/// [`WrongArguments`] where neither says it, or they differ.
pub fn patient(clinic: &ClinicFile, given: Option<&PatientCode>) -> anyhow::Result<PatientCode> {
    match (given, &clinic.patient) {
        (Some(given), Some(own)) if given != own => {
            Err(WrongArguments(format!("the clinic file is for {own}, not for {given}")).into())
        }
        (Some(patient), _) | (None, Some(patient)) => Ok(patient.clone()),
        (None, None) => Err(WrongArguments(
            "the clinic file is for no patient in particular; give --patient CODE".to_owned(),
        )
        .into()),
    }
}

fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

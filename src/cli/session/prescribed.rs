//! What is done, and by whom: a routine and a code, or a clinic file that holds the routine.

use std::path::PathBuf;

use anyhow::Context;
use clap::Args;

use super::super::exit::WrongArguments;
use super::super::handover;
use super::launcher;
use crate::handover::{ClinicFile, PublicKey};
use crate::recording::PatientCode;
use crate::routine::Routine;

/// Arguments.
#[derive(Debug, Args)]
pub struct PrescribedArguments {
    /// The routine, a TOML file
    #[arg(long, value_name = "FILE", required_unless_present = "clinic")]
    routine: Option<PathBuf>,
    /// The clinic file, in place of a routine: sessions can then be saved for that clinic
    #[arg(long, value_name = "FILE", conflicts_with = "routine")]
    clinic: Option<PathBuf>,
    /// The patient's code (no name); a clinic file may hold it
    #[arg(long, value_name = "CODE", required_unless_present = "clinic")]
    patient: Option<PatientCode>,
}

/// What they mean.
#[derive(Debug)]
pub struct Prescribed {
    /// The prescription.
    pub routine: Routine,
    /// Whose.
    pub patient: PatientCode,
    /// Seals what is saved for the clinic, where there is one.
    pub clinic_key: Option<PublicKey>,
}

impl PrescribedArguments {
    /// Reads the file that is named.
    pub fn read(&self) -> anyhow::Result<Prescribed> {
        if let Some(path) = &self.clinic {
            let clinic = ClinicFile::read(path)?;
            let patient = handover::patient(&clinic, self.patient.as_ref())?;
            return Ok(Prescribed {
                routine: clinic.routine,
                patient,
                clinic_key: Some(clinic.key),
            });
        }
        let missing = || WrongArguments("give --routine and --patient, or --clinic".to_owned());
        let path = self.routine.as_ref().ok_or_else(missing)?;
        let shown = path.display();
        let text = std::fs::read_to_string(path).with_context(|| format!("reading {shown}"))?;
        Ok(Prescribed {
            routine: Routine::from_toml(&text)
                .with_context(|| format!("reading the routine {shown}"))?,
            patient: self.patient.clone().ok_or_else(missing)?,
            clinic_key: None,
        })
    }

    /// The same file as words of a command, with its whole path.
    pub fn words(&self) -> anyhow::Result<Vec<String>> {
        let mut words = Vec::new();
        for (option, path) in [("--routine", &self.routine), ("--clinic", &self.clinic)] {
            if let Some(path) = path {
                words.extend([option.to_owned(), launcher::text_of(path)?]);
            }
        }
        Ok(words)
    }
}

//! A FHIR R4 bundle (collection): the patient by code, one observation of activity for each set, one
//! of its range, one for each answer, and the provenance of each session's observations.
//!
//! Source: HL7 FHIR R4 (4.0.1), resources Bundle, Patient, Device, Observation, Provenance,
//! CodeSystem. Known codes of SNOMED CT and LOINC where there are any, else our own ([`CODES`]).

mod codes;
mod origin;
mod set;
mod survey;
mod value;

use std::collections::BTreeSet;
use std::path::Path;

use jiff::ZonedDateTime;
use jiff::civil::Date;
use serde_json::{Value, json};

use self::set::Of;
use self::value::{address, moment};
use super::place::NewFile;
use super::rows::sets;
use super::sets::SetFigures;
use super::stored::in_order;
use super::{ExportError, Totals};
use crate::pipeline::summary::Summarised;
use crate::recording::{PatientCode, RecordingError, Store, open_events};

pub use codes::{CODES, Code, SYSTEM, SYSTEM_VERSION, code_system};

/// Writes the bundle of a patient into a new file, session by session.
///
/// # Errors
/// [`ExportError`]: the file is there already, the patient is unknown, reading or writing failed.
pub fn write_fhir(
    path: &Path,
    store: &Store,
    patient: &PatientCode,
    since: Option<Date>,
    now: &ZonedDateTime,
) -> Result<Totals, ExportError> {
    // Known before a file is begun.
    store.patient_folder(patient)?;
    let mut bundle = Bundle {
        file: NewFile::begin(path)?,
        begun: false,
        seen: BTreeSet::new(),
        code: patient.as_str().to_owned(),
        patient: address(&["patient", patient.as_str()]),
        program: address(&["program", env!("CARGO_PKG_VERSION")]),
        recorded: moment(now.timestamp(), now.offset()),
        totals: Totals::default(),
    };
    bundle.head(patient)?;
    let warnings = in_order(store, patient, since, &mut |sessions| {
        sessions
            .iter()
            .try_for_each(|session| bundle.session(session))
    })?;
    bundle.file.write(b"\n]}\n")?;
    bundle.file.finish()?;
    bundle.totals.warnings.splice(0..0, warnings);
    Ok(bundle.totals)
}

/// A bundle that is being written.
struct Bundle {
    file: NewFile,
    begun: bool,
    /// Devices written.
    seen: BTreeSet<String>,
    /// The patient's code, and the address of the patient's entry.
    code: String,
    patient: String,
    program: String,
    recorded: String,
    totals: Totals,
}

impl Bundle {
    fn head(&mut self, patient: &PatientCode) -> Result<(), ExportError> {
        let head = format!(
            "{{\"resourceType\":\"Bundle\",\"type\":\"collection\",\"timestamp\":\"{}\",\"entry\":[",
            self.recorded
        );
        self.file.write(head.as_bytes())?;
        let own = json!({
            "resourceType": "Patient",
            "identifier": [{
                "use": "secondary",
                "type": {"text": "code within the clinic, no name"},
                "value": patient.as_str(),
            }],
        });
        self.entry(&self.patient.clone(), &own)?;
        self.entry(codes::SYSTEM, &code_system())?;
        self.entry(&self.program.clone(), &origin::program())
    }

    fn entry(&mut self, address: &str, resource: &Value) -> Result<(), ExportError> {
        let entry = json!({"fullUrl": address, "resource": resource});
        let part = if self.begun { ",\n" } else { "\n" };
        self.begun = true;
        self.file.write(part.as_bytes())?;
        self.file.write(entry.to_string().as_bytes())
    }

    fn session(&mut self, session: &Summarised) -> Result<(), ExportError> {
        let (events, warnings) = open_events(&session.folder)?;
        self.totals.warnings.extend(warnings);
        let summary = &session.summary;
        let code = self.code.clone();
        let named = |kind: &str, nth: usize| {
            let nth = nth.to_string();
            address(&[kind, &code, &session.name, &nth])
        };
        let patient = self.patient.clone();
        let mut targets = Vec::new();
        for row in sets(session) {
            let device = self.sensor(&events, row.set.start_s)?;
            let of = Of {
                patient: &patient,
                device: &device,
            };
            let figures = SetFigures::of(row);
            let own = named("set", row.index);
            self.entry(&own, &set::activity(&figures, &of))?;
            if let Some(exam) = set::exam(&figures, &of, &own) {
                let range = named("range", row.index);
                self.entry(&range, &exam)?;
                targets.push(range);
            }
            targets.push(own);
            self.totals.set_count += 1;
            self.totals.repetition_count += row.set.reps.len();
        }
        let of = Of {
            patient: &patient,
            device: "",
        };
        for (nth, event) in events.iter().enumerate() {
            if let Some(answer) = survey::survey(event, &summary.started_at, &of, summary.simulated)
            {
                let own = named("answer", nth);
                self.entry(&own, &answer)?;
                targets.push(own);
            }
        }
        self.totals.session_count += 1;
        self.provenance(session, &targets, &named("provenance", 0))
    }

    /// The address of the sensor in use, written at its first use.
    fn sensor(
        &mut self,
        events: &[crate::recording::Event],
        t_s: f64,
    ) -> Result<String, ExportError> {
        let device = origin::sensor(origin::sensor_at(events, t_s));
        let own = address(&["sensor", &device.to_string()]);
        if self.seen.insert(own.clone()) {
            self.entry(&own, &device)?;
        }
        Ok(own)
    }

    fn provenance(
        &mut self,
        session: &Summarised,
        targets: &[String],
        own: &str,
    ) -> Result<(), ExportError> {
        if targets.is_empty() {
            return Ok(());
        }
        let mut hashes = Vec::new();
        for file in origin::FILES {
            let path = session.folder.join(file);
            let hash =
                origin::sha_256(&path).map_err(|said| RecordingError::Unreadable { path, said })?;
            hashes.extend(hash.map(|hash| (file, hash)));
        }
        let provenance = origin::provenance(
            &session.name,
            &hashes,
            targets,
            &self.program,
            &self.recorded,
        );
        self.entry(own, &provenance)
    }
}

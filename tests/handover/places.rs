//! Invented patients in stores within a folder of the test's own.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use carpotempo::handover::SecretKey;
use carpotempo::recording::{Event, EventKind, Night, PatientCode, SessionHead, Store, Writer};
use carpotempo::sample::{Place, Sample};
use nalgebra::Vector3;

/// A folder with a patient's store, a clinic's store and the clinic's key in it.
pub struct Places {
    pub folder: tempfile::TempDir,
    pub home: Store,
    pub clinic: Store,
    pub key: SecretKey,
    pub key_path: PathBuf,
}

pub fn code(text: &str) -> PatientCode {
    text.parse().unwrap()
}

pub fn places() -> Places {
    let folder = tempfile::tempdir().unwrap();
    let key_path = folder.path().join("clinic-key.txt");
    Places {
        home: Store::at(folder.path().join("home")),
        clinic: Store::at(folder.path().join("clinic")),
        key: SecretKey::make(&key_path).unwrap(),
        key_path,
        folder,
    }
}

impl Places {
    pub fn outbox(&self) -> PathBuf {
        self.folder.path().join("out")
    }

    /// Everything in the folder, by path from there.
    pub fn all(&self) -> BTreeMap<String, Vec<u8>> {
        tree(self.folder.path())
    }
}

/// Every file below a folder, and every folder, by path from there.
pub fn tree(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(root: &Path, folder: &Path, found: &mut BTreeMap<String, Vec<u8>>) {
        let Ok(entries) = std::fs::read_dir(folder) else {
            return;
        };
        for entry in entries {
            let path = entry.unwrap().path();
            let name = path
                .strip_prefix(root)
                .unwrap()
                .to_str()
                .unwrap()
                .to_owned();
            if path.is_dir() {
                found.insert(name + "/", Vec::new());
                walk(root, &path, found);
            } else {
                found.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(folder, folder, &mut found);
    found
}

fn head(patient: &str, start: &str) -> SessionHead {
    SessionHead {
        started_at: format!("{start}[+01:00]").parse().unwrap(),
        patient: code(patient),
        routine: None,
    }
}

/// A writer of an invented session with a few samples and an answer in it.
pub fn begun(store: &Store, patient: &str, start: &str) -> Writer {
    let head = head(patient, start);
    let folder = store.new_session(&head.patient, &head.started_at).unwrap();
    let mut writer = Writer::create(&folder, &head).unwrap();
    samples(&mut writer, 0.0);
    let kind = EventKind::Night(Night {
        woke: Some(true),
        ..Night::default()
    });
    writer.event(&Event { t_s: 1.0, kind }).unwrap();
    writer
}

/// A second of samples from that time on.
pub fn samples(writer: &mut Writer, from_s: f64) {
    for nth in 0..50 {
        let sample = Sample {
            t_s: from_s + f64::from(nth) / 50.0,
            accel_m_s2: Vector3::new(0.0, 0.125 * f64::from(nth % 3), 9.81),
            gyro_rad_s: Vector3::new(0.01, -0.02, 0.5),
        };
        writer.sample(Place::Hand, &sample).unwrap();
    }
}

/// A finished one; its folder's name.
pub fn session(store: &Store, patient: &str, start: &str) -> String {
    let writer = begun(store, patient, start);
    let name = writer
        .folder()
        .file_name()
        .unwrap()
        .to_str()
        .unwrap()
        .to_owned();
    writer.finish().unwrap();
    name
}

/// Three sessions of the invented patient P-0001.
pub fn three(store: &Store) -> Vec<String> {
    [
        "2026-03-02T18:30:00+01:00",
        "2026-03-04T18:30:00+01:00",
        "2026-03-06T07:10:00+01:00",
    ]
    .map(|start| session(store, "P-0001", start))
    .to_vec()
}

//! Archives that this program never writes.

use std::path::{Path, PathBuf};

use age::Encryptor;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::io::Write;
use tar::{EntryType, Header};

use super::places::Places;

pub const SESSION: &str = "2026-03-02T173000Z";

/// An entry as it stands in the archive, whatever the list says.
#[derive(Debug, Clone)]
pub struct Entry {
    pub name: Vec<u8>,
    pub kind: EntryType,
    pub link: Vec<u8>,
    pub bytes: Vec<u8>,
    /// The length that the header claims; `None` is the true one.
    pub claimed_bytes: Option<u64>,
}

/// A list and entries to be bent.
#[derive(Debug, Clone)]
pub struct Crafted {
    pub list: Value,
    pub entries: Vec<Entry>,
    pub tail: Vec<u8>,
}

pub fn entry(name: &str, bytes: &[u8]) -> Entry {
    Entry {
        name: name.as_bytes().to_vec(),
        kind: EntryType::Regular,
        link: Vec::new(),
        bytes: bytes.to_vec(),
        claimed_bytes: None,
    }
}

pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

pub fn listed(name: &str, bytes: &[u8]) -> Value {
    json!({"name": name, "size_bytes": bytes.len(), "sha256": hash(bytes)})
}

pub fn head_of(patient: &str) -> Vec<u8> {
    json!({
        "format": "carpotempo-recording",
        "version": 1,
        "started_at": "2026-03-02T18:30:00+01:00",
        "patient": patient,
        "routine": null,
    })
    .to_string()
    .into_bytes()
}

pub const EVENTS: &[u8] = b"t_s,event,detail\n1,note,{}\n";

/// One good session of that kind of archive.
pub fn good(kind: &str) -> Crafted {
    let head = head_of("P-0001");
    Crafted {
        list: json!({
            "format": "carpotempo-archive",
            "version": 1,
            "kind": kind,
            "patient": "P-0001",
            "sessions": [{
                "name": SESSION,
                "files": [listed("session.json", &head), listed("events.csv", EVENTS)],
            }],
        }),
        entries: vec![
            entry(&format!("{SESSION}/session.json"), &head),
            entry(&format!("{SESSION}/events.csv"), EVENTS),
        ],
        tail: vec![0; 1024],
    }
}

impl Crafted {
    pub fn bytes(&self) -> Vec<u8> {
        let list = entry("carpotempo-archive.json", self.list.to_string().as_bytes());
        let mut all = Vec::new();
        for entry in std::iter::once(&list).chain(&self.entries) {
            let mut header = Header::new_ustar();
            // The name as it is: setting it by the crate would refuse what is to be tried.
            let name = entry.name.len().min(100);
            header.as_mut_bytes()[..name].copy_from_slice(&entry.name[..name]);
            let link = entry.link.len().min(100);
            header.as_mut_bytes()[157..157 + link].copy_from_slice(&entry.link[..link]);
            header.set_entry_type(entry.kind);
            header.set_size(entry.claimed_bytes.unwrap_or(entry.bytes.len() as u64));
            header.set_mode(0o777);
            header.set_mtime(0);
            header.set_cksum();
            all.extend_from_slice(header.as_bytes());
            all.extend_from_slice(&entry.bytes);
            all.resize(all.len().next_multiple_of(512), 0);
        }
        all.extend_from_slice(&self.tail);
        all
    }

    /// As a backup's file.
    pub fn plain(&self, places: &Places) -> PathBuf {
        written(places, "crafted.tar", &self.bytes())
    }

    /// As a file sealed to the clinic.
    pub fn sealed(&self, places: &Places) -> PathBuf {
        let key: age::x25519::Recipient = places.key.public().to_string().parse().unwrap();
        let encryptor = Encryptor::with_recipients(std::iter::once(&key as _)).unwrap();
        let mut bytes = Vec::new();
        let mut out = encryptor.wrap_output(&mut bytes).unwrap();
        out.write_all(&self.bytes()).unwrap();
        out.finish().unwrap();
        written(places, "crafted.age", &bytes)
    }
}

fn written(places: &Places, name: &str, bytes: &[u8]) -> PathBuf {
    let path = places.folder.path().join(name);
    std::fs::write(&path, bytes).unwrap();
    Path::new(&path).to_owned()
}

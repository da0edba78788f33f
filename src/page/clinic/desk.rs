//! The work behind the clinic's page: each request against the store, the key and the clock.

use std::path::PathBuf;

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use jiff::civil::Date;

use super::asked::{DraftAsked, HandoutAsked, Nothing, PaperAsked, ReviewAsked, TextAsked, Whose};
use super::brought::Taken;
use super::shelf::{Laid, Shelf};
use super::told::{
    BroughtTold, FormTold, KeptTold, KeyTold, KnownTold, LaidTold, LastTold, PeopleTold,
    PresentTold, ReadTold, StartingTold, people_told,
};
use crate::clinic::{self, Told, told};
use crate::handover::{ClinicFile, HandoverError, SecretKey};
use crate::pipeline::summary::fresh_summaries;
use crate::recording::{PatientCode, Store};
use crate::report::{self, HandoutOptions, Paper, ReportOptions, handout};
use crate::review::{ReviewOptions, date_words, review_on};
use crate::routine::draft::{edited, form};
use crate::routine::{Routine, STARTING};
use crate::session::guided::line::FIRST_QUESTIONS;

const NO_CONTACT: &str =
    "The patient needs to know whom to ask: fill in \"Whom to ask, and how\" first.";

/// What the answers are made from.
pub struct Desk {
    store: Store,
    key: PathBuf,
    shelf: Shelf,
}

/// Why something was not done, in words.
#[derive(Debug)]
pub struct Refused(pub String);

impl<E: std::error::Error> From<E> for Refused {
    fn from(error: E) -> Refused {
        Refused(error.to_string())
    }
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        (StatusCode::CONFLICT, format!("{}\n", self.0)).into_response()
    }
}

fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}

impl Desk {
    /// The desk over a store, with the clinic's secret key file.
    pub fn new(store: Store, key: PathBuf) -> Desk {
        Desk {
            store,
            key,
            shelf: Shelf::default(),
        }
    }

    /// Form, starting routines, and what is known already.
    pub fn form(&self) -> FormTold {
        let starting = STARTING.iter().filter_map(|own| {
            let routine = Routine::from_toml(own.toml).ok()?;
            Some(StartingTold {
                name: own.name,
                exercise_count: routine.items.len(),
                session_min: routine.duration().session_s / 60.0,
                title: routine.title,
                text: own.toml,
            })
        });
        FormTold {
            form: form(),
            starting: starting.collect(),
            today: today(),
            questions: &FIRST_QUESTIONS,
            store: shown(self.store.root()),
            contact: clinic::usual_contact(&self.store),
            key_path: shown(&self.key),
            key: SecretKey::read(&self.key)
                .ok()
                .map(|key| self.key_told(&key)),
        }
    }

    fn key_told(&self, key: &SecretKey) -> KeyTold {
        KeyTold {
            public: key.public().to_string(),
            path: shown(&self.key),
        }
    }

    /// Everybody at a glance.
    pub fn people(&self) -> Result<PeopleTold, Refused> {
        let mut all = clinic::people(&self.store, today())?;
        if all.stale_count + all.missing_count > 0 {
            all.refresh = Some(format!(
                "carpotempo refresh --store \"{}\"",
                shown(self.store.root())
            ));
        }
        Ok(people_told(&all))
    }

    /// The prescription in force of a patient.
    pub fn present(&self, whose: &Whose) -> Result<KnownTold, Refused> {
        let present = clinic::present(&self.store, &whose.patient)?;
        let last = clinic::last_done(&self.store, &whose.patient)?;
        Ok(KnownTold {
            present: present.map(|present| PresentTold {
                path: shown(&present.path),
                text: present.text,
            }),
            last: last.map(|last| LastTold {
                on: date_words(last.on),
                text: last.text,
            }),
        })
    }

    /// Makes the summaries of a patient anew where they are missing or stale.
    pub fn read(&self, whose: Whose) -> Result<ReadTold, Refused> {
        let summaries = fresh_summaries(&self.store, &whose.patient, &|_| ())?;
        Ok(ReadTold {
            made_count: summaries.recomputed_count,
        })
    }

    /// The draft after its edits, and what there is to say of it.
    pub fn draft(&self, asked: DraftAsked) -> Result<Told, Refused> {
        let text = match asked.edits.is_empty() {
            true => asked.text,
            false => edited(&asked.text, &asked.edits)?,
        };
        let previous = asked.patient.and_then(|patient| self.previous(&patient));
        Ok(told(text, previous.as_ref(), today()))
    }

    /// What a draft for a patient takes the place of; a file that does not read is nothing to
    /// compare with.
    fn previous(&self, patient: &PatientCode) -> Option<Routine> {
        let present = clinic::present(&self.store, patient).ok()??;
        Routine::from_toml(&present.text).ok()
    }

    /// Keeps a prescription.
    pub fn keep(&self, asked: TextAsked) -> Result<KeptTold, Refused> {
        let kept = clinic::keep(&self.store, &asked.patient, &asked.text, today())?;
        Ok(KeptTold {
            path: shown(&kept.path),
            before: kept.before.as_deref().map(shown),
        })
    }

    /// Lays the handout on the shelf.
    pub fn handout(&self, asked: HandoutAsked) -> Result<LaidTold, Refused> {
        let routine = Routine::from_toml(&asked.text)?;
        let options = HandoutOptions {
            day: today(),
            patient: asked.patient,
            paper: match asked.paper {
                PaperAsked::A4 => Paper::A4,
                PaperAsked::Letter => Paper::Letter,
            },
        };
        let sheet = Laid::Sheet(handout(&routine, &options));
        Ok(LaidTold {
            address: self.shelf.lay(sheet),
            name: None,
        })
    }

    /// Lays the clinic file on the shelf.
    pub fn handover(&self, asked: TextAsked) -> Result<LaidTold, Refused> {
        let routine = Routine::from_toml(&asked.text)?;
        let key = SecretKey::read(&self.key)?.public();
        let name = format!("clinic-{}.toml", asked.patient);
        let file =
            ClinicFile::new(key, Some(asked.patient), routine, None).map_err(
                |error| match error {
                    HandoverError::NoContact => Refused(NO_CONTACT.to_owned()),
                    other => other.into(),
                },
            )?;
        let text = file.text().map_err(Refused)?;
        let file = Laid::File {
            name: name.clone(),
            text,
        };
        Ok(LaidTold {
            address: self.shelf.lay(file),
            name: Some(name),
        })
    }

    /// Makes the clinic's key, where there is none.
    pub fn make_key(&self, _nothing: Nothing) -> Result<KeyTold, Refused> {
        if let Some(folder) = self.key.parent().filter(|own| !own.as_os_str().is_empty()) {
            crate::recording::create_folder(folder)?;
        }
        let key = SecretKey::make(&self.key)?;
        Ok(self.key_told(&key))
    }

    /// The store.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Opens what a patient brought, and puts its sessions into the store.
    pub fn open(&self, taken: &Taken) -> Result<BroughtTold, Refused> {
        // The file lies under a name of ours for a moment, which says nothing to anybody.
        let named = |error: HandoverError| {
            let own = taken.path().display().to_string();
            Refused(error.to_string().replace(&own, "The file that was chosen"))
        };
        let key = SecretKey::read(&self.key)?;
        let placed = crate::handover::open(&self.store, taken.path(), &key, &self.key, None)
            .map_err(named)?;
        Ok(BroughtTold {
            patient: placed.patient,
            new_count: placed.new.len(),
            grown_count: placed.grown.len(),
            already_count: placed.already.len(),
            different: placed.different,
        })
    }

    /// What lies at that address on the shelf.
    pub fn laid_at(&self, address: &str) -> Option<Laid> {
        self.shelf.at(address)
    }

    /// The report of a patient.
    pub fn review(&self, asked: &ReviewAsked) -> Result<String, Refused> {
        let summaries = fresh_summaries(&self.store, &asked.patient, &|_| ())?;
        let today = today();
        let options = ReviewOptions { since: asked.since };
        let review = review_on(&asked.patient, &summaries, &options, Some(today));
        let options = ReportOptions {
            invented: false,
            made_on: Some(today),
            person: asked.person,
        };
        Ok(report::page(&review, &options)?)
    }
}

fn shown(path: &std::path::Path) -> String {
    let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    path.display().to_string()
}

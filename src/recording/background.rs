//! Putting files on the disk beside the work: a disk may take hundreds of milliseconds to say that
//! it has them, and nobody who counts repetitions waits for that.

use std::fs::File;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::error::RecordingError;

/// Files to put on the disk, with their names.
type Job = Vec<(PathBuf, File)>;

/// A thread that syncs; it ends with this.
#[derive(Debug)]
pub(super) struct Background {
    jobs: Option<Sender<Job>>,
    results: Receiver<Result<(), RecordingError>>,
    at_work: bool,
}

impl Background {
    /// Starts the thread. Where the system gives none, nothing is ever synced beside the work, and
    /// [`Background::start`] says so.
    pub(super) fn new() -> Background {
        let (jobs, taken) = channel::<Job>();
        let (done, results) = channel();
        let started = std::thread::Builder::new()
            .name("sync".to_owned())
            .spawn(move || {
                for job in taken {
                    if done.send(sync_all(&job)).is_err() {
                        break;
                    }
                }
            });
        Background {
            jobs: started.ok().map(|_| jobs),
            results,
            at_work: false,
        }
    }

    /// Begins to put these files on the disk, if the ones before are there.
    ///
    /// Returns whether it began.
    pub(super) fn start(&mut self, files: Job) -> bool {
        if self.at_work {
            return false;
        }
        let began = self
            .jobs
            .as_ref()
            .is_some_and(|jobs| jobs.send(files).is_ok());
        self.at_work = began;
        began
    }

    /// Whether files are being put on the disk; an error of those before, if one came.
    pub(super) fn is_at_work(&mut self) -> Result<bool, RecordingError> {
        if let Ok(result) = self.results.try_recv() {
            self.at_work = false;
            result?;
        }
        Ok(self.at_work)
    }
}

fn sync_all(files: &Job) -> Result<(), RecordingError> {
    for (path, file) in files {
        file.sync_data()
            .map_err(|error| RecordingError::writing(path, error))?;
    }
    Ok(())
}

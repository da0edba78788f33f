//! Recording that goes on through trouble: said once, tried again, remembered for the end.

use super::Shown;
use crate::recording::{Event, RecordingError, Writer};
use crate::sample::{Place, Sample};
use crate::session::Machine;

/// A writer and its troubles.
pub struct Keeping {
    writer: Writer,
    /// Something cannot be written, and that was said.
    in_trouble: bool,
    /// A sample was refused, and that was said.
    refused: bool,
    /// Rows that were lost for good, and why.
    lost: Option<RecordingError>,
}

impl Keeping {
    /// Begins with a new recording.
    pub fn new(writer: Writer) -> Keeping {
        Keeping {
            writer,
            in_trouble: false,
            refused: false,
            lost: None,
        }
    }

    /// Keeps a sample. Returns whether it may be used: what the format does not allow is in no
    /// recording, so nobody may count it.
    pub fn sample<M: Machine>(
        &mut self,
        place: Place,
        sample: &Sample,
        show: &mut dyn FnMut(Shown<'_, M>),
    ) -> bool {
        match self.writer.sample(place, sample) {
            Ok(()) => true,
            Err(error @ RecordingError::BadSample { .. }) => {
                if !self.refused {
                    self.refused = true;
                    show(Shown::Trouble(&error.to_string()));
                }
                false
            }
            Err(error) => {
                self.failed(error, show);
                true
            }
        }
    }

    /// Keeps an event.
    pub fn event<M: Machine>(&mut self, event: &Event, show: &mut dyn FnMut(Shown<'_, M>)) {
        if let Err(error) = self.writer.event(event) {
            self.failed(error, show);
        }
    }

    /// Lets time pass.
    pub fn tick<M: Machine>(&mut self, show: &mut dyn FnMut(Shown<'_, M>)) {
        match self.writer.tick() {
            Ok(true) if self.in_trouble => {
                self.in_trouble = false;
                show(Shown::TroubleOver);
            }
            Ok(_) => {}
            Err(error) => self.failed(error, show),
        }
    }

    fn failed<M: Machine>(&mut self, error: RecordingError, show: &mut dyn FnMut(Shown<'_, M>)) {
        let words = error.to_string();
        if matches!(error, RecordingError::Backlog { .. }) {
            // Beside the trouble that keeps rows from being written.
            if self.lost.is_none() {
                show(Shown::Trouble(&words));
                self.lost = Some(error);
            }
            return;
        }
        // Once: a disk in trouble finds new words all the time.
        if !self.in_trouble {
            self.in_trouble = true;
            show(Shown::Trouble(&words));
        }
    }

    /// Puts everything on the disk. Returns why the recording is not whole, if it is not.
    pub fn finish(self) -> Option<RecordingError> {
        let finished = self.writer.finish().err();
        self.lost.or(finished)
    }

    /// Leaves nothing behind of a recording that never began.
    pub fn discard(self) {
        self.writer.discard();
    }
}

//! How the sensor sits: put on, fitted by one movement, or gone on without.
//!
//! Ours. The movement is of a hand that may hurt: nobody is asked to go further than is comfortable,
//! and from any trouble on going without is offered. Then the neutral pose is not known: no range
//! test is asked for, no band of range is judged, nothing is compared with last time.

use super::line::Line;
use super::posture::Held;
use super::{At, Guided, Output};
use crate::joint::Alignment;
use crate::joint::wear::{WearFinding, WearKind};
use crate::movement::Movement;
use crate::recording::{Calibration, EventKind};
use crate::routine::{CountedItem, Part};
use crate::sample::Place;
use crate::session::{Calibrating, CalibratingParams, Output as AnyOutput, Say};

/// What is known of how the sensor sits.
#[derive(Debug, Clone, Copy)]
pub(super) enum Fit {
    /// It was put on, and nothing is known yet.
    Unknown,
    /// It was fitted.
    Known(Alignment),
    /// The person goes on without.
    LeftOut,
}

impl Guided {
    pub(super) fn placed(&mut self, out: &mut Vec<Output>) {
        let Some(side) = self.course.get(self.part).and_then(Part::strap) else {
            return;
        };
        self.strapped = Some((side, self.now_s));
        self.without_offered = false;
        self.wearing_asked = false;
        self.fit = Fit::Unknown;
        if self.heard.is_none() {
            self.at = At::Hearing;
            out.push(Output::Say(Line::CanYouHearMe));
        } else {
            self.calibrate(out);
        }
    }

    pub(super) fn is_fitted(&self) -> bool {
        matches!(self.fit, Fit::Known(_))
    }

    pub(super) fn calibrate(&mut self, out: &mut Vec<Output>) {
        let Some((side, _)) = self.strapped else {
            return;
        };
        // Palm down on the table, bending back: gravity sees it, and few hands cannot do it at all.
        let movement = Movement::WristExtension;
        let calibrating = Calibrating::new(
            movement,
            side,
            movement.usual_posture(),
            CalibratingParams::default(),
        );
        self.wrong = None;
        self.at = At::Calibrating(Box::new(calibrating));
        out.push(Output::Say(if self.both() {
            Line::CalibrateBothFirst
        } else {
            Line::CalibrateFirst
        }));
    }

    pub(super) fn calibrating(
        &mut self,
        outputs: Vec<AnyOutput<Say>>,
        done: bool,
        out: &mut Vec<Output>,
    ) {
        for output in outputs {
            match output {
                AnyOutput::Record(kind) => out.push(Output::Record(kind)),
                AnyOutput::Say(say) => {
                    match &say {
                        Say::Refused(why) => self.wrong = Some(why.clone()),
                        Say::MoveOnce(_)
                        | Say::HoldStill
                        | Say::ComeBack
                        | Say::Calibrated { .. } => {}
                        // It takes long, or once more.
                        _ => self.without_offered = true,
                    }
                    self.without_offered |= self.wrong.is_some();
                    out.push(Output::Say(Line::Calibration(say)));
                }
                AnyOutput::Done => {}
            }
        }
        if done {
            self.show_part(out);
        }
    }

    /// On without a fitting, from the screen on which it is asked for. That is kept: a fitting from
    /// before, of a sensor that sat otherwise, does not hold any more.
    pub(super) fn go_without(&mut self, out: &mut Vec<Output>) {
        let Some((side, _)) = self.strapped else {
            return;
        };
        out.push(Output::Record(EventKind::Calibration(
            Calibration::left_out(Place::Hand, side),
        )));
        self.fit = Fit::LeftOut;
        self.show_part(out);
    }

    pub(super) fn held(&self, item: &CountedItem) -> Option<Held> {
        let Fit::Known(alignment) = &self.fit else {
            return None;
        };
        Held::of(alignment, item.movement, &item.posture())
    }

    /// Whether the sensor sat otherwise than it was fitted. Of one that was not, a movement of a few
    /// degrees says nothing: nobody is asked to put it on again and again.
    pub(super) fn is_misworn(&self, wear: &[WearFinding]) -> bool {
        wear.iter().any(|finding| {
            let is_small = finding.kind == WearKind::OnForearm && matches!(self.fit, Fit::LeftOut);
            !finding.angles_stand() && !is_small
        })
    }

    /// It is put on and fitted anew before what comes next.
    pub(super) fn sits_elsewhere(&mut self) {
        (self.strapped, self.fit) = (None, Fit::Unknown);
    }
}

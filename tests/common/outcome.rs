//! What a guided session makes of an acted set.

use carpotempo::recording::{EventKind, SetEndReason};
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::working::{Standing, Stopped};

use crate::acted::Acted;
use crate::drive::{Drive, plan_of, untroubled};

/// The screen is looked at this often, seconds.
const LOOKS_S: f64 = 0.04;

/// What a guided session made of an acted set.
#[derive(Debug, Default)]
pub struct Outcome {
    /// When the set was announced to the recording, each time.
    pub announced_s: Vec<f64>,
    /// When it was seen to begin, each time.
    pub begun_s: Vec<f64>,
    /// Repetitions counted.
    pub counted: u32,
    /// Why and when it paused, if it did.
    pub paused: Option<(Stopped, f64)>,
    /// Why it ended, if it did.
    pub ended: Option<SetEndReason>,
    /// The exercise was reached: the sensor was fitted.
    pub fitted: bool,
}

impl Outcome {
    /// Plays an acted set through the live pipeline and the session, as far as its first pause or
    /// its end.
    pub fn of(acted: &Acted) -> Outcome {
        let mut drive = Drive::at_rate(plan_of(acted.routine.clone()), acted.rate_hz);
        drive.follows = false;
        drive.answer(&untroubled);
        drive.guided.connected();
        let mut outcome = Outcome::default();
        let mut looks_s = 0.0;
        let mut standing = Standing::AwaitStill;
        for sample in &acted.samples {
            drive.sample(sample);
            if sample.t_s < looks_s {
                continue;
            }
            looks_s = sample.t_s + LOOKS_S;
            match drive.guided.view().screen {
                Screen::Working { live, .. } => {
                    outcome.fitted = true;
                    outcome.counted = live.count;
                    if live.standing == Standing::Going && standing != Standing::Going {
                        outcome.begun_s.push(sample.t_s);
                    }
                    standing = live.standing;
                }
                Screen::Paused { why, .. } => {
                    outcome.paused = Some((why, sample.t_s));
                    break;
                }
                Screen::Rest { .. } => break,
                screen => {
                    if let Some(press) = untroubled(&screen) {
                        drive.press(press);
                    }
                }
            }
        }
        for event in &drive.events {
            match &event.kind {
                EventKind::SetStart(_) => outcome.announced_s.push(event.t_s),
                EventKind::SetEnd(end) => outcome.ended = end.reason,
                _ => {}
            }
        }
        if outcome.ended == Some(SetEndReason::Reached) {
            outcome.counted = acted.item().repetitions;
        }
        outcome
    }
}

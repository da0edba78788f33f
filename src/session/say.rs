//! Every prompt of a session, and its words.

use super::worn::told;
use crate::joint::wear::WearKind;
use crate::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, Movement, MovingPhase, Posture, Side,
};
use crate::recording::SetEndReason;
use crate::reps::Repetition;
use crate::routine::{Tempo, Verdict};

/// What a person is told.
#[derive(Debug, Clone, PartialEq)]
pub enum Say {
    /// When to stop; the movement's own caution beside it.
    Caution(Option<Movement>),
    /// What is to be done, how the arm is held, and what is in the hand.
    TakePosture {
        /// The movement.
        movement: Movement,
        /// Which hand.
        side: Option<Side>,
        /// How the arm is held.
        posture: Posture,
        /// Load, kg.
        load_kg: Option<f64>,
    },
    /// The tempo, with its words in the order in which they happen.
    TempoAsked(Tempo, Option<MovingPhase>),
    /// Hold still.
    HoldStill,
    /// Still waiting for stillness.
    NotStillYet,
    /// One movement out and back.
    MoveOnce(Movement),
    /// Still waiting for the movement.
    NotMovedYet(Movement),
    /// Still waiting for it, while the sensor turns by a few degrees again and again.
    HardlyTurns(Movement),
    /// The sensor is worn strangely.
    Worn(WearKind),
    /// The hand stays out.
    ComeBack,
    /// The hand did not come back: once more from the beginning.
    NotBack,
    /// Samples were missing: once more from the beginning.
    Interrupted,
    /// The calibration was taken.
    Calibrated {
        /// How far the movement went, degrees.
        travel_deg: f64,
    },
    /// The calibration was refused, with the reason and what to do.
    Refused(String),
    /// The set begins.
    Begin {
        /// Repetitions asked for.
        target_reps: Option<u32>,
    },
    /// The set begins without a calibration.
    BeginRaw,
    /// A set of circles begins: they are counted by whole turns.
    BeginCircles,
    /// A repetition was counted.
    Counted {
        /// Its number, from 1.
        number: usize,
        /// It.
        repetition: Box<Repetition>,
    },
    /// The link is lost.
    LinkLost,
    /// The link is there and nothing comes.
    Stalled,
    /// Samples come again.
    Back,
    /// Where the two units go.
    WearBoth,
    /// The forearm's unit sends nothing: the hand's goes on alone.
    ForearmAway,
    /// The forearm's unit sends again.
    ForearmBack,
    /// The forearm's unit will not come back.
    ForearmGone,
    /// The set ended, and why, if one of the words fits.
    Ended(Option<SetEndReason>),
    /// It ended before the set began.
    EndedBefore,
}

/// Where the two units go, and when they come off.
const WEAR_BOTH: &str = "Two sensors: one on the back of the hand, one on the back of the forearm, two fingers' breadth above the wrist and off its crease. Snug, one finger fits beneath. Tingling, a change of colour or swelling: take it off.";

impl Say {
    /// The words.
    pub fn words(&self) -> String {
        match self {
            Say::Caution(movement) => {
                let own = movement.map_or("", Movement::caution);
                format!(
                    "Stop if it hurts, tingles or goes numb: put the weight down and press any key or Ctrl-C. {own}"
                )
                .trim_end()
                .to_owned()
            }
            Say::TakePosture {
                movement,
                side,
                posture,
                load_kg,
            } => take_posture(*movement, *side, posture, *load_kg),
            Say::TempoAsked(tempo, eccentric) => {
                format!("Tempo {}: {}", tempo.code(), tempo.words_for(*eccentric))
            }
            Say::HoldStill => "Hold still.".to_owned(),
            Say::NotStillYet => {
                "Not still yet: rest the forearm, let the hand settle, breathe on.".to_owned()
            }
            Say::MoveOnce(movement) => {
                format!(
                    "Now once, slowly, only as far as is comfortable: {}, then let it return, and wait.",
                    out(*movement)
                )
            }
            Say::NotMovedYet(movement) => {
                format!(
                    "Waiting for one movement, only as far as is comfortable: {}, then let it return.",
                    out(*movement)
                )
            }
            Say::HardlyTurns(movement) => {
                format!(
                    "{} One movement: {}, and let it return; or do without it.",
                    told(WearKind::OnForearm),
                    out(*movement)
                )
            }
            Say::Worn(kind) => told(*kind).to_owned(),
            Say::ComeBack => "Now let it return to where you held still.".to_owned(),
            Say::NotBack => {
                "The hand did not come back to where it was held still. Once more.".to_owned()
            }
            Say::Interrupted => "Samples were missing in between. Once more.".to_owned(),
            Say::Calibrated { travel_deg } => {
                format!("Calibrated; the movement went {travel_deg:.0} degrees.")
            }
            // Nobody is asked to go where it may hurt.
            Say::Refused(why) => format!(
                "Not calibrated: {why}. Once more, only as far as is comfortable; or do without it."
            ),
            Say::Begin { target_reps } => match target_reps {
                Some(target) => format!("Begin: {target} repetitions."),
                None => "Begin.".to_owned(),
            },
            Say::BeginRaw => {
                "Recording. Hold still for a moment, then begin; the movement itself shows its axis."
                    .to_owned()
            }
            Say::BeginCircles => {
                "Recording. Hold still for a moment, then begin; how long each circle took is read when the set has ended."
                    .to_owned()
            }
            Say::Counted { number, repetition } => counted(*number, repetition),
            Say::LinkLost => {
                "The link to the sensor is lost; looking for it. What was recorded is kept."
                    .to_owned()
            }
            Say::Stalled => "The sensor is connected and sends nothing.".to_owned(),
            Say::Back => "The sensor is back; the count goes on.".to_owned(),
            Say::WearBoth => WEAR_BOTH.to_owned(),
            Say::ForearmAway => {
                "The forearm sensor is out of reach. Go on: the hand sensor counts alone."
                    .to_owned()
            }
            Say::ForearmBack => "The forearm sensor is back.".to_owned(),
            Say::ForearmGone => {
                "The forearm sensor does not come back. Go on: the hand sensor counts alone."
                    .to_owned()
            }
            Say::Ended(reason) => format!("Set ended, {}.", why(*reason)),
            Say::EndedBefore => "Ended before the set began.".to_owned(),
        }
    }
}

fn take_posture(
    movement: Movement,
    side: Option<Side>,
    posture: &Posture,
    load_kg: Option<f64>,
) -> String {
    let hand = side.map_or(String::new(), |side| format!(", {} hand", side.name()));
    let load = match load_kg {
        Some(kg) if kg > 0.0 => format!("{kg} kg in the hand, held as loosely as is safe"),
        Some(_) => "the hand empty".to_owned(),
        None => "the weight in the hand, held as loosely as is safe".to_owned(),
    };
    format!("{}{hand}: {}, {load}.", movement.title(), held(posture))
}

/// How the arm is held, in words.
fn held(posture: &Posture) -> String {
    let direction = match (posture.direction, posture.forearm) {
        (ForearmDirection::Level, ForearmSupport::Rested) => "forearm resting level",
        (ForearmDirection::Level, ForearmSupport::Free) => "forearm level in the air",
        (ForearmDirection::Hanging, _) => "arm hanging",
        (ForearmDirection::Upright, _) => "forearm upright",
    };
    let rotation = match posture.rotation {
        ForearmRotation::PalmDown => "palm down",
        ForearmRotation::ThumbUp => "thumb up",
        ForearmRotation::PalmUp => "palm up",
        ForearmRotation::LittleFingerUp => "little finger up",
    };
    // An arm that hangs has no up.
    if posture.direction == ForearmDirection::Hanging {
        match posture.rotation {
            ForearmRotation::ThumbUp => format!("{direction}, thumb forward"),
            _ => direction.to_owned(),
        }
    } else {
        format!("{direction}, {rotation}")
    }
}

/// The way out of a movement, as an instruction.
fn out(movement: Movement) -> &'static str {
    match movement {
        Movement::WristExtension => "bend the wrist back",
        Movement::WristFlexion => "bend the wrist towards the palm",
        Movement::RadialDeviation => "move the hand towards the thumb side",
        Movement::UlnarDeviation => "move the hand towards the little-finger side",
        Movement::Supination => "turn the palm up",
        Movement::Pronation => "turn the palm down",
        Movement::ArmCircles => "one circle",
    }
}

fn counted(number: usize, repetition: &Repetition) -> String {
    let verdict = repetition
        .verdict
        .map_or(String::new(), |verdict: Verdict| {
            format!(", {}", verdict.name())
        });
    let names: Vec<&str> = repetition.doubts.iter().map(|doubt| doubt.name()).collect();
    let doubts = if names.is_empty() {
        String::new()
    } else {
        format!(" (doubtful: {})", names.join(", "))
    };
    format!(
        "{number:3}  range {:.0} deg, lift {:.2} s, hold {:.2} s, lower {:.2} s{verdict}{doubts}",
        repetition.range_deg,
        repetition.lift_s(),
        repetition.hold_s(),
        repetition.lower_s()
    )
}

fn why(reason: Option<SetEndReason>) -> &'static str {
    match reason {
        Some(SetEndReason::Reached) => "the repetitions asked for are done",
        Some(SetEndReason::Tired) => "tired",
        Some(SetEndReason::Idle) => "nothing moved",
        Some(SetEndReason::Stop) => "stopped",
        Some(SetEndReason::Skip) => "skipped",
        Some(SetEndReason::Lost) => "the sensor is gone",
        None => "time is up",
    }
}

//! The English words of the drawings, in one place.

use super::care::Care;
use super::glide::Glide;
use super::sensor::HandView;
use crate::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, LoadShape, Movement, Posture, Side, Stretch,
};

/// Beside a thumb.
pub(super) const THUMB: &str = "thumb";

/// Where to rub.
pub(super) const FOREARM: &str = "forearm";
/// Where to rub.
pub(super) const NEAR_FINGERS: &str = "near the fingers";
/// Breath.
pub(super) const IN: &str = "in";
/// Breath.
pub(super) const OUT: &str = "out";
/// Beside the heavy end of a weight.
pub(super) const HEAVY_END: &str = "heavy end";
/// Beside the unit.
pub(super) const SECOND_SENSOR: &str = "second sensor";
/// How far above the wrist.
pub(super) const TWO_FINGERS: &str = "two fingers";
/// The sensor.
pub(super) const SENSOR: &str = "sensor";
/// Beside its strap.
pub(super) const STRAP: &str = "strap";
/// Beside the wrist.
pub(super) const WRIST: &str = "wrist";
/// Beside what is hatched.
pub(super) const NOT_HERE: &str = "not here";
/// Beside the finger under the strap.
pub(super) const ONE_FINGER: &str = "one finger";

/// The title of a hand that a page turns.
pub(super) const TURNING_TITLE: &str = "A hand that moves as the recorded one did";

/// What is seen of a hand that a page turns.
pub(super) fn turning_description(rotates: bool) -> &'static str {
    if rotates {
        "A hand seen from the front, along the forearm, which turns; thumb up is the middle."
    } else {
        "Forearm and hand seen from the side; the hand bends at the wrist, and the lift goes up."
    }
}

/// The side's word at the start of a title.
pub(super) fn side(side: Side) -> &'static str {
    match side {
        Side::Left => "Left",
        Side::Right => "Right",
    }
}

/// Which way to move, as the arrow and the voice say it.
pub(super) fn direction(movement: Movement, posture: &Posture) -> &'static str {
    match movement {
        Movement::ArmCircles => "small circles",
        // Beside an arrow there is room for so much.
        _ => match movement.said(posture) {
            "bend towards the palm" => "towards the palm",
            said => said,
        },
    }
}

/// The movement as a request.
fn request(movement: Movement, posture: &Posture) -> &'static str {
    match movement {
        Movement::WristExtension => "bend the hand back",
        Movement::WristFlexion => match movement.said(posture) {
            "bend down" => "bend the hand down",
            _ => "bend the hand towards the palm",
        },
        Movement::RadialDeviation => "move the hand to the thumb side",
        Movement::UlnarDeviation => "move the hand to the little-finger side",
        Movement::Supination => "turn the forearm palm up",
        Movement::Pronation => "turn the forearm palm down",
        Movement::ArmCircles => "draw small circles with the straight arm",
    }
}

/// The title of a movement's drawing.
pub(super) fn movement_title(movement: Movement, own: Side, posture: &Posture) -> String {
    format!("{} hand: {}", side(own), request(movement, posture))
}

/// The longer description for those who do not see the drawing.
pub(super) fn movement_description(
    movement: Movement,
    own: Side,
    posture: &Posture,
    load: Option<LoadShape>,
) -> String {
    let rotation = match posture.rotation {
        ForearmRotation::PalmDown => "palm down",
        ForearmRotation::ThumbUp => "thumb up",
        ForearmRotation::PalmUp => "palm up",
        ForearmRotation::LittleFingerUp => "little finger up",
    };
    let place = match (posture.direction, posture.forearm) {
        (ForearmDirection::Level, ForearmSupport::Rested) => {
            "the forearm lies on a folded towel on the table, the hand free beyond it, over the table"
        }
        (ForearmDirection::Level, ForearmSupport::Free) => "the forearm is held level in the air",
        (ForearmDirection::Hanging, _) => "the arm hangs at the side",
        (ForearmDirection::Upright, ForearmSupport::Rested) => {
            "the elbow rests on the table, the forearm points up"
        }
        (ForearmDirection::Upright, ForearmSupport::Free) => "the forearm points up",
    };
    let elbow = match posture.elbow_deg.filter(|own| own.is_finite()) {
        Some(angle_deg) if angle_deg < 15.0 => " The elbow is straight.".to_owned(),
        Some(angle_deg) if (80.0..=100.0).contains(&angle_deg) => {
            " The elbow is bent to a right angle.".to_owned()
        }
        Some(angle_deg) if angle_deg > 145.0 => " The elbow is bent as far as it goes.".to_owned(),
        Some(angle_deg) => format!(" The elbow is bent by {angle_deg:.0} degrees."),
        None => String::new(),
    };
    let held = match load {
        None => "The hand is empty, in a loose fist.",
        Some(LoadShape::Centred) => "The hand holds a short dumbbell at its middle.",
        Some(LoadShape::OneSided) => {
            "The hand holds a weight that is heavy at one end, by its handle."
        }
    };
    format!(
        "{} arm, {rotation}; {place}.{elbow} {held} From the start, drawn solid, {} to where it is drawn dashed, as the thick arrow shows, and slowly back along the thin one.",
        side(own),
        request(movement, posture)
    )
}

/// The description of the arm circles.
pub(super) fn circles_description(own: Side, load: Option<LoadShape>) -> String {
    let held = match load {
        None => "the hand is empty and open",
        Some(_) => "the hand holds the weight",
    };
    format!(
        "Seen from behind: the {} arm is stretched out to the side at the height of the shoulder, palm down, {held}, the wrist held back. The whole arm draws small circles, as the arrow shows.",
        side(own).to_lowercase()
    )
}

/// The view in a word.
pub(super) fn view(view: HandView) -> &'static str {
    match view {
        HandView::Back => "back of the hand",
        HandView::Palm => "palm side",
        HandView::Forearm => "back of hand and forearm",
    }
}

/// The title of the sensor's drawing.
pub(super) fn sensor_title(own: Side, view: HandView) -> String {
    match view {
        HandView::Back => format!("{} hand: where the sensor goes", side(own)),
        HandView::Palm => format!("{} hand: how the strap runs through the palm", side(own)),
        HandView::Forearm => format!("{} arm: where the two sensors go", side(own)),
    }
}

/// The description of the sensor's drawing.
pub(super) fn sensor_description(view: HandView) -> &'static str {
    match view {
        HandView::Back => {
            "The back of the open hand, fingers up. The sensor sits in the middle of the back of the hand, about 7 centimetres beyond the wrist and short of the knuckles. Its strap goes round the hand between the thumb and the knuckles."
        }
        HandView::Forearm => {
            "The back of the open hand and of the forearm, fingers up. One sensor sits in the middle of the back of the hand. The second sits on the back of the forearm, two fingers' breadth above the wrist, clear of its crease; its strap goes round the forearm there."
        }
        HandView::Palm => {
            "The palm of the open hand, fingers up. The strap crosses the middle of the palm between the thumb and the fingers. One finger of the other hand slides under it. The heel of the palm and the crease of the wrist are hatched: not here."
        }
    }
}

/// A stretch in a few words.
pub(super) fn stretch(stretch: Stretch) -> &'static str {
    match stretch {
        Stretch::BendBack => "bend back",
        Stretch::BendDown => "bend down",
        Stretch::PalmsTogether => "palms together",
        Stretch::BacksTogether => "backs together",
        Stretch::ForearmTurnedUp => "palm up",
        Stretch::ForearmTurnedDown => "palm down",
        Stretch::FingersSpread => "spread the fingers",
        Stretch::ThumbOut => "thumb out",
    }
}

/// The title of a stretch's drawing.
pub(super) fn stretch_title(own: Stretch, hand: Side) -> String {
    match own {
        Stretch::PalmsTogether | Stretch::BacksTogether => {
            format!("Stretch with both hands: {}", stretch(own))
        }
        _ => format!("{} hand, stretch: {}", side(hand), stretch(own)),
    }
}

/// The description of a stretch's drawing.
pub(super) fn stretch_description(stretch: Stretch) -> &'static str {
    match stretch {
        Stretch::BendBack => {
            "The arm is stretched forward, palm down. The other hand, drawn grey, lies against the palm side of the fingers and draws them gently back, so that the wrist bends back."
        }
        Stretch::BendDown => {
            "The arm is stretched forward, palm down. The other hand, drawn grey, lies on the back of the hand and presses it gently down, so that the fingers point to the floor."
        }
        Stretch::PalmsTogether => {
            "Both palms lie together before the chest, fingers up, elbows out. The hands sink slowly, the palms stay together."
        }
        Stretch::BacksTogether => {
            "The backs of both hands lie together before the chest, fingers down, elbows out. The hands rise slowly, the backs stay together."
        }
        Stretch::ForearmTurnedUp => {
            "The elbow is bent at the side, the forearm level. The other hand, drawn grey, holds the forearm behind the wrist and turns it gently palm up."
        }
        Stretch::ForearmTurnedDown => {
            "The elbow is bent at the side, the forearm level. The other hand, drawn grey, holds the forearm behind the wrist and turns it gently palm down."
        }
        Stretch::FingersSpread => {
            "The back of the open hand, fingers up. All fingers and the thumb spread wide apart."
        }
        Stretch::ThumbOut => {
            "The back of the open hand, fingers up and still. The thumb moves out to the side, to where it is drawn dashed."
        }
    }
}

/// A position of the fingers in a word.
pub(super) fn glide(glide: Glide) -> &'static str {
    match glide {
        Glide::Straight => "straight",
        Glide::Hook => "hook",
        Glide::FullFist => "loose fist",
        Glide::Tabletop => "tabletop",
        Glide::StraightFist => "straight fist",
        Glide::WideOpen => "wide open",
    }
}

/// The title of the glides' drawing.
pub(super) fn glide_title(own: Side) -> String {
    format!("{} hand: finger positions in order", side(own))
}

/// The description of the glides' drawing.
pub(super) fn glide_description(glides: &[Glide]) -> String {
    let told = |own: &Glide| match own {
        Glide::Straight => "straight: all fingers straight up",
        Glide::Hook => "hook: knuckles straight, the other finger joints bent",
        Glide::FullFist => "loose fist: all finger joints bent, the thumb across, no squeezing",
        Glide::Tabletop => "tabletop: knuckles bent, the fingers straight forward",
        Glide::StraightFist => {
            "straight fist: knuckles and middle joints bent, fingertips flat on the palm"
        }
        Glide::WideOpen => "wide open: fingers and thumb spread",
    };
    let list: Vec<String> = glides
        .iter()
        .enumerate()
        .map(|(place, own)| format!("{}, {}", place + 1, told(own)))
        .collect();
    format!(
        "The wrist stays straight, the fingers point up. {}.",
        list.join("; ")
    )
}

/// What is done, in a few words.
pub(super) fn care(care: Care) -> &'static str {
    match care {
        Care::ShakeOut => "hang loose, shake out",
        Care::SelfMassage => "stroke and rub gently",
        Care::Breathing => "breathe slowly",
    }
}

/// The title of that drawing.
pub(super) fn care_title(own: Care, hand: Side) -> String {
    match own {
        Care::Breathing => "Sit upright and breathe slowly".to_owned(),
        _ => format!("{} hand: {}", side(hand), care(own)),
    }
}

/// The description of that drawing.
pub(super) fn care_description(care: Care) -> &'static str {
    match care {
        Care::ShakeOut => {
            "Nothing in the hand. The forearm is held forward, the hand hangs loose from the wrist and swings lightly up and down."
        }
        Care::SelfMassage => {
            "The palm side of hand and forearm. Stroke the forearm from above the wrist towards the elbow, and rub the palm near the fingers in small circles. The crease of the wrist and the heel of the palm are hatched and crossed out: not here."
        }
        Care::Breathing => {
            "A person sits upright on a chair, the back long, the hands resting on the thighs. The breath goes in, and slowly out."
        }
    }
}

//! A set as observations: what was done (activity), and the range seen in it (exam).

use jiff::Timestamp;
use serde_json::{Value, json};

use super::codes::{self, Code};
use super::value::{
    DEG, KG, Known, PLAIN, SECONDS, Unit, component, moment, put, quantity, reference,
};
use crate::export::rows::SetRow;
use crate::export::sets::SetFigures;
use crate::export::words;
use crate::movement::{JointAxis, Movement, Side};
use crate::pipeline::{ONE_SENSOR_NOTE, TWO_SENSORS_NOTE};
use crate::review::{posture_words, quantile};
use crate::routine::Verdict;

/// The entries that an observation refers to.
pub(super) struct Of<'a> {
    pub(super) patient: &'a str,
    pub(super) device: &'a str,
}

/// Status, category, subject and tag of every observation.
pub(super) fn observation(category: &str, code: Value, of: &Of, simulated: bool) -> Value {
    let mut observation = json!({
        "resourceType": "Observation",
        "status": "final",
        "category": [{"coding": [{
            "system": "http://terminology.hl7.org/CodeSystem/observation-category",
            "code": category,
            "display": match category {
                "exam" => "Exam",
                "survey" => "Survey",
                _ => "Activity",
            },
        }]}],
        "code": code,
        "subject": reference(of.patient),
    });
    if simulated {
        add(
            &mut observation,
            "meta",
            json!({"tag": [codes::SIMULATED.coding()]}),
        );
    }
    observation
}

/// Adds a part.
pub(super) fn add(observation: &mut Value, key: &str, part: Value) {
    if let Value::Object(parts) = observation {
        parts.insert(key.to_owned(), part);
    }
}

/// The part of the body; `None` where the hand is not known.
pub(super) fn body_site(side: Option<Side>, movement: Option<Movement>) -> Option<Value> {
    let side = side?;
    let axis = movement.map(Movement::joint_axis);
    let wrist = |code, display| {
        json!({"coding": [{
            "system": "http://snomed.info/sct",
            "code": code,
            "display": display,
        }]})
    };
    Some(match (axis, side) {
        // Turning is of the forearm, circles of the arm: no code for these is known here.
        (Some(Some(JointAxis::Rotation)), side) => {
            json!({"text": format!("{} forearm", side.name())})
        }
        (Some(None), side) => json!({"text": format!("{} arm", side.name())}),
        (_, Side::Right) => wrist("9736006", "Structure of right wrist region"),
        (_, Side::Left) => wrist("5951000", "Structure of left wrist region"),
    })
}

fn movement_code(movement: Movement) -> Code {
    match movement {
        Movement::WristExtension => codes::WRIST_EXTENSION,
        Movement::WristFlexion => codes::WRIST_FLEXION,
        Movement::RadialDeviation => codes::RADIAL_DEVIATION,
        Movement::UlnarDeviation => codes::ULNAR_DEVIATION,
        Movement::Supination => codes::SUPINATION,
        Movement::Pronation => codes::PRONATION,
        Movement::ArmCircles => codes::ARM_CIRCLES,
    }
}

/// "wrist flexion, right".
fn what(row: &SetRow) -> String {
    let movement = row
        .set
        .movement
        .map_or("movement not named".to_owned(), |movement| {
            movement.title().to_lowercase()
        });
    let side = row.set.side.map_or("side not known", Side::name);
    format!("{movement}, {side}")
}

fn period(row: &SetRow) -> Value {
    let start = &row.session.summary.started_at;
    let at = |t_s: f64| {
        let unix_us = start.timestamp().as_microsecond() + (t_s * 1e6).round() as i64;
        let at = Timestamp::from_microsecond(unix_us).unwrap_or(start.timestamp());
        moment(at, start.offset())
    };
    json!({"start": at(row.set.start_s), "end": at(row.set.end_s)})
}

fn of_set(category: &str, code: Value, figures: &SetFigures, of: &Of) -> Value {
    let row = &figures.row;
    let mut observation = observation(category, code, of, row.session.summary.simulated);
    add(&mut observation, "effectivePeriod", period(row));
    add(&mut observation, "device", reference(of.device));
    if let Some(site) = body_site(row.set.side, row.set.movement) {
        add(&mut observation, "bodySite", site);
    }
    let note = match &row.set.forearm {
        Some(part) if part.two_sensors() => TWO_SENSORS_NOTE,
        _ => ONE_SENSOR_NOTE,
    };
    add(&mut observation, "method", json!({"text": note}));
    let doubts = figures.doubt_words();
    let doubts = doubts.map(|doubts| format!("Repetitions in doubt: {doubts}."));
    let worn = row.set.wear.iter();
    let worn = worn.map(|finding| format!("Worn strangely: {}.", finding.words()));
    let share = row.set.elbow.as_ref();
    let share = share.map(|elbow| format!("Forearm's share of the movement: {}.", elbow.words()));
    let notes: Vec<Value> = doubts
        .into_iter()
        .chain(worn)
        .chain(share)
        .map(|text| json!({"text": text}))
        .collect();
    if !notes.is_empty() {
        add(&mut observation, "note", Value::Array(notes));
    }
    observation
}

fn median(values: &[f64], unit: Unit) -> Option<Known> {
    Known::measured(quantile(values, 0.5), unit)
}

/// What was done in a set.
pub(super) fn activity(figures: &SetFigures, of: &Of) -> Value {
    let set = figures.row.set;
    let own = if set.range_test {
        codes::RANGE_TEST
    } else {
        codes::EXERCISE_SET
    };
    let mut code = own.concept();
    add(
        &mut code,
        "text",
        json!(format!("{}: {}", own.display, what(&figures.row))),
    );
    let mut observation = of_set("activity", code, figures, of);
    let posture = set.posture.as_ref().map(|own| posture_words(Some(own)));
    let tempo = set.tempo.map(|tempo| tempo.code());
    let eccentric = set.eccentric.map(|phase| words::phase(phase).to_owned());
    let ended = set.end_reason.map(|why| words::end_reason(why).to_owned());
    let prescribed_s = set.tempo_band.map(|band| band.prescribed_s);
    let whole = |count: Option<usize>| count.map(Known::Whole);
    let movement = set
        .movement
        .map(|own| Known::Concept(movement_code(own).concept()));
    let components = vec![
        component(&codes::MOVEMENT, movement),
        component(&codes::POSTURE, posture.map(Known::Text)),
        component(&codes::LOAD, Known::measured(set.load_kg, KG)),
        component(&codes::REPS_COUNTED, whole(Some(set.reps.len()))),
        component(
            &codes::REPS_PRESCRIBED,
            whole(set.target_reps.map(|reps| reps as usize)),
        ),
        component(&codes::REPS_INCOMPLETE, whole(Some(set.incomplete_count))),
        component(&codes::REPS_DOUBTFUL, whole(Some(figures.doubtful()))),
        component(&codes::TEMPO, tempo.map(Known::Text)),
        component(&codes::ECCENTRIC_PHASE, eccentric.map(Known::Text)),
        timed(figures),
        component(
            &codes::TIMED_PRESCRIBED,
            Known::measured(prescribed_s, SECONDS),
        ),
        component(&codes::REPS_JUDGED, whole(Some(figures.judged()))),
        component(
            &codes::REPS_HURRIED,
            whole(figures.verdicts(Verdict::Hurried)),
        ),
        component(
            &codes::REPS_SLOWER,
            whole(figures.verdicts(Verdict::Slower)),
        ),
        component(&codes::LIFT_MEDIAN, median(&figures.lifts_s, SECONDS)),
        component(&codes::LOWER_MEDIAN, median(&figures.lowers_s, SECONDS)),
        component(
            &codes::TIME_UNDER_TENSION,
            Known::measured(set.time_under_tension_s, SECONDS),
        ),
        component(
            &codes::SPARC_MEDIAN,
            median(&figures.lower_sparc_ratios, PLAIN),
        ),
        component(&codes::END_REASON, ended.map(Known::Text)),
    ];
    add(&mut observation, "component", Value::Array(components));
    observation
}

/// The time that the tempo asks for, with the routine's band beside it.
fn timed(figures: &SetFigures) -> Value {
    let mut timed = component(&codes::TIMED_MEDIAN, median(&figures.timed_s, SECONDS));
    if let Some(band) = figures.row.set.tempo_band
        && let Some((low, high)) = quantity(band.low_s, SECONDS).zip(quantity(band.high_s, SECONDS))
    {
        let text = "the routine's tempo band: shorter is hurried, longer is slower";
        let range = json!([{"low": low, "high": high, "text": text}]);
        add(&mut timed, "referenceRange", range);
    }
    timed
}

/// The range seen in a set; `None` of one without repetitions, and of circles, which have none.
pub(super) fn exam(figures: &SetFigures, of: &Of, set_address: &str) -> Option<Value> {
    let set = figures.row.set;
    if set.reps.is_empty() || set.movement == Some(Movement::ArmCircles) {
        return None;
    }
    let held = match set.load_kg {
        Some(kg) if kg > 0.0 => "with a weight",
        Some(_) => "empty hand",
        None => "load not known",
    };
    let mut coding = vec![json!({
        "system": "http://snomed.info/sct",
        "code": "364564000",
        "display": "Range of joint movement",
    })];
    let seen = if set.range_test {
        coding.push(codes::RANGE_TEST.coding());
        "Range test"
    } else {
        "Range of the repetitions of a set"
    };
    let code = json!({
        "coding": coding,
        "text": format!("{seen}: {}, {held}", what(&figures.row)),
    });
    let mut observation = of_set("exam", code, figures, of);
    add(
        &mut observation,
        "derivedFrom",
        json!([reference(set_address)]),
    );
    let share = |share_ratio| Known::measured(quantile(&figures.ranges_deg, share_ratio), DEG);
    let peak_deg = quantile(&figures.peaks_deg, 0.5).and_then(|deg| figures.row.isb(deg));
    let components = vec![
        component(&codes::RANGE_MEDIAN, share(0.5)),
        component(&codes::RANGE_LOWER_QUARTILE, share(0.25)),
        component(&codes::RANGE_UPPER_QUARTILE, share(0.75)),
        component(&codes::RANGE_GREATEST, share(1.0)),
        component(&codes::ISB_PEAK_MEDIAN, Known::measured(peak_deg, DEG)),
    ];
    add(&mut observation, "component", Value::Array(components));
    Some(observation)
}

/// Puts the value of an observation as a whole.
pub(super) fn put_value(observation: &mut Value, value: Option<Known>) {
    if let Value::Object(parts) = observation {
        put(parts, value);
    }
}

//! The way that a live invented person goes: worn, still, one movement, still, the exercise.

use super::body::Body;
use super::circles::CircleManner;
use super::live::LivePlan;
use super::patient::SetManner;
use super::random::Random;
use super::session::strapped;
use super::stage::{Stage, stand};
use super::timeline::Timeline;
use super::way::Way;
use crate::movement::{Movement, Side};
use crate::routine::Pace;

/// The person goes on for about this long, seconds.
pub(super) const GOES_ON_S: f64 = 1800.0;

/// The way of the whole sitting, the exercise in it, and when that begins, seconds.
pub(super) fn acted(plan: &LivePlan, random: &mut Random) -> (Way, (Timeline, f64)) {
    let movement = plan.set.movement.unwrap_or(Movement::WristExtension);
    let side = plan.set.side.unwrap_or(Side::Right);
    let body = Body {
        movement,
        side,
        posture: plan.set.posture.unwrap_or_else(|| movement.usual_posture()),
        forearm_m: random.between(0.23, 0.29),
        lever_m: random.between(0.06, 0.08),
        height_m: 0.02,
        hand_from_sensor: strapped(random),
    };
    let place = stand(random);
    let mut stage = Stage::new(random);
    stage.wear(body.worn(), random);
    let calibrates = plan.calibrates && movement.joint_axis().is_some();
    if calibrates {
        let manner = SetManner {
            lift_s: 1.5,
            hold_s: 0.3,
            lower_s: 1.5,
            still_start_s: 3.5,
            ..SetManner::ordinary(1, random.between(32.0, 42.0))
        };
        let timeline = manner.timeline(random);
        stage.exercise(body.clone(), timeline, place, random);
    }
    let timeline = exercised(plan, movement, random);
    let start_s = stage.exercise(body, timeline.clone(), place, random);
    (stage.finish(), (timeline, start_s))
}

fn exercised(plan: &LivePlan, movement: Movement, random: &mut Random) -> Timeline {
    let enough = |each_s: f64| {
        plan.repetitions
            .unwrap_or((GOES_ON_S / each_s).ceil() as usize)
    };
    if movement == Movement::ArmCircles {
        let manner = CircleManner {
            turns: enough(3.0),
            turn_s: 3.0,
            half_angle_deg: 25.0,
            still_s: 2.5,
        };
        return manner.timeline();
    }
    let seconds = |pace: Option<Pace>, usual_s: f64| match pace {
        Some(Pace::Seconds(time_s)) => time_s,
        Some(Pace::Fast) => 0.7,
        None => usual_s,
    };
    let tempo = plan.set.tempo;
    let mut manner = SetManner {
        lift_s: seconds(tempo.map(|tempo| tempo.lift_s), 2.0),
        lower_s: seconds(tempo.map(|tempo| tempo.lower_s), 3.0),
        hold_s: tempo.map_or(0.5, |tempo| tempo.hold_s),
        rest_s: tempo.map_or(0.0, |tempo| tempo.rest_s) + 0.6,
        still_start_s: 2.5,
        spread_ratio: 0.1,
        ..SetManner::ordinary(0, random.between(42.0, 58.0))
    };
    let each_s = manner.lift_s + manner.lower_s + manner.hold_s + manner.rest_s;
    manner.repetitions = enough(each_s);
    manner.timeline(random)
}

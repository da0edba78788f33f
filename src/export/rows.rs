//! Rows of the tables, and the columns that sets and repetitions share.

use super::table::{Cell, Column, Kind};
use super::words;
use crate::movement::{MovingPhase, Posture};
use crate::pipeline::SetResult;
use crate::pipeline::motion::Zero;
use crate::pipeline::summary::{SessionSummary, Summarised};
use crate::reps::{Doubt, Repetition};

/// A set of a session.
#[derive(Debug, Clone, Copy)]
pub struct SetRow<'a> {
    /// The session.
    pub session: &'a Summarised,
    /// Which set of it, from 0.
    pub index: usize,
    /// The set.
    pub set: &'a SetResult,
}

/// A repetition of a set.
#[derive(Debug, Clone, Copy)]
pub struct RepRow<'a> {
    /// The set.
    pub of: SetRow<'a>,
    /// Which repetition of it, from 0.
    pub index: usize,
    /// The repetition.
    pub rep: &'a Repetition,
    /// When the next one of the set starts, seconds; `None` for the last.
    pub next_start_s: Option<f64>,
}

/// The sets of a session.
pub fn sets(session: &Summarised) -> impl Iterator<Item = SetRow<'_>> {
    let sets = session.summary.analysis.sets.iter().enumerate();
    sets.map(move |(index, set)| SetRow {
        session,
        index,
        set,
    })
}

/// The repetitions of a set.
pub fn repetitions(of: SetRow<'_>) -> impl Iterator<Item = RepRow<'_>> {
    let reps = &of.set.reps;
    let next = reps.iter().skip(1).map(|next| Some(next.lift_start_s));
    let each = reps.iter().zip(next.chain([None])).enumerate();
    each.map(move |(index, (rep, next_start_s))| RepRow {
        of,
        index,
        rep,
        next_start_s,
    })
}

impl<'a> SetRow<'a> {
    /// The moment of a time of the recording.
    pub(super) fn moment(&self, t_s: f64) -> Cell<'a> {
        moment(&self.session.summary, t_s)
    }

    /// An angle in the direction of the movement as the signed ISB angle; unknown without a
    /// calibration, whose neutral pose that angle counts from, or without a joint axis.
    pub(super) fn isb(&self, angle_deg: f64) -> Option<f64> {
        let movement = self.set.movement?;
        movement.joint_axis()?;
        // The sum turns a negative zero into zero.
        (self.set.zero == Some(Zero::Calibration)).then(|| movement.isb_sign() * angle_deg + 0.0)
    }

    /// The time that a review holds against the tempo, seconds: of the eccentric phase, else of the
    /// lowering; unknown where the record cuts that phase, and of a range test, which has no tempo.
    pub(super) fn timed_s(&self, rep: &Repetition) -> Option<f64> {
        if self.set.range_test {
            return None;
        }
        let (cut, time_s) = match self.set.eccentric {
            Some(MovingPhase::Lift) => (Doubt::StartCut, rep.lift_s()),
            _ => (Doubt::EndCut, rep.lower_s()),
        };
        (!rep.doubts.contains(&cut)).then_some(time_s)
    }
}

/// The moment of a time of a session.
pub(super) fn moment<'a>(summary: &SessionSummary, t_s: f64) -> Cell<'a> {
    let start = &summary.started_at;
    Cell::Moment {
        unix_us: start
            .timestamp()
            .as_microsecond()
            .saturating_add((t_s * 1e6).round() as i64),
        offset: start.offset(),
    }
}

/// A number that counts from 1.
pub(super) fn nth<'a>(index: usize) -> Cell<'a> {
    Cell::whole(index + 1)
}

fn posture(row: &SetRow) -> Option<Posture> {
    row.set.posture
}

/// The columns that say which set it is and what was asked for in it; `of` finds the set of a row.
pub(super) fn set_columns<'a, R: 'a>(of: fn(&R) -> SetRow<'a>) -> Vec<Column<'a, R>> {
    use Kind::{Day, Moment, Number, Text, Whole};
    let column = |name, kind, about, cell: fn(SetRow<'a>) -> Cell<'a>| {
        Column::new(name, kind, about, move |row: &R| cell(of(row)))
    };
    vec![
        column("session", Text, "The session's folder.", |row| {
            Cell::word(row.session.name.as_str())
        }),
        column(
            "session_started_at",
            Moment,
            "When the session started.",
            |row| row.moment(0.0),
        ),
        column(
            "day",
            Day,
            "The session's day on the person's calendar.",
            |row| Cell::Day(row.session.summary.day()),
        ),
        column(
            "utc_offset_s",
            Whole,
            "How far the person's clock is ahead of universal time.",
            |row| Cell::whole(row.session.summary.started_at.offset().seconds()),
        ),
        column(
            "simulated",
            Kind::Flag,
            "Whether a simulator played the session: invented data.",
            |row| Cell::Flag(row.session.summary.simulated),
        ),
        column("set", Whole, "Which set of the session, from 1.", |row| {
            nth(row.index)
        }),
        column(
            "item",
            Text,
            "The routine's item, by number or name.",
            |row| Cell::made(row.set.item.as_ref().map(words::item)),
        ),
        column("movement", Text, "The movement.", |row| {
            Cell::word(row.set.movement.map(|movement| movement.name()))
        }),
        column("side", Text, "The hand.", |row| {
            Cell::word(row.set.side.map(|side| side.name()))
        }),
        column("load_kg", Number, "Load; 0 is the empty hand.", |row| {
            Cell::number(row.set.load_kg)
        }),
        column(
            "range_test",
            Kind::Flag,
            "Whether the set is a direction of a range test: empty hand, out as far as is comfortable, no tempo.",
            |row| Cell::Flag(row.set.range_test),
        ),
        column(
            "elbow_deg",
            Number,
            "Angle of the elbow; 0 is straight.",
            |row| Cell::number(posture(&row).and_then(|posture| posture.elbow_deg)),
        ),
        column("forearm", Text, "The forearm is rested or free.", |row| {
            Cell::word(posture(&row).map(|posture| words::forearm(posture.forearm)))
        }),
        column("direction", Text, "How the forearm points.", |row| {
            Cell::word(posture(&row).map(|posture| words::direction(posture.direction)))
        }),
        column("rotation", Text, "How the forearm is turned.", |row| {
            Cell::word(posture(&row).map(|posture| words::rotation(posture.rotation)))
        }),
        column(
            "target_reps_count",
            Whole,
            "Repetitions asked for.",
            |row| Cell::maybe(row.set.target_reps),
        ),
        column(
            "tempo",
            Text,
            "Tempo asked for: lower, pause at the bottom, lift, pause at the top, in seconds.",
            |row| Cell::made(row.set.tempo.map(|tempo| tempo.code())),
        ),
        column(
            "eccentric",
            Text,
            "The phase in which the loaded muscle lengthens: lift or lower; the tempo's first number is held against it.",
            |row| Cell::word(row.set.eccentric.map(words::phase)),
        ),
        column(
            "prescribed_s",
            Number,
            "Time asked for that phase.",
            |row| Cell::number(row.set.tempo_band.map(|band| band.prescribed_s)),
        ),
        column("band_low_s", Number, "Shorter is hurried.", |row| {
            Cell::number(row.set.tempo_band.map(|band| band.low_s))
        }),
        column("band_high_s", Number, "Longer is slower.", |row| {
            Cell::number(row.set.tempo_band.map(|band| band.high_s))
        }),
        column(
            "zero",
            Text,
            "What angle zero is: calibration, still-start or usual-start.",
            |row| Cell::word(row.set.zero.map(words::zero)),
        ),
        column(
            "axis_from",
            Text,
            "Where the measured axis comes from: calibration or movement.",
            |row| Cell::word(row.set.axis_from.map(words::axis_from)),
        ),
        column(
            "angle_by",
            Text,
            "By what the angles are: two-sensors is the hand against the forearm; empty is one sensor.",
            |row| Cell::word(row.set.forearm.as_ref().map(|part| part.angle_by.name())),
        ),
        column(
            "forearm_travel_deg",
            Number,
            "How far the forearm itself moved within the set; empty without a sensor on it.",
            |row| Cell::number(row.set.forearm.as_ref().and_then(|part| part.travel_deg)),
        ),
        column(
            "isb_axis",
            Text,
            "The wrist angle measured, by the ISB definition.",
            |row| {
                let movement = row.set.movement;
                Cell::word(movement.and_then(|one| one.joint_axis()).map(words::axis))
            },
        ),
    ]
}

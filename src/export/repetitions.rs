//! The table of repetitions.

use std::borrow::Cow;

use super::rows::{RepRow, nth, set_columns};
use super::table::{Cell, Column, Kind};
use crate::reps::Doubt;

/// The columns of the repetitions.
pub fn repetition_columns<'a>() -> Vec<Column<'a, RepRow<'a>>> {
    use Kind::{Moment, Text, Whole};
    let mut columns = set_columns(|row: &RepRow<'a>| row.of);
    columns.extend([
        Column::new(
            "repetition",
            Whole,
            "Which repetition of the set, from 1.",
            |row: &RepRow<'a>| nth(row.index),
        ),
        Column::new(
            "started_at",
            Moment,
            "When its lift started.",
            |row: &RepRow<'a>| row.of.moment(row.rep.lift_start_s),
        ),
    ]);
    columns.extend(times());
    columns.extend(angles());
    columns.extend(smoothness());
    columns.extend([
        Column::new(
            "verdict",
            Text,
            "The timed phase against the band: in-band, hurried or slower.",
            |row: &RepRow<'a>| Cell::word(row.rep.verdict.map(|verdict| verdict.name())),
        ),
        Column::new(
            "doubts",
            Text,
            "Why its numbers deserve less trust, parted by spaces; empty is no doubt.",
            |row: &RepRow<'a>| Cell::Word(doubts(&row.rep.doubts)),
        ),
        Column::new(
            "doubts_count",
            Whole,
            "How many doubts.",
            |row: &RepRow<'a>| Cell::whole(row.rep.doubts.len()),
        ),
    ]);
    columns
}

fn doubts<'a>(doubts: &[Doubt]) -> Cow<'a, str> {
    match doubts {
        [] => Cow::Borrowed(""),
        [one] => Cow::Borrowed(one.name()),
        all => {
            let names: Vec<&str> = all.iter().map(|doubt| doubt.name()).collect();
            Cow::Owned(names.join(" "))
        }
    }
}

/// A column of numbers.
fn number<'a>(
    name: &'static str,
    about: &'static str,
    value: fn(&RepRow<'a>) -> Option<f64>,
) -> Column<'a, RepRow<'a>> {
    Column::new(name, Kind::Number, about, move |row| {
        Cell::number(value(row))
    })
}

fn times<'a>() -> [Column<'a, RepRow<'a>>; 12] {
    [
        number(
            "lift_start_s",
            "Start of the travel away from the start level, since the session's start.",
            |row| Some(row.rep.lift_start_s),
        ),
        number("lift_end_s", "End of that travel.", |row| {
            Some(row.rep.lift_end_s)
        }),
        number("lower_start_s", "Start of the way back.", |row| {
            Some(row.rep.lower_start_s)
        }),
        number("lower_end_s", "End of the way back.", |row| {
            Some(row.rep.lower_end_s)
        }),
        number("lift_s", "Length of the lift.", |row| {
            Some(row.rep.lift_s())
        }),
        number(
            "lift_error_s",
            "Half-width of the 95 % interval of that length.",
            |row| row.rep.lift_error_s,
        ),
        number("hold_s", "Pause at the top.", |row| Some(row.rep.hold_s())),
        number(
            "hold_error_s",
            "Half-width of the 95 % interval of that pause.",
            |row| row.rep.hold_error_s,
        ),
        number("lower_s", "Length of the way back.", |row| {
            Some(row.rep.lower_s())
        }),
        number(
            "lower_error_s",
            "Half-width of the 95 % interval of that length.",
            |row| row.rep.lower_error_s,
        ),
        number(
            "rest_after_s",
            "Pause until the next repetition of the set.",
            |row| row.next_start_s.map(|next_s| next_s - row.rep.lower_end_s),
        ),
        number(
            "timed_s",
            "Length of the eccentric phase, else of the way back; unknown where the record cuts it.",
            |row| row.of.timed_s(row.rep),
        ),
    ]
}

fn angles<'a>() -> [Column<'a, RepRow<'a>>; 11] {
    [
        number(
            "range_deg",
            "Highest angle less the lower of the angles at its two ends.",
            |row| Some(row.rep.range_deg),
        ),
        number(
            "wrist_range_deg",
            "The same as a review takes it, for the wrist's: unknown where the forearm was seen to move or its unit not heard, or the set was worn strangely. Where it could not be told whether the forearm moved, it stands.",
            |row| {
                let is = row.of.set.ranges_count() && row.rep.is_of_the_wrist();
                is.then_some(row.rep.range_deg)
            },
        ),
        number(
            "range_error_deg",
            "Half-width of the range's 95 % interval; unknown where its ends are hidden.",
            |row| row.rep.range_error_deg,
        ),
        number(
            "peak_deg",
            "Highest angle in the movement's direction, from the zero of the set.",
            |row| Some(row.rep.peak_deg),
        ),
        number(
            "start_deg",
            "Angle at the start of the lift, from the zero of the set.",
            |row| Some(row.rep.start_deg),
        ),
        number(
            "isb_peak_deg",
            "The highest angle, signed as the ISB wrist angle: flexion, ulnar deviation and pronation are positive; unknown without a calibration.",
            |row| row.of.isb(row.rep.peak_deg),
        ),
        number(
            "isb_start_deg",
            "The angle at the start of the lift, signed so.",
            |row| row.of.isb(row.rep.start_deg),
        ),
        number(
            "peak_speed_deg_s",
            "Greatest speed of the way back.",
            |row| Some(row.rep.peak_speed_deg_s),
        ),
        number("mean_speed_deg_s", "Mean speed of the way back.", |row| {
            row.rep.mean_speed_deg_s
        }),
        number(
            "lift_peak_speed_deg_s",
            "Greatest speed of the lift.",
            |row| Some(row.rep.lift_peak_speed_deg_s),
        ),
        number(
            "off_axis_deg",
            "Greatest turn away from the measured axis.",
            |row| Some(row.rep.off_axis_deg),
        ),
    ]
}

fn smoothness<'a>() -> [Column<'a, RepRow<'a>>; 4] {
    [
        number(
            "lift_sparc_ratio",
            "Spectral arc length of the lift; nearer 0 is smoother.",
            |row| row.rep.lift_sparc_ratio,
        ),
        number(
            "lower_sparc_ratio",
            "Spectral arc length of the way back.",
            |row| row.rep.lower_sparc_ratio,
        ),
        number(
            "lift_ldlj_ratio",
            "Log dimensionless jerk of the lift.",
            |row| row.rep.lift_ldlj_ratio,
        ),
        number(
            "lower_ldlj_ratio",
            "Log dimensionless jerk of the way back.",
            |row| row.rep.lower_ldlj_ratio,
        ),
    ]
}

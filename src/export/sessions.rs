//! The table of sessions: rows of a review.

use super::table::{Cell, Column, Kind};
use crate::movement::Side;
use crate::pipeline::summary::SymptomKind;
use crate::recording::{Night, When};
use crate::review::{SessionRow, SymptomRow};

type SessionColumn<'a> = Column<'a, &'a SessionRow>;

fn column<'a>(
    name: &'static str,
    kind: Kind,
    about: &'static str,
    cell: fn(&'a SessionRow) -> Cell<'a>,
) -> SessionColumn<'a> {
    Column::new(name, kind, about, move |row: &&'a SessionRow| cell(row))
}

/// The columns of the sessions.
pub fn session_columns<'a>() -> Vec<SessionColumn<'a>> {
    let mut columns = head();
    columns.extend(symptoms());
    columns.extend(said());
    columns.extend(trouble());
    columns
}

fn head<'a>() -> Vec<SessionColumn<'a>> {
    use Kind::{Day, Flag, Moment, Number, Text, Whole};
    vec![
        column("session", Text, "The session's folder.", |row| {
            Cell::word(row.name.as_str())
        }),
        column("started_at", Moment, "When it started.", |row| {
            Cell::Moment {
                unix_us: row.started_at.timestamp().as_microsecond(),
                offset: row.started_at.offset(),
            }
        }),
        column("day", Day, "Its day on the person's calendar.", |row| {
            Cell::Day(row.date)
        }),
        column(
            "utc_offset_s",
            Whole,
            "How far the person's clock is ahead of universal time.",
            |row| Cell::whole(row.started_at.offset().seconds()),
        ),
        column(
            "simulated",
            Flag,
            "Whether a simulator played it: invented data.",
            |row| Cell::Flag(row.simulated),
        ),
        column("routine", Text, "The routine's title.", |row| {
            Cell::said(row.routine.as_deref().into_iter())
        }),
        column("duration_s", Number, "Its length.", |row| {
            Cell::number(row.duration_s)
        }),
        column("set_count", Whole, "Sets begun.", |row| {
            Cell::whole(row.set_count)
        }),
        column("done_count", Whole, "Repetitions done.", |row| {
            Cell::whole(row.done_count)
        }),
        column(
            "prescribed_count",
            Whole,
            "Repetitions asked for in the whole session; unknown where nothing was begun or nothing is known.",
            |row| Cell::maybe(row.prescribed_count),
        ),
        column(
            "not_begun",
            Text,
            "What the routine names and no set was begun of.",
            |row| Cell::said(row.not_begun.iter().map(String::as_str)),
        ),
        column(
            "doubtful_count",
            Whole,
            "Repetitions with a doubt.",
            |row| Cell::whole(row.doubtful_count),
        ),
    ]
}

/// Times that an answer can be about, as a part of a column's name.
const TIMES: [(When, &str); 4] = [
    (When::Before, "before"),
    (When::During, "during"),
    (When::After, "after"),
    (When::NextMorning, "next_morning"),
];

fn symptoms<'a>() -> Vec<SessionColumn<'a>> {
    let mut columns = Vec::new();
    for kind in SymptomKind::ALL {
        for side in [Side::Left, Side::Right] {
            for (when, time) in TIMES {
                columns.push(Column::new(
                    format!("{}_{}_{time}_0_to_10", kind.name(), side.name()),
                    Kind::Whole,
                    "The worst answer of that hand at that time.",
                    move |row: &&'a SessionRow| {
                        let of = |one: &&SymptomRow| one.kind == kind && one.side == Some(side);
                        let found = row.symptoms.iter().find(of);
                        Cell::maybe(found.and_then(|one| at(one, when)))
                    },
                ));
            }
        }
        columns.push(Column::new(
            format!("{}_side_or_time_unknown_0_to_10", kind.name()),
            Kind::Whole,
            "The worst answer whose hand or time was not told.",
            move |row: &&'a SessionRow| {
                let of = row.symptoms.iter().filter(|one| one.kind == kind);
                let worst = of.filter_map(|one| match one.side {
                    Some(_) => one.time_unknown,
                    None => one.worst(),
                });
                Cell::maybe(worst.max())
            },
        ));
    }
    columns
}

fn at(row: &SymptomRow, when: When) -> Option<u8> {
    match when {
        When::Before => row.before,
        When::During => row.during,
        When::After => row.after,
        When::NextMorning => row.next_morning,
    }
}

/// The answer about the nights: yes where one says so, else no where one does.
fn night<'a>(nights: &[Night], answer: fn(&Night) -> Option<bool>) -> Cell<'a> {
    let answers = nights.iter().filter_map(answer);
    answers
        .reduce(|one, other| one || other)
        .map_or(Cell::Unknown, Cell::Flag)
}

fn reasons<'a>(reasons: &'a [Option<String>]) -> Cell<'a> {
    Cell::said(reasons.iter().map(|reason| reason.as_deref().unwrap_or("")))
}

fn said<'a>() -> Vec<SessionColumn<'a>> {
    use Kind::{Flag, Text, Whole};
    vec![
        column(
            "stop_count",
            Whole,
            "How often the person stopped.",
            |row| Cell::whole(row.stops.len()),
        ),
        column("stop_reasons", Text, "Why, parted by bars.", |row| {
            reasons(&row.stops)
        }),
        column(
            "declined_count",
            Whole,
            "How often the person did not begin.",
            |row| Cell::whole(row.declined.len()),
        ),
        column("declined_reasons", Text, "Why.", |row| {
            reasons(&row.declined)
        }),
        column("skipped_count", Whole, "What was skipped.", |row| {
            Cell::whole(row.skipped.len())
        }),
        column("skipped_reasons", Text, "Why.", |row| reasons(&row.skipped)),
        column("night_woke", Flag, "Woken by the hand.", |row| {
            night(&row.nights, |night| night.woke)
        }),
        column("night_splint", Flag, "Splint worn at night.", |row| {
            night(&row.nights, |night| night.splint)
        }),
        column(
            "dropped_things",
            Flag,
            "Dropped things the day before.",
            |row| night(&row.nights, |night| night.dropped),
        ),
        column(
            "notes",
            Text,
            "Words of the person or the clinician.",
            |row| Cell::said(row.notes.iter().map(String::as_str)),
        ),
        column("visit_count", Whole, "Visits noted.", |row| {
            Cell::whole(row.visit_count)
        }),
    ]
}

fn trouble<'a>() -> Vec<SessionColumn<'a>> {
    use Kind::{Text, Whole};
    vec![
        column("gap_count", Whole, "Stretches without samples.", |row| {
            Cell::whole(row.sensor.gap_count)
        }),
        column(
            "lost_sample_count",
            Whole,
            "Samples known to be lost.",
            |row| Cell::whole(row.sensor.lost_sample_count),
        ),
        column(
            "link_lost_count",
            Whole,
            "How often the sensor was lost.",
            |row| Cell::whole(row.sensor.link_lost_count),
        ),
        column(
            "lowest_battery_percent",
            Whole,
            "Lowest charge seen.",
            |row| Cell::maybe(row.sensor.lowest_battery_percent),
        ),
        column(
            "warnings",
            Text,
            "What a reader should know of the recording and its analysis.",
            |row| Cell::said(row.warnings.iter().map(String::as_str)),
        ),
    ]
}

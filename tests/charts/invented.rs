//! Charts of invented numbers.

use super::*;

/// A number in 0..1 that looks random and is always the same.
pub fn wobble(n: usize) -> f64 {
    let x = (n as f64 + 1.0) * 12.9898;
    (x.sin() * 43_758.545_3).rem_euclid(1.0)
}

/// Raised cosine from 0 to 1.
pub fn rise(share: f64) -> f64 {
    0.5 - 0.5 * (share.clamp(0.0, 1.0) * std::f64::consts::PI).cos()
}

/// An invented set: `count` repetitions filling `length_s`, from `start_deg` to about `top_deg`.
pub fn invented_set(count: usize, length_s: f64, start_deg: f64, top_deg: f64) -> AngleChart {
    let each = length_s / (count as f64 + 0.3);
    let mut repetitions = Vec::new();
    let mut tops = Vec::new();
    for n in 0..count {
        let a = each * (n as f64 + 0.25);
        let tired = 1.0 - 0.25 * n as f64 / count as f64;
        let lower = each * 0.45 * tired * (0.9 + 0.2 * wobble(n));
        let (lift, hold) = (each * 0.2, each * 0.12);
        repetitions.push(RepetitionMark {
            lift_start_s: a,
            lift_end_s: a + lift,
            lower_start_s: a + lift + hold,
            lower_end_s: a + lift + hold + lower,
            doubts: Vec::new(),
        });
        tops.push(
            start_deg + (top_deg - start_deg) * (0.9 + 0.1 * wobble(n + 7)) * (0.8 + 0.2 * tired),
        );
    }
    let samples = (length_s * 50.0) as usize;
    let trace = (0..=samples)
        .map(|n| {
            let t_s = n as f64 / 50.0;
            let mut angle_deg = start_deg + 0.8 * (t_s * 1.3).sin();
            for (r, top) in repetitions.iter().zip(&tops) {
                if t_s >= r.lift_start_s && t_s <= r.lower_end_s {
                    let up = rise((t_s - r.lift_start_s) / (r.lift_end_s - r.lift_start_s));
                    let down = rise((t_s - r.lower_start_s) / (r.lower_end_s - r.lower_start_s));
                    let sag = 2.0 * rise((t_s - r.lift_end_s) / (r.lower_start_s - r.lift_end_s));
                    angle_deg = start_deg + (top - start_deg - sag * up) * (up - down);
                }
            }
            TracePoint {
                t_s,
                angle_deg,
                uncertainty_deg: None,
            }
        })
        .collect();
    AngleChart {
        title: "Wrist extension, right, set 2 of 3".to_owned(),
        subtitle:
            "Right hand, 1.5 kg, asked 4-0-2-1: four seconds down, two up, one held. Invented data."
                .to_owned(),
        movement: Some(Movement::WristExtension),
        zero: Some(Zero::Calibration),
        timed: Some(MovingPhase::Lower),
        trace,
        repetitions,
        gaps: Vec::new(),
        band: None,
        ceiling_deg: None,
        uncertainty_note: None,
        notes: vec![
            "One sensor on the hand: the angle is the hand against its own neutral pose."
                .to_owned(),
        ],
    }
}

pub fn rich_set() -> AngleChart {
    let mut chart = invented_set(8, 62.0, -22.0, 44.0);
    chart.band = Some(RangeBand {
        low_deg: 30.0,
        high_deg: 45.0,
    });
    chart.ceiling_deg = Some(55.0);
    chart.repetitions[4].doubts = vec!["gap".to_owned()];
    chart.repetitions[6].doubts = vec!["forearm moved".to_owned()];
    let gap = Stretch {
        start_s: chart.repetitions[4].lower_start_s + 0.4,
        end_s: chart.repetitions[4].lower_start_s + 2.9,
    };
    chart
        .trace
        .retain(|p| p.t_s <= gap.start_s || p.t_s >= gap.end_s);
    chart.gaps = vec![gap];
    for point in &mut chart.trace {
        point.uncertainty_deg = Some(1.5 + 0.03 * point.t_s);
    }
    chart.uncertainty_note = Some("the angle lies within, 19 times in 20".to_owned());
    chart
}

pub fn tempo_set(label: &str, count: usize, mean_s: f64, fade: f64) -> TempoSet {
    let band = TempoBand {
        low_s: 3.0,
        high_s: 6.0,
        prescribed_s: 4.0,
    };
    let repetitions = (0..count)
        .map(|n| {
            let time_s =
                mean_s * (1.0 - fade * n as f64 / count as f64) * (0.8 + 0.45 * wobble(n + count));
            TempoRepetition {
                duration_s: Some(time_s),
                verdict: Some(if time_s < band.low_s {
                    TempoVerdict::Hurried
                } else if time_s > band.high_s {
                    TempoVerdict::Slower
                } else {
                    TempoVerdict::InBand
                }),
                doubtful: n % 7 == 5,
            }
        })
        .collect();
    TempoSet {
        label: label.to_owned(),
        band: Some(band),
        repetitions,
    }
}

pub fn tempo(sets: Vec<TempoSet>) -> TempoChart {
    TempoChart {
        title: "Lowering time, wrist extension, right".to_owned(),
        subtitle: "3 sets on 12 March 2026, 1.5 kg. Invented data.".to_owned(),
        phase: MovingPhase::Lower,
        sets,
        notes: vec!["Band: 0.75 to 1.5 of the prescribed time.".to_owned()],
    }
}

pub fn three_sets() -> TempoChart {
    tempo(vec![
        tempo_set("Set 1", 10, 4.6, 0.1),
        tempo_set("Set 2", 10, 5.0, 0.3),
        tempo_set("Set 3", 9, 4.2, 0.5),
    ])
}

pub fn range_sessions(
    first: Date,
    days: &[i64],
    from: f64,
    to: f64,
    seed: usize,
) -> Vec<RangeSession> {
    days.iter()
        .enumerate()
        .map(|(n, day)| {
            let share = n as f64 / days.len() as f64;
            let middle = from + (to - from) * share + 3.0 * (wobble(n + seed) - 0.5);
            let known = !(n + seed).is_multiple_of(11);
            RangeSession {
                date: first.checked_add(day.days()).unwrap(),
                median_deg: known.then_some(middle),
                low_deg: known.then_some(middle - 2.0 - 2.0 * wobble(n)),
                high_deg: known.then_some(middle + 1.5 + 2.0 * wobble(n + 3)),
                error_deg: known.then_some(1.2 + wobble(n + 7)),
            }
        })
        .collect()
}

pub fn ranges(first: Date, left: &[i64], right: &[i64]) -> RangeHistoryChart {
    RangeHistoryChart {
        title: "Wrist extension: range in weighted repetitions".to_owned(),
        subtitle: "Both hands, forearm rested, palm down. Invented data.".to_owned(),
        movement: Movement::WristExtension,
        kind: RangeKind::Range,
        series: vec![
            RangeSeries {
                label: String::new(),
                side: Some(Side::Left),
                sessions: range_sessions(first, left, 61.0, 64.0, 2),
                error: None,
                target_deg: Some(60.0),
            },
            RangeSeries {
                label: String::new(),
                side: Some(Side::Right),
                sessions: range_sessions(first, right, 41.0, 57.0, 5),
                error: Some(ErrorBand {
                    half_width_deg: 8.0,
                    label: "first value ± 8°, a borrowed error".to_owned(),
                }),
                target_deg: Some(60.0),
            },
        ],
        band: Some(RangeBand {
            low_deg: 45.0,
            high_deg: 55.0,
        }),
        gap_days: 10,
        spread_note: Some("middle half of the session's repetitions".to_owned()),
        notes: Vec::new(),
    }
}

pub const FOUR_WEEKS: [i64; 13] = [0, 2, 4, 4, 7, 9, 11, 14, 16, 18, 21, 25, 27];

pub const PAUSED: [i64; 14] = [0, 2, 4, 7, 9, 11, 14, 33, 35, 37, 40, 42, 44, 47];

pub fn lowering(first: Date, days: &[i64]) -> LoweringHistoryChart {
    let sessions = days
        .iter()
        .enumerate()
        .map(|(n, day)| {
            let middle = 2.4 + 1.6 * n as f64 / days.len() as f64 + 0.5 * wobble(n);
            LoweringSession {
                date: first.checked_add(day.days()).unwrap(),
                median_s: Some(middle),
                low_s: Some(middle - 0.4),
                high_s: Some(middle + 0.5),
                error_s: Some(0.15),
            }
        })
        .collect();
    LoweringHistoryChart {
        title: "Lowering time, wrist extension".to_owned(),
        subtitle: "Right hand. Invented data.".to_owned(),
        phase: MovingPhase::Lower,
        series: vec![LoweringSeries {
            label: String::new(),
            side: Some(Side::Right),
            sessions,
        }],
        band: Some(TempoBand {
            low_s: 3.0,
            high_s: 6.0,
            prescribed_s: 4.0,
        }),
        gap_days: 10,
        spread_note: Some("middle half of the session's repetitions".to_owned()),
        notes: Vec::new(),
    }
}

pub fn done(first: Date, days: &[i64]) -> DoneChart {
    DoneChart {
        title: "Repetitions done of prescribed".to_owned(),
        subtitle: "Wrist extension, right hand. Invented data.".to_owned(),
        sessions: days
            .iter()
            .enumerate()
            .map(|(n, day)| DoneSession {
                date: first.checked_add(day.days()).unwrap(),
                done_count: [30, 24, 30, 30, 0, 30, 33, 28][n % 8],
                prescribed_count: (n != 8).then_some(30),
                load_kg: Some(1.0 + 0.25 * (5 * n / days.len()) as f64),
            })
            .collect(),
        notes: Vec::new(),
    }
}

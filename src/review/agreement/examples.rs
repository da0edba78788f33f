//! What the tests of agreement share: a published table, and marks of given lengths.

use crate::recording::Mark;

/// Peak expiratory flow of 17 people by two meters, first readings, l/min (Bland & Altman, Lancet
/// 1986, table; the values from memory, checked by the paper's own mean and deviation below).
pub const METERS: [(f64, f64); 17] = [
    (494.0, 512.0),
    (395.0, 430.0),
    (516.0, 520.0),
    (434.0, 428.0),
    (476.0, 500.0),
    (557.0, 600.0),
    (413.0, 364.0),
    (442.0, 380.0),
    (650.0, 658.0),
    (433.0, 445.0),
    (417.0, 432.0),
    (656.0, 626.0),
    (267.0, 260.0),
    (478.0, 477.0),
    (178.0, 259.0),
    (423.0, 350.0),
    (427.0, 451.0),
];

/// Marks of one recording whose lowerings last so long, far apart; nothing else is marked.
pub fn marks(lowerings_s: &[f64]) -> Vec<Mark> {
    let mark = |(place, lower_s): (usize, &f64)| Mark {
        rep: 1,
        lift_start_s: None,
        lift_end_s: None,
        lower_start_s: Some(100.0 * place as f64),
        lower_end_s: Some(100.0 * place as f64 + lower_s),
    };
    lowerings_s.iter().enumerate().map(mark).collect()
}

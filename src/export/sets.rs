//! The table of sets: what was asked, and the figures of what was done.

use std::collections::BTreeMap;

use super::rows::{SetRow, set_columns};
use super::table::{Cell, Column, Kind};
use super::words;
use crate::pipeline::own_and_wrist;
use crate::reps::Repetition;
use crate::review::quantile;
use crate::routine::Verdict;

/// Figures of one set, worked out once for its row.
#[derive(Debug, Clone)]
pub struct SetFigures<'a> {
    /// The set.
    pub row: SetRow<'a>,
    pub(super) ranges_deg: Vec<f64>,
    pub(super) peaks_deg: Vec<f64>,
    pub(super) starts_deg: Vec<f64>,
    pub(super) timed_s: Vec<f64>,
    pub(super) lifts_s: Vec<f64>,
    pub(super) lowers_s: Vec<f64>,
    pub(super) lower_sparc_ratios: Vec<f64>,
    doubts: BTreeMap<&'static str, u32>,
}

impl<'a> SetFigures<'a> {
    /// The figures of a set.
    pub fn of(row: SetRow<'a>) -> SetFigures<'a> {
        let reps = &row.set.reps;
        let each = |value: fn(&Repetition) -> f64| reps.iter().map(value).collect();
        let [own, wrist] = own_and_wrist(&[row.set]);
        let of = |reps: &[&Repetition], value: fn(&Repetition) -> f64| {
            reps.iter().map(|rep| value(rep)).collect()
        };
        let mut doubts = BTreeMap::new();
        for doubt in reps.iter().flat_map(|rep| &rep.doubts) {
            *doubts.entry(doubt.name()).or_default() += 1;
        }
        SetFigures {
            row,
            ranges_deg: of(&wrist, |rep| rep.range_deg),
            peaks_deg: of(&wrist, |rep| rep.peak_deg),
            starts_deg: of(&own, |rep| rep.start_deg),
            timed_s: reps.iter().filter_map(|rep| row.timed_s(rep)).collect(),
            lifts_s: each(Repetition::lift_s),
            lowers_s: each(Repetition::lower_s),
            lower_sparc_ratios: reps
                .iter()
                .filter_map(|rep| rep.lower_sparc_ratio)
                .collect(),
            doubts,
        }
    }

    /// Repetitions of that verdict; `None` where none was held against a band.
    pub(super) fn verdicts(&self, asked: Verdict) -> Option<usize> {
        let reps = &self.row.set.reps;
        let of = reps.iter().filter(|rep| rep.verdict == Some(asked));
        (self.judged() > 0).then(|| of.count())
    }

    /// Repetitions held against a band.
    pub(super) fn judged(&self) -> usize {
        let reps = self.row.set.reps.iter();
        reps.filter(|rep| rep.verdict.is_some()).count()
    }

    /// Repetitions with a doubt.
    pub(super) fn doubtful(&self) -> usize {
        let reps = self.row.set.reps.iter();
        reps.filter(|rep| !rep.doubts.is_empty()).count()
    }

    /// "gap 2, low-rate 1"; `None` of no doubts.
    pub(super) fn doubt_words(&self) -> Option<String> {
        let each: Vec<String> = self
            .doubts
            .iter()
            .map(|(doubt, count)| format!("{doubt} {count}"))
            .collect();
        (!each.is_empty()).then(|| each.join(", "))
    }
}

/// The columns of the sets.
pub fn set_table_columns<'a>() -> Vec<Column<'a, SetFigures<'a>>> {
    let mut columns = set_columns(|figures: &SetFigures<'a>| figures.row);
    columns.extend(done());
    columns.extend(figures());
    columns
}

/// A column of the set itself.
fn of_set<'a>(
    name: &'static str,
    kind: Kind,
    about: &'static str,
    cell: fn(SetRow<'a>) -> Cell<'a>,
) -> Column<'a, SetFigures<'a>> {
    Column::new(name, kind, about, move |figures: &SetFigures<'a>| {
        cell(figures.row)
    })
}

/// A column of a count of repetitions.
fn count<'a>(
    name: &'static str,
    about: &'static str,
    value: fn(&SetFigures<'a>) -> Option<usize>,
) -> Column<'a, SetFigures<'a>> {
    Column::new(name, Kind::Whole, about, move |figures| {
        Cell::maybe(value(figures))
    })
}

fn done<'a>() -> Vec<Column<'a, SetFigures<'a>>> {
    use Kind::{Moment, Number, Text};
    vec![
        of_set("tempo_words", Text, "The tempo in words.", |row| {
            Cell::word(row.set.tempo_words.as_deref())
        }),
        of_set("started_at", Moment, "When the set started.", |row| {
            row.moment(row.set.start_s)
        }),
        of_set("ended_at", Moment, "When it ended.", |row| {
            row.moment(row.set.end_s)
        }),
        of_set(
            "start_s",
            Number,
            "Its start, since the session's start.",
            |row| Cell::number(row.set.start_s),
        ),
        of_set(
            "end_s",
            Number,
            "Its end, since the session's start.",
            |row| Cell::number(row.set.end_s),
        ),
        of_set(
            "end_reason",
            Text,
            "Why it ended: reached, tired, idle, stop, skip or lost.",
            |row| Cell::word(row.set.end_reason.map(words::end_reason)),
        ),
        count("done_count", "Repetitions done.", |figures| {
            Some(figures.row.set.reps.len())
        }),
        count(
            "incomplete_count",
            "Repetitions begun and cut by the end of the record.",
            |figures| Some(figures.row.set.incomplete_count),
        ),
        count(
            "judged_count",
            "Repetitions held against the band.",
            |figures| Some(figures.judged()),
        ),
        count("hurried_count", "Of those, the hurried ones.", |figures| {
            figures.verdicts(Verdict::Hurried)
        }),
        count("slower_count", "Of those, the slower ones.", |figures| {
            figures.verdicts(Verdict::Slower)
        }),
        count("doubtful_count", "Repetitions with a doubt.", |figures| {
            Some(figures.doubtful())
        }),
        Column::new(
            "doubts",
            Text,
            "How many repetitions have each doubt; empty is none.",
            |figures: &SetFigures<'a>| Cell::made(figures.doubt_words().unwrap_or_default()),
        ),
        of_set(
            "wear",
            Text,
            "What was strange about the way the sensor was worn: face-down, turned, other-hand, on-forearm, slipped, left-lying; empty is nothing.",
            |row| {
                let names: Vec<&str> = row.set.wear.iter().map(|f| f.kind.name()).collect();
                Cell::made(names.join(", "))
            },
        ),
    ]
}

/// A column of a quantile of the repetitions' values.
fn share<'a>(
    name: &'static str,
    about: &'static str,
    values: for<'f> fn(&'f SetFigures<'a>) -> &'f [f64],
    share_ratio: f64,
) -> Column<'a, SetFigures<'a>> {
    Column::new(name, Kind::Number, about, move |figures| {
        Cell::number(quantile(values(figures), share_ratio))
    })
}

fn figures<'a>() -> Vec<Column<'a, SetFigures<'a>>> {
    use Kind::Number;
    vec![
        share(
            "range_median_deg",
            "Median of the ranges that are the wrist's: without repetitions in which the forearm moved or its unit was not heard, and of no set that was worn strangely.",
            |f| &f.ranges_deg,
            0.5,
        ),
        share(
            "range_lower_quartile_deg",
            "Lower quartile of those ranges.",
            |f| &f.ranges_deg,
            0.25,
        ),
        share(
            "range_upper_quartile_deg",
            "Upper quartile of those ranges.",
            |f| &f.ranges_deg,
            0.75,
        ),
        share(
            "range_best_deg",
            "Greatest of those ranges.",
            |f| &f.ranges_deg,
            1.0,
        ),
        share(
            "peak_median_deg",
            "Median of the highest angles in the movement's direction, from the zero of the set; of the same repetitions as the range.",
            |f| &f.peaks_deg,
            0.5,
        ),
        share(
            "start_median_deg",
            "Median of the angles at the start of the lift.",
            |f| &f.starts_deg,
            0.5,
        ),
        Column::new(
            "isb_peak_median_deg",
            Number,
            "The median of the highest angles, signed as the ISB wrist angle; unknown without a calibration.",
            |figures: &SetFigures<'a>| {
                let peak_deg = quantile(&figures.peaks_deg, 0.5);
                Cell::number(peak_deg.and_then(|deg| figures.row.isb(deg)))
            },
        ),
        share(
            "timed_median_s",
            "Median length of the eccentric phase, else of the way back; cut ones are left out.",
            |f| &f.timed_s,
            0.5,
        ),
        share(
            "timed_lower_quartile_s",
            "Lower quartile of those lengths.",
            |f| &f.timed_s,
            0.25,
        ),
        share(
            "timed_upper_quartile_s",
            "Upper quartile of those lengths.",
            |f| &f.timed_s,
            0.75,
        ),
        share(
            "lift_median_s",
            "Median length of the lifts.",
            |f| &f.lifts_s,
            0.5,
        ),
        share(
            "lower_median_s",
            "Median length of the ways back.",
            |f| &f.lowers_s,
            0.5,
        ),
        of_set(
            "time_under_tension_s",
            Number,
            "Time in lifts and ways back.",
            |row| Cell::number(row.set.time_under_tension_s),
        ),
        of_set(
            "time_under_tension_with_pauses_s",
            Number,
            "The same with the holds and the pauses between repetitions.",
            |row| Cell::number(row.set.time_under_tension_with_pauses_s),
        ),
        of_set(
            "elbow_share_ratio",
            Number,
            "Share of the travel that came from the forearm turning about the elbow; unknown where it cannot be told.",
            |row| Cell::number(row.set.elbow.and_then(|elbow| elbow.share_ratio)),
        ),
        of_set(
            "elbow_share_low_ratio",
            Number,
            "Lower end of its 95 % interval.",
            |row| Cell::number(row.set.elbow.and_then(|elbow| elbow.low_ratio)),
        ),
        of_set(
            "elbow_share_high_ratio",
            Number,
            "Upper end of its 95 % interval.",
            |row| Cell::number(row.set.elbow.and_then(|elbow| elbow.high_ratio)),
        ),
        of_set(
            "range_change_deg_per_rep",
            Number,
            "Change of range from one repetition to the next; unknown of fewer than four.",
            |row| Cell::number(row.set.trend.map(|trend| trend.range_deg_per_rep)),
        ),
        of_set(
            "lower_change_s_per_rep",
            Number,
            "Change of the way back's length from one repetition to the next; unknown of fewer than four.",
            |row| Cell::number(row.set.trend.map(|trend| trend.lower_s_per_rep)),
        ),
    ]
}

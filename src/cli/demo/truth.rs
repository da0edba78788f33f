//! How well the analysis of invented sessions agrees with what the invented hand truly did.

use crate::pipeline::SetResult;
use crate::reps::Repetition;
use crate::review::quantile;
use crate::source::simulator::session::TrueSet;
use crate::source::simulator::truth::TrueRepetition;

/// Counts and errors over many sets.
#[derive(Debug, Default)]
pub struct Agreement {
    /// Sets truly done.
    pub set_count: usize,
    /// Sets whose repetitions were counted exactly.
    pub exact_count: usize,
    lower_error_s: Vec<f64>,
    range_error_deg: Vec<f64>,
}

impl Agreement {
    /// Adds the sets of a session.
    pub fn add(&mut self, truth: &[TrueSet], found: &[SetResult]) {
        self.set_count += truth.len();
        for (true_set, set) in truth.iter().zip(found) {
            if true_set.reps.len() != set.reps.len() {
                continue;
            }
            self.exact_count += 1;
            for (true_rep, rep) in true_set.reps.iter().zip(&set.reps) {
                self.add_repetition(true_rep, rep);
            }
        }
    }

    fn add_repetition(&mut self, truth: &TrueRepetition, found: &Repetition) {
        // What a gap in the radio hides is doubted, not compared.
        if found.doubts.is_empty() {
            let true_s = truth.lower_end_s - truth.lower_start_s;
            self.lower_error_s.push((found.lower_s() - true_s).abs());
            self.range_error_deg
                .push((found.range_deg - truth.range_deg).abs());
        }
    }

    /// In words.
    pub fn words(&self) -> String {
        let figure = |errors: &[f64], part: f64, digits: usize| {
            quantile(errors, part).map_or("unknown".to_owned(), |v| format!("{v:.digits$}"))
        };
        format!(
            "Against what the simulator knows to be true: {} of {} sets counted exactly; lowering off by\n\
             {} s (median; 95 in 100 within {} s), range by {}\u{b0} (within {}\u{b0}).",
            self.exact_count,
            self.set_count,
            figure(&self.lower_error_s, 0.5, 2),
            figure(&self.lower_error_s, 0.95, 2),
            figure(&self.range_error_deg, 0.5, 1),
            figure(&self.range_error_deg, 0.95, 1),
        )
    }
}

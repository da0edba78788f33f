//! The words of the angle drawing: directions, levels, labels and remarks.
//!
//! Where nobody named the movement no word of the body appears, and where nobody calibrated a
//! neutral pose none is claimed.

use super::angle::AngleChart;
use super::axis::{Scale, median, plain};
use super::margin::MarginLabel;
use super::palette::{AXIS, BAND_EDGE, INK, LOWER};
use super::pen::{Pen, Type};
use crate::movement::{Movement, MovingPhase};
use crate::pipeline::motion::Zero;
use plotters_backend::DrawingBackend;

impl AngleChart {
    /// The movement where it names a direction of the joint.
    fn directed(&self) -> Option<Movement> {
        self.movement
            .filter(|movement| self.timed.is_some() && movement.joint_axis().is_some())
    }

    /// The movement where its angles may be written as poses.
    fn posed(&self) -> Option<Movement> {
        self.directed()
            .filter(|_| self.zero == Some(Zero::Calibration))
    }

    /// "extension 42°", "neutral"; without a calibrated neutral "42°", "12° the other way".
    pub(super) fn level(&self, angle_deg: f64) -> String {
        let degrees = format!("{}°", plain(angle_deg, 0));
        let small = angle_deg.abs() < 0.5;
        match (self.posed(), self.directed()) {
            (Some(_), _) if small => "neutral".to_owned(),
            (Some(movement), _) if angle_deg > 0.0 => {
                format!("{} {degrees}", movement.direction_word())
            }
            (Some(movement), _) => format!("{} {degrees}", movement.opposite_word()),
            _ if small || angle_deg > 0.0 => degrees,
            (None, Some(movement)) => format!("{degrees} towards {}", movement.opposite_word()),
            (None, None) => format!("{degrees} the other way"),
        }
    }

    pub(super) fn timed_word(&self) -> &'static str {
        match self.timed {
            Some(MovingPhase::Lift) => "lift",
            Some(MovingPhase::Lower) => "lowering",
            None => "turn",
        }
    }

    /// What the zero line is called.
    fn zero_word(&self) -> Option<&'static str> {
        self.zero.map(|zero| match zero {
            Zero::Calibration => "neutral",
            Zero::StillStart => "still start",
            Zero::UsualStart => "usual start level",
        })
    }

    /// The direction upwards and the unit, from the fullest form to the shortest.
    pub(super) fn upward_words(&self) -> Vec<String> {
        let zero = match self.zero {
            Some(Zero::Calibration) => " from the own neutral",
            Some(Zero::StillStart) => " from the still start",
            Some(Zero::UsualStart) => " from the usual start level",
            None => "",
        };
        let toward = match (self.posed(), self.directed()) {
            _ if self.timed.is_none() => {
                let plain = "about the main axis, degrees";
                return vec![
                    format!("{plain}{zero}"),
                    plain.to_owned(),
                    "degrees".to_owned(),
                ];
            }
            (Some(movement), _) => movement.direction_word().to_owned(),
            (None, Some(movement)) => format!("towards {}", movement.direction_word()),
            (None, None) => "away from the start".to_owned(),
        };
        vec![
            format!("{toward} ↑  degrees{zero}"),
            format!("{toward} ↑  degrees"),
            format!("{toward} ↑"),
        ]
    }

    /// The direction downwards; `None` where the movement goes round.
    pub(super) fn downward_words(&self) -> Option<String> {
        self.timed?;
        Some(match (self.posed(), self.directed()) {
            (Some(movement), _) => format!("{} ↓", movement.opposite_word()),
            (None, Some(movement)) => format!("towards {} ↓", movement.opposite_word()),
            (None, None) => "the other way ↓".to_owned(),
        })
    }

    /// The labels beside the curve.
    pub(super) fn labels<DB: DrawingBackend>(
        &self,
        pen: &Pen<'_, DB>,
        y: &Scale,
    ) -> Vec<MarginLabel> {
        let mut labels = Vec::new();
        let mut add = |level: f64, words: Vec<(String, Type)>, tie, rank| {
            labels.push(MarginLabel::new(pen, y.held(level), &words, tie, rank));
        };
        let quiet = |text: &str| (text.to_owned(), Type::QUIET);
        if let Some(deg) = self.ceiling_deg {
            let words = if deg >= 0.0 {
                format!("not beyond {}°", plain(deg, 0))
            } else {
                format!("not beyond {}", self.level(deg))
            };
            add(deg, vec![(words, Type::STRONG)], INK, 5);
        }
        if let Some(band) = self.band {
            let words = if band.low_deg >= 0.0 {
                format!(
                    "asked {}–{}°",
                    plain(band.low_deg, 0),
                    plain(band.high_deg, 0)
                )
            } else {
                format!(
                    "asked {} to {}",
                    self.level(band.low_deg),
                    self.level(band.high_deg)
                )
            };
            let middle_deg = (band.low_deg + band.high_deg) / 2.0;
            add(middle_deg, vec![quiet(&words)], BAND_EDGE, 4);
        }
        let posed = self.posed().is_some();
        let (tops, starts) = self.levels();
        if let Some(top) = median(&tops) {
            let look = Type::STRONG.colored(LOWER);
            let words = if posed {
                vec![(self.level(top), look), quiet("median top")]
            } else {
                vec![(format!("top {}", self.level(top)), look), quiet("median")]
            };
            add(top, words, LOWER, 3);
        }
        // A turn starts wherever it was when the counting began.
        if let Some(start) = median(&starts).filter(|_| self.timed.is_some())
            && start.abs() >= 0.5
        {
            let words = if posed {
                vec![(self.level(start), Type::LABEL), quiet("median start")]
            } else {
                let words = format!("start {}", self.level(start));
                vec![(words, Type::LABEL), quiet("median")]
            };
            add(start, words, AXIS, 2);
        }
        if let Some(word) = self.zero_word() {
            add(0.0, vec![quiet(word)], AXIS, 1);
        }
        labels
    }

    /// The remarks at the foot.
    pub(super) fn remarks(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let doubts: Vec<String> = self
            .repetitions
            .iter()
            .enumerate()
            .filter(|(_, r)| !r.doubts.is_empty())
            .map(|(index, r)| format!("{} ({})", index + 1, r.doubts.join(", ")))
            .collect();
        if !doubts.is_empty() {
            notes.push(format!("? in doubt: {}.", doubts.join("; ")));
        }
        if !self.gaps.is_empty() {
            let lost: f64 = self.gaps.iter().map(|g| g.end_s - g.start_s).sum();
            notes.push(format!("Hatched: no data, {} s in all.", plain(lost, 1)));
        }
        // What is last is dropped first on a small drawing: never the meaning of the angle.
        notes.extend(self.notes.iter().cloned());
        if self.trace.iter().any(|p| p.uncertainty_deg.is_some()) {
            let what = self
                .uncertainty_note
                .as_deref()
                .unwrap_or("uncertainty of the angle");
            notes.push(format!("Pale bed of the curve: {what}."));
        }
        if self.moves_between() {
            notes.push("Thin grey: movement outside the counted repetitions.".to_owned());
        }
        notes
    }
}

//! Whether weights may be offered on a day.

use jiff::civil::Date;

use super::Routine;

/// Whether weights may be offered on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Weights {
    /// As prescribed.
    Allowed,
    /// Practice without weight only, because the routine does not say these.
    PracticeOnly {
        /// The routine's keys, in order: `screened_on`, `contact`, `review_by`.
        missing: Vec<&'static str>,
    },
    /// None: the routine is to be looked at again; ask the clinician.
    ReviewDue {
        /// The last day on which it held.
        since: Date,
    },
}

impl Routine {
    /// Whether weights may be offered on a day. It takes the questions before the first session
    /// gone through by that day, words of whom to ask, and a day of review that has not passed; the
    /// day of review itself still counts. A review that is due comes before anything missing.
    ///
    /// Common practice, no source.
    pub fn weights_on(&self, day: Date) -> Weights {
        if let Some(since) = self.review_by.filter(|review_by| day > *review_by) {
            return Weights::ReviewDue { since };
        }
        let screened = self.screened_on.is_some_and(|screened| screened <= day);
        let contact = self.contact.as_deref().map_or("", str::trim);
        let missing: Vec<&'static str> = [
            ("screened_on", screened),
            ("contact", !contact.is_empty()),
            ("review_by", self.review_by.is_some()),
        ]
        .into_iter()
        .filter_map(|(key, said)| (!said).then_some(key))
        .collect();
        if missing.is_empty() {
            Weights::Allowed
        } else {
            Weights::PracticeOnly { missing }
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    fn routine(keys: &str) -> Routine {
        Routine::from_toml(&format!(
            "title = \"T\"\n{keys}\n[[items]]\nkind = \"timed\"\nwhat = \"breathing\"\nseconds = 30\n"
        ))
        .unwrap()
    }

    const WHOLE: &str =
        "screened_on = 2026-03-02\ncontact = \"Ask at the desk\"\nreview_by = 2026-03-30";

    #[test]
    fn weights_are_allowed_from_the_screening_to_the_day_of_review() {
        let routine = routine(WHOLE);
        for allowed in ["2026-03-02", "2026-03-15", "2026-03-30"] {
            assert_eq!(routine.weights_on(day(allowed)), Weights::Allowed);
        }
        assert_eq!(
            routine.weights_on(day("2026-03-31")),
            Weights::ReviewDue {
                since: day("2026-03-30")
            }
        );
        assert_eq!(
            routine.weights_on(day("2026-03-01")),
            Weights::PracticeOnly {
                missing: vec!["screened_on"]
            }
        );
    }

    #[test]
    fn what_is_missing_is_named_and_blank_words_are_none() {
        let keys = WHOLE.lines().zip(["screened_on", "contact", "review_by"]);
        for (line, key) in keys {
            let others = WHOLE.replace(line, "");
            assert_eq!(
                routine(&others).weights_on(day("2026-03-15")),
                Weights::PracticeOnly { missing: vec![key] }
            );
        }
        assert_eq!(
            routine("contact = \" \"").weights_on(day("2026-03-15")),
            Weights::PracticeOnly {
                missing: vec!["screened_on", "contact", "review_by"]
            }
        );
    }

    #[test]
    fn a_review_that_is_due_comes_before_what_is_missing() {
        assert_eq!(
            routine("review_by = 2026-03-30").weights_on(day("2026-04-01")),
            Weights::ReviewDue {
                since: day("2026-03-30")
            }
        );
    }
}

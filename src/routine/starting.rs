//! Starting routines: a first page to edit, never a prescription by themselves.

/// A starting routine that ships with the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starting {
    /// The word that picks it.
    pub name: &'static str,
    /// Its TOML text.
    pub toml: &'static str,
}

/// Every starting routine.
pub const STARTING: &[Starting] = &[Starting {
    name: "gentle-start",
    toml: include_str!("starting/gentle-start.toml"),
}];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;
    use crate::routine::{Item, Limits, Routine};

    #[test]
    fn every_starting_routine_reads_and_says_where_it_comes_from() {
        for starting in STARTING {
            let routine = Routine::from_toml(starting.toml).unwrap();
            assert!(routine.source.is_some(), "{}", starting.name);
            assert_eq!(routine.limits, Limits::default(), "{}", starting.name);
        }
    }

    #[test]
    fn the_gentle_start_begins_with_an_empty_hand_and_no_waiting_at_the_bottom() {
        let routine = Routine::from_toml(STARTING.first().unwrap().toml).unwrap();
        for Item::Counted(item) in &routine.items {
            assert_eq!(item.load_kg, Some(0.0));
            assert!(item.tempo.is_some_and(|tempo| tempo.rest_s == 0.0));
        }
    }
}

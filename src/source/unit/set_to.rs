//! Where units are set to be worn, and what there is to say of several at a time.
//!
//! Ours. A place is no more than what a unit was built or told to say. Two that say the same cannot
//! be told apart by it, and somebody has to say which is which.

use serde::Serialize;

use super::profile::Description;
use crate::sample::Place;

/// Where a unit is set to be worn.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SetTo {
    /// On the hand.
    Hand,
    /// On the forearm.
    Forearm,
    /// Nowhere: whoever uses it says where.
    Unset,
    /// It could not be asked.
    #[default]
    Unknown,
}

impl SetTo {
    /// What a description says.
    pub fn of(description: &Description) -> SetTo {
        match description.place {
            Some(Place::Hand) => SetTo::Hand,
            Some(Place::Forearm) => SetTo::Forearm,
            None => SetTo::Unset,
        }
    }

    /// The place, if there is one.
    pub fn place(self) -> Option<Place> {
        match self {
            SetTo::Hand => Some(Place::Hand),
            SetTo::Forearm => Some(Place::Forearm),
            SetTo::Unset | SetTo::Unknown => None,
        }
    }

    /// The word.
    pub fn name(self) -> &'static str {
        match self {
            SetTo::Hand => "hand",
            SetTo::Forearm => "forearm",
            SetTo::Unset => "unset",
            SetTo::Unknown => "unknown",
        }
    }
}

/// Why several units cannot be told apart by what they are set to. Units are numbers in the list
/// that was asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlaceTrouble {
    /// They are all set to the same place.
    Same {
        /// Which.
        place: Place,
        /// Which units.
        units: Vec<usize>,
    },
    /// It is set to none.
    Unset {
        /// Which unit.
        unit: usize,
    },
}

/// What there is to say of units that are near together; nothing of one alone, which is taken as it
/// is.
pub fn place_troubles(units: &[SetTo]) -> Vec<PlaceTrouble> {
    let mut troubles = Vec::new();
    if units.len() < 2 {
        return troubles;
    }
    for place in [Place::Hand, Place::Forearm] {
        let same: Vec<usize> = (0..)
            .zip(units)
            .filter(|(_, own)| own.place() == Some(place))
            .map(|(unit, _)| unit)
            .collect();
        if same.len() > 1 {
            troubles.push(PlaceTrouble::Same { place, units: same });
        }
    }
    let unset = (0..).zip(units).filter(|(_, own)| **own == SetTo::Unset);
    troubles.extend(unset.map(|(unit, _)| PlaceTrouble::Unset { unit }));
    troubles
}

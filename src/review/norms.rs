//! Published ranges of active motion of the empty hand, shown only beside range tests, and only
//! where age and sex fit.

use serde::Serialize;

use super::series::{HandLoad, Series};
use crate::movement::Movement;

/// The sex that a publication examined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sex {
    /// Female.
    Female,
    /// Male.
    Male,
}

/// Who is reviewed, as far as a norm needs it. Told for one review and kept nowhere.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Person {
    /// Age, years.
    pub age_years: Option<u32>,
    /// Sex.
    pub sex: Option<Sex>,
}

/// A published mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Norm {
    /// Mean, degrees.
    pub mean_deg: f64,
    /// Of whom, and where it is published.
    pub source: &'static str,
}

struct Study {
    source: &'static str,
    ages_years: (u32, u32),
    sex: Option<Sex>,
    /// Flexion, extension, radial and ulnar deviation, pronation, supination, degrees.
    means_deg: [f64; 6],
}

/// Studies that say whom they examined. The table of the American Academy of Orthopaedic Surgeons
/// names no ages, so that it fits nobody here; Macedo & Magee (2009, women of 18 to 59 years) moved
/// the joints of others, and how far a joint can be moved is no norm of how far one moves it. Walker
/// et al. (Phys Ther 64:919-923, 1984) examined two groups, and nobody between them.
const STUDIES: [Study; 4] = [
    Study {
        source: "109 males from childhood to 54 years; Boone & Azen, J Bone Joint Surg Am 1979",
        ages_years: (18, 54),
        sex: Some(Sex::Male),
        means_deg: [76.4, 74.9, 21.5, 36.0, 75.8, 82.1],
    },
    walker((60, 69)),
    walker((75, 84)),
    Study {
        source: "20 people of 18 to 55 years; Greene & Wolf 1989",
        ages_years: (18, 55),
        sex: None,
        means_deg: [73.0, 65.0, 25.0, 39.0, 84.0, 77.0],
    },
];

const fn walker(ages_years: (u32, u32)) -> Study {
    Study {
        source: "60 people of 60 to 69 and 75 to 84 years; Walker et al. 1984",
        ages_years,
        sex: None,
        means_deg: [64.0, 63.0, 19.0, 26.0, 71.0, 74.0],
    }
}

/// The norms of a movement for a person: none where age is not known, or where a publication about
/// one sex does not fit.
pub fn norms(movement: Movement, person: Person) -> Vec<Norm> {
    let place = match movement {
        Movement::WristFlexion => 0,
        Movement::WristExtension => 1,
        Movement::RadialDeviation => 2,
        Movement::UlnarDeviation => 3,
        Movement::Pronation => 4,
        Movement::Supination => 5,
        _ => return Vec::new(),
    };
    let Some(age_years) = person.age_years else {
        return Vec::new();
    };
    STUDIES
        .iter()
        .filter(|study| (study.ages_years.0..=study.ages_years.1).contains(&age_years))
        .filter(|study| study.sex.is_none() || study.sex == person.sex)
        .filter_map(|study| {
            Some(Norm {
                mean_deg: *study.means_deg.get(place)?,
                source: study.source,
            })
        })
        .collect()
}

/// The norms of a series: only of range tests that start at the person's own neutral pose, since a
/// norm is the reach of one direction.
pub fn norms_of(series: &Series, person: Person) -> Vec<Norm> {
    let range_test = series.load == HandLoad::RangeTest && series.from_neutral();
    match series.movement.filter(|_| range_test) {
        Some(movement) => norms(movement, person),
        None => Vec::new(),
    }
}

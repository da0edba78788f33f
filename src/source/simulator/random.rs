//! A small reproducible random source for invented data.
//!
//! Source: SplitMix64, G. Steele, D. Lea, C. Flood, "Fast splittable pseudorandom number
//! generators", OOPSLA 2014, doi:10.1145/2660193.2660195; normal deviates by Box and Muller, 1958.
//! Own few lines rather than a crate: a demo made today must come out the same in ten years.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// A stream of random numbers fixed by its seed.
#[derive(Debug, Clone)]
pub struct Random {
    state: u64,
}

impl Random {
    /// The stream of that seed.
    pub fn new(seed: u64) -> Random {
        Random { state: seed }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 up to, not including, 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A number between the two, evenly spread.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: usize, high: usize) -> usize {
        low + (self.unit() * (high + 1 - low) as f64) as usize
    }

    /// True with that probability.
    pub fn chance(&mut self, probability_ratio: f64) -> bool {
        self.unit() < probability_ratio
    }

    /// A standard normal deviate.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// Three independent normal deviates of that standard deviation.
    pub fn normal_vector(&mut self, deviation: f64) -> Vector3<f64> {
        Vector3::new(self.normal(), self.normal(), self.normal()) * deviation
    }

    /// A direction, evenly spread over the sphere.
    pub fn direction(&mut self) -> Vector3<f64> {
        self.normal_vector(1.0)
            .try_normalize(1e-9)
            .unwrap_or_else(Vector3::x)
    }

    /// A rotation, evenly spread over all rotations.
    pub fn rotation(&mut self) -> UnitQuaternion<f64> {
        let quaternion =
            Quaternion::new(self.normal(), self.normal(), self.normal(), self.normal());
        UnitQuaternion::try_new(quaternion, 1e-9).unwrap_or_else(UnitQuaternion::identity)
    }
}

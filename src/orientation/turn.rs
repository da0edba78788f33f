//! Small turns and tilts.
//!
//! Ours: the exponential of a rotation vector by its series where that is exact to the last digit,
//! because the smoother takes one for each sample.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// The turn by a constant rate `rate_in_sensor_rad_s` over `dt_s`.
///
/// The series leaves out terms below 1e-17 at the largest half angle it is used for (0.045 rad).
pub(crate) fn turn_over(rate_in_sensor_rad_s: &Vector3<f64>, dt_s: f64) -> UnitQuaternion<f64> {
    let half = rate_in_sensor_rad_s * (0.5 * dt_s);
    let h2 = half.norm_squared();
    let (cos, sinc) = if h2 < 2e-3 {
        (
            1.0 - h2 * (1.0 / 2.0 - h2 * (1.0 / 24.0 - h2 * (1.0 / 720.0 - h2 / 40320.0))),
            1.0 - h2 * (1.0 / 6.0 - h2 * (1.0 / 120.0 - h2 * (1.0 / 5040.0 - h2 / 362_880.0))),
        )
    } else {
        let h = h2.sqrt();
        (h.cos(), h.sin() / h)
    };
    UnitQuaternion::new_unchecked(Quaternion::from_parts(cos, half * sinc))
}

/// Turns an orientation by a rate in the sensor frame, and keeps its length 1.
pub(crate) fn turned(
    world_from_sensor: &UnitQuaternion<f64>,
    rate_in_sensor_rad_s: &Vector3<f64>,
    dt_s: f64,
) -> UnitQuaternion<f64> {
    let q = world_from_sensor.quaternion() * turn_over(rate_in_sensor_rad_s, dt_s).quaternion();
    UnitQuaternion::new_normalize(q)
}

/// The shortest turn that takes a vector upright, about a horizontal axis.
///
/// For a vector that points straight down any horizontal axis is as short: x is taken. A zero
/// vector gives no turn.
pub(crate) fn upright(v: &Vector3<f64>) -> UnitQuaternion<f64> {
    let n = v.norm();
    if !(n > 0.0 && n.is_finite()) {
        return UnitQuaternion::identity();
    }
    let (x, y, z) = (v.x / n, v.y / n, v.z / n);
    let w2 = 0.5 * (1.0 + z);
    if w2 < 1e-12 {
        return UnitQuaternion::new_unchecked(Quaternion::new(0.0, 1.0, 0.0, 0.0));
    }
    let w = w2.sqrt();
    UnitQuaternion::new_normalize(Quaternion::new(w, 0.5 * y / w, -0.5 * x / w, 0.0))
}

/// The orientation of a sensor at rest from its specific force alone, with no turn about the
/// vertical beyond the shortest way upright.
pub fn level(accel_in_sensor_m_s2: &Vector3<f64>) -> UnitQuaternion<f64> {
    upright(accel_in_sensor_m_s2)
}

/// An orientation with its inclination taken from the specific force and its heading kept.
pub(crate) fn levelled(
    world_from_sensor: &UnitQuaternion<f64>,
    accel_in_sensor_m_s2: &Vector3<f64>,
) -> UnitQuaternion<f64> {
    let accel_in_world = world_from_sensor * accel_in_sensor_m_s2;
    UnitQuaternion::new_normalize((upright(&accel_in_world) * world_from_sensor).into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_equals_the_sine_and_cosine() {
        // Source: the exponential of a pure quaternion, closed form.
        for rate_rad_s in [1e-9, 1e-3, 1.0, 5.0, 8.9] {
            let rate = Vector3::new(0.36, 0.48, 0.8) * rate_rad_s;
            let exact = UnitQuaternion::new(rate * 0.01);
            assert!(turn_over(&rate, 0.01).angle_to(&exact) < 1e-15);
        }
    }

    #[test]
    fn upright_takes_every_direction_to_the_vertical() {
        for v in [
            Vector3::new(0.0, 0.0, 1.0),
            Vector3::new(0.0, 0.0, -9.81),
            Vector3::new(1.0, -2.0, 0.5),
            Vector3::new(1e-9, 0.0, -1.0),
            Vector3::new(3.0, 0.0, 0.0),
        ] {
            let up = upright(&v) * v / v.norm();
            assert!((up - Vector3::z()).norm() < 1e-6, "{v:?} went to {up:?}");
        }
        assert_eq!(upright(&Vector3::zeros()), UnitQuaternion::identity());
    }
}

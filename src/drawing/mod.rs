//! The drawings of the patient's page: movements, where the sensor goes, stretches, finger
//! positions, shaking out, massage, breathing. Each is SVG text that stands by itself.
//!
//! Ours: a hand of balls in space, posed by joint angles and seen by one eye in parallel light; a
//! limb is the hull of what its balls become. Thumb side, palm and back, rested or hanging then
//! follow from the same frames as the angles do, and nothing is drawn twice.
//!
//! - **Space**: centimetres; x forward from the person, y up, z to the right. A right arm is built;
//!   the drawing of a left one is that of the right mirrored, word by word in its place.
//! - **Seen from**: where the person sees the own arm, so a right arm comes in from the right or
//!   from below. Angles in degrees as everywhere: flexion and ulnar deviation positive.
//! - **Page**: units of the viewBox, y down; whatever is drawn lies within it. Widths: 360 for
//!   movements and finger positions, else 320.
//! - **Look**: lines and words take `currentColor`; fills are custom properties with the light
//!   colours as fallback, as presentation attributes, so that no content policy is in the way.
//!   [`STYLE`] is a style sheet for light, dark, high contrast and forced colours. Start and end
//!   differ by solid and dashed, not by colour alone.
//! - **Words**: English, in `words.rs` alone.
//!
//! The angles drawn show a direction. They are no prescription.

mod arm;
mod care;
mod circles;
mod course;
mod glide;
mod hand;
mod ink;
mod moving;
mod outline;
mod page;
mod pose;
mod scene;
mod sensor;
mod setting;
mod signs;
mod space;
mod stretch;
mod turning;
mod weight;
mod words;

pub use care::{Care, care_drawing};
pub use glide::{Glide, glide_drawing};
pub use ink::STYLE;
pub use moving::movement_drawing;
pub use sensor::{HandView, sensor_drawing};
pub use stretch::stretch_drawing;
pub use turning::turning_drawing;

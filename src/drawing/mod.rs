//! The drawings of the patient's page, as SVG text.

mod arm;
mod care;
mod circles;
mod glide;
mod hand;
mod ink;
mod moving;
mod outline;
mod page;
mod scene;
mod sensor;
mod setting;
mod space;
mod stretch;
mod weight;
mod words;

pub use care::{Care, care_drawing};
pub use glide::{Glide, glide_drawing};
pub use ink::STYLE;
pub use moving::movement_drawing;
pub use sensor::{HandView, sensor_drawing};
pub use stretch::{Stretch, stretch_drawing};

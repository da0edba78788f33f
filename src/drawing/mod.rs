//! The drawings of the patient's page, as SVG text.

mod arm;
mod circles;
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

pub use ink::STYLE;
pub use moving::movement_drawing;
pub use sensor::{HandView, sensor_drawing};
pub use stretch::{Stretch, stretch_drawing};

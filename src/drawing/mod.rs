//! The drawings of the patient's page, as SVG text.

mod arm;
mod circles;
mod hand;
mod ink;
mod moving;
mod outline;
mod page;
mod scene;
mod setting;
mod space;
mod weight;
mod words;

pub use ink::STYLE;
pub use moving::movement_drawing;

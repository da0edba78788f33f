//! Where samples come from: the radio, the simulator, a playback.

pub mod both;
pub mod radio;
pub mod signal;
pub mod simulator;
pub mod unit;

//! Where samples come from: the simulator; later the radio and the playback of recordings.

pub mod simulator;

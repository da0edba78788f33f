//! From samples to the orientation of the sensor against the world.

//! Live

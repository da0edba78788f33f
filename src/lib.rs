//! Counts, times and charts prescribed wrist exercise from a motion sensor on the back of the
//! hand. Samples flow one way: sample, orientation, joint angle, repetition, session, review.

pub mod chart;
pub mod cli;
pub mod clinic;
pub mod drawing;
pub mod export;
pub mod handover;
pub mod joint;
pub mod movement;
pub mod orientation;
pub mod page;
pub mod pipeline;
pub mod recording;
pub mod report;
pub mod reps;
pub mod review;
pub mod routine;
pub mod sample;
pub mod session;
pub mod sitting;
pub mod source;

//! Our open profile of a motion unit, without the radio: bytes and times in, signals out.
//!
//! Ours; `firmware-notes/` says the same to whoever writes the firmware. Nothing here knows a
//! clock, a socket or a thread: the time of arrival is an argument.

mod beat;
pub mod check;
pub mod clock;
mod figures;
mod hold;
pub mod latency;
pub mod packet;
pub mod profile;
mod reading;
pub mod set_to;
mod settings;
pub mod stream;
mod unwrapping;

/// `N` bytes from `at` on, if they are there.
fn part<const N: usize>(bytes: &[u8], at: usize) -> Option<[u8; N]> {
    bytes.get(at..)?.first_chunk::<N>().copied()
}

//! How long a sealed file is says how much was done. Zeros behind the archive make lengths alike.
//!
//! Source: Padmé, in Nikitin et al., Reducing Metadata Leakage from Encrypted Files and Communication
//! with PURBs, PoPETs 2019(4):6-33 (from memory, check). Changed: no step is under 64 KiB, so that a
//! few answers look like a short session, and none above 1 MiB, which is what a reader takes.

use std::io::{self, Write};

/// The shortest step, bytes.
const STEP_LEAST: u64 = 64 << 10;
/// The longest step, bytes: also the most zeros that may follow an archive.
pub(super) const STEP_MOST: u64 = 1 << 20;

/// The length to pad to, bytes: at most one step more.
pub(super) fn padded_bytes(bytes: u64) -> u64 {
    let exponent = bytes.max(2).ilog2();
    let kept_bits = exponent.ilog2() + 1;
    let padme = 1_u64 << exponent.saturating_sub(kept_bits);
    bytes.next_multiple_of(padme.clamp(STEP_LEAST, STEP_MOST))
}

/// Counts what is written, to be padded at the end.
pub(super) struct Padded<W> {
    inner: W,
    bytes: u64,
}

impl<W: Write> Padded<W> {
    /// Before anything is written.
    pub(super) fn new(inner: W) -> Padded<W> {
        Padded { inner, bytes: 0 }
    }

    /// Writes the zeros and gives back what is beneath.
    pub(super) fn finish(mut self) -> io::Result<W> {
        let count = padded_bytes(self.bytes) - self.bytes;
        io::copy(&mut io::Read::take(io::repeat(0), count), &mut self.inner)?;
        Ok(self.inner)
    }
}

impl<W: Write> Write for Padded<W> {
    fn write(&mut self, piece: &[u8]) -> io::Result<usize> {
        let count = self.inner.write(piece)?;
        self.bytes += count as u64;
        Ok(count)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_go_up_in_steps_and_never_by_more_than_one() {
        for (bytes, padded) in [
            (0, 0),
            (1, STEP_LEAST),
            (STEP_LEAST, STEP_LEAST),
            (STEP_LEAST + 1, 2 * STEP_LEAST),
            // 24 MB keep five bits after the first: steps of 2^19.
            (24_000_001, 24_117_248),
            (3 << 30, 3 << 30),
            ((3 << 30) + 1, (3 << 30) + STEP_MOST),
        ] {
            assert_eq!(padded_bytes(bytes), padded, "{bytes}");
        }
    }
}

//! What came of a unit and what did not.

/// What came and what did not, since the stream began.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Figures {
    /// Packets that came, good and bad.
    pub packets_count: u64,
    /// Samples delivered.
    pub received_count: u64,
    /// Samples that the unit counted and that were never delivered; what a restart cost is unknown
    /// and not among them.
    pub lost_count: u64,
    /// Samples that came after later ones and were put back in order.
    pub reordered_count: u64,
    /// Samples that came too late to be put back; where they came after the first, they are among
    /// the lost.
    pub late_count: u64,
    /// Samples that came again.
    pub repeated_count: u64,
    /// Packets of an unknown length, version or count, and strays that belong to nothing.
    pub bad_count: u64,
    /// Restarts of the unit that were not asked for.
    pub restarts_count: u64,
    /// Samples with an axis at the end of its range.
    pub saturated_count: u64,
}

//! Quantiles of what was measured.

/// The value below which this share of all values lies; NaN of none.
pub fn quantile(values: &mut [f64], share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let last = values.len().saturating_sub(1) as f64;
    values
        .get((last * share).round() as usize)
        .copied()
        .unwrap_or(f64::NAN)
}

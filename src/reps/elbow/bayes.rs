//! A linear model whose parameters have stated priors, with noise that remembers itself from one
//! point to the next.
//!
//! Source: the textbook form (C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine
//! Learning, 2006, sec. 2.1). Ours: the noise is whitened by a first-order recursion whose memory
//! and size are read from what the model leaves, above a stated floor.

use nalgebra::{Cholesky, DMatrix, DVector, Vector3};

/// One explanation of the reading: its values, and what is known of its size beforehand.
#[derive(Debug, Clone)]
pub(super) struct Column {
    /// Its values on the grid.
    pub values: Vec<Vector3<f64>>,
    /// Its size before anything is seen.
    pub mean: f64,
    /// Standard deviation of that size.
    pub deviation: f64,
}

/// What the noise is like.
#[derive(Debug, Clone, Copy)]
pub(super) struct Noise {
    /// Share of the noise that goes on to the next point, 0 to 1.
    pub memory_ratio: f64,
    /// Variance of what is new at each point.
    pub fresh_variance: f64,
}

/// What is known of the columns' sizes after the reading is seen.
#[derive(Debug, Clone)]
pub(super) struct Posterior {
    /// Their sizes.
    pub mean: DVector<f64>,
    /// Their covariance.
    pub covariance: DMatrix<f64>,
    /// Noise as the rest shows it.
    pub noise: Noise,
    /// Root of the mean square of what is left of each component.
    pub rest: f64,
    /// Twice the negative logarithm of the fit's likelihood and prior, but for a constant.
    pub misfit: f64,
}

impl Posterior {
    /// Mean and variance of a weighted sum of sizes.
    pub(super) fn of(&self, weights: &DVector<f64>) -> (f64, f64) {
        let variance = (&self.covariance * weights).dot(weights);
        (self.mean.dot(weights), variance.max(0.0))
    }
}

/// Explains a reading by columns. `floor` is the least standard deviation of the noise.
pub(super) fn explain(
    reading: &[Vector3<f64>],
    columns: &[Column],
    noise: Noise,
    floor: f64,
) -> Option<Posterior> {
    let points = reading.len().checked_sub(1)?;
    let memory = noise.memory_ratio;
    let whitened = |values: &[Vector3<f64>]| -> Vec<f64> {
        let fresh = |(before, now): (&Vector3<f64>, &Vector3<f64>)| now - before * memory;
        let pairs = values.iter().zip(values.iter().skip(1)).map(fresh);
        pairs.flat_map(|v| [v.x, v.y, v.z]).collect()
    };
    let means = DVector::from_iterator(columns.len(), columns.iter().map(|c| c.mean));
    let deviations = DVector::from_iterator(columns.len(), columns.iter().map(|c| c.deviation));
    let mut design = DMatrix::zeros(3 * points, columns.len());
    for (index, column) in columns.iter().enumerate() {
        let values = DVector::from_vec(whitened(&column.values));
        if values.len() != 3 * points {
            return None;
        }
        design.set_column(index, &values);
    }
    let target = DVector::from_vec(whitened(reading)) - &design * &means;
    for (mut column, deviation) in design.column_iter_mut().zip(deviations.iter()) {
        column *= *deviation;
    }
    let mut normal = design.tr_mul(&design) / noise.fresh_variance;
    for index in 0..columns.len() {
        if let Some(entry) = normal.get_mut((index, index)) {
            *entry += 1.0;
        }
    }
    let right = design.tr_mul(&target) / noise.fresh_variance;
    let cholesky = Cholesky::new(normal)?;
    let sizes = cholesky.solve(&right);
    let rest = &target - &design * &sizes;
    let mut covariance = cholesky.inverse();
    for (row, a) in deviations.iter().enumerate() {
        for (column, b) in deviations.iter().enumerate() {
            if let Some(entry) = covariance.get_mut((row, column)) {
                *entry *= a * b;
            }
        }
    }
    let mean = &means + sizes.component_mul(&deviations);
    let (found, left) = noise_of(reading, columns, &mean, floor);
    let misfit = rest.norm_squared() / noise.fresh_variance
        + sizes.norm_squared()
        + rest.len() as f64 * noise.fresh_variance.ln();
    Some(Posterior {
        mean,
        covariance,
        noise: found,
        rest: left,
        misfit,
    })
}

/// The noise that a fit leaves and the size of what it leaves, the former with white noise of the floor's size added to it.
fn noise_of(
    reading: &[Vector3<f64>],
    columns: &[Column],
    sizes: &DVector<f64>,
    floor: f64,
) -> (Noise, f64) {
    let mut rest = reading.to_vec();
    for (column, size) in columns.iter().zip(sizes.iter()) {
        for (left, value) in rest.iter_mut().zip(&column.values) {
            *left -= value * *size;
        }
    }
    let count = (3 * rest.len()).max(1) as f64;
    let square: f64 = rest.iter().map(Vector3::norm_squared).sum::<f64>() / count;
    let pairs = rest.iter().zip(rest.iter().skip(1));
    let product: f64 = pairs.map(|(a, b)| a.dot(b)).sum::<f64>() / count;
    let left = square.sqrt();
    let square = square + floor * floor;
    let memory_ratio = (product / square).clamp(0.0, 0.98);
    let noise = Noise {
        memory_ratio,
        fresh_variance: square * (1.0 - memory_ratio * memory_ratio),
    };
    (noise, left)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

    use super::*;

    /// Closed form: one column, white noise. Precision adds up: n x² / v + 1 / d².
    #[test]
    fn one_column_has_the_textbook_mean_and_variance() {
        let reading = vec![Vector3::new(2.0, 0.0, 0.0); 11];
        let column = Column {
            values: vec![Vector3::new(1.0, 0.0, 0.0); 11],
            mean: 0.5,
            deviation: 0.3,
        };
        let noise = Noise {
            memory_ratio: 0.0,
            fresh_variance: 0.25,
        };
        let found = explain(&reading, &[column], noise, 0.01).unwrap();
        let precision = 10.0 / 0.25 + 1.0 / 0.09;
        let mean = (10.0 * 2.0 / 0.25 + 0.5 / 0.09) / precision;
        let (size, variance) = found.of(&DVector::from_vec(vec![1.0]));
        assert!((size - mean).abs() < 1e-12);
        assert!((variance - 1.0 / precision).abs() < 1e-12);
    }
}

//! A whole set in few columns: the lowest and the highest angle of each.

use serde::Serialize;

/// Columns at most: more than a screen is wide.
const COLUMNS_MOST: usize = 2000;
/// A column is at least so long, seconds.
const COLUMN_LEAST_S: f64 = 0.05;

/// The lowest and the highest angle of each column; `None` where it holds no point.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outline {
    /// Length of a column, seconds; the first begins with the curve.
    pub column_s: f64,
    /// Lowest angles, degrees.
    pub low_deg: Vec<Option<f32>>,
    /// Highest angles, degrees.
    pub high_deg: Vec<Option<f32>>,
}

/// The outline of points (seconds, degrees) between two times.
pub fn outline(start_s: f64, end_s: f64, points: impl Iterator<Item = (f64, f32)>) -> Outline {
    let lasting_s = (end_s - start_s).max(COLUMN_LEAST_S);
    let count = ((lasting_s / COLUMN_LEAST_S) as usize).clamp(1, COLUMNS_MOST);
    let column_s = lasting_s / count as f64;
    let mut low_deg: Vec<Option<f32>> = vec![None; count];
    let mut high_deg: Vec<Option<f32>> = vec![None; count];
    for (t_s, angle_deg) in points {
        let column = (((t_s - start_s) / column_s) as usize).min(count - 1);
        if let Some(low) = low_deg.get_mut(column) {
            *low = Some(low.map_or(angle_deg, |so_far| so_far.min(angle_deg)));
        }
        if let Some(high) = high_deg.get_mut(column) {
            *high = Some(high.map_or(angle_deg, |so_far| so_far.max(angle_deg)));
        }
    }
    Outline {
        column_s,
        low_deg,
        high_deg,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_become_a_bounded_number_of_columns_that_keep_every_extreme() {
        let points = (0..720_000).map(|n| (f64::from(n) * 0.02, (n % 1000) as f32));
        let outline = outline(0.0, 14_400.0, points);
        assert_eq!(outline.low_deg.len(), COLUMNS_MOST);
        assert_eq!(outline.high_deg.len(), COLUMNS_MOST);
        // 7.2 s a column, 360 points: every third column or so holds the highest of them all.
        assert!(outline.high_deg.contains(&Some(999.0)));
        assert!(outline.low_deg.contains(&Some(0.0)));
        assert!(outline.low_deg.iter().all(Option::is_some));
    }

    #[test]
    fn a_column_without_points_is_unknown() {
        let points = [(0.0, 1.0), (0.01, 3.0), (0.99, 2.0)];
        let outline = outline(0.0, 1.0, points.into_iter());
        assert_eq!(outline.low_deg.len(), 20);
        assert_eq!(outline.low_deg.first(), Some(&Some(1.0)));
        assert_eq!(outline.high_deg.first(), Some(&Some(3.0)));
        assert_eq!(outline.low_deg.get(1..19), Some([None; 18].as_slice()));
        assert_eq!(outline.low_deg.last(), Some(&Some(2.0)));
    }

    #[test]
    fn a_single_point_is_one_column() {
        let outline = outline(5.0, 5.0, [(5.0, 7.0)].into_iter());
        assert_eq!(outline.high_deg, [Some(7.0)]);
    }
}

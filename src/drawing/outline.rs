//! Outlines in the plane of the picture: hulls of circles, as exact arcs and straight lines.
//!
//! Ours: a limb seen from anywhere is the hull of the circles that its balls become, so that one
//! rule draws fingers, palms and forearms from every side.

use std::f64::consts::TAU;

/// A point of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// To the right.
    pub x: f64,
    /// Up while in centimetres, down once placed on the page.
    pub y: f64,
}

/// A circle of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Circle {
    /// Its centre.
    pub centre: Spot,
    /// Its radius, in the unit of the centre.
    pub radius: f64,
}

impl Circle {
    /// The point of the circle in a direction, and how far along that direction it lies.
    fn reach(self, angle_rad: f64) -> (Spot, f64) {
        let (sin, cos) = angle_rad.sin_cos();
        let spot = Spot {
            x: self.centre.x + self.radius * cos,
            y: self.centre.y + self.radius * sin,
        };
        (spot, spot.x * cos + spot.y * sin)
    }
}

/// One step of a closed outline: an arc through spots at most a quarter of a circle apart, so that
/// rounded numbers still give the same arc. A straight line leads here from the arc before.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Turn {
    /// From its beginning to its end.
    pub spots: Vec<Spot>,
    /// Radius of the arc.
    pub radius: f64,
}

/// Directions tried for the order of circles along a hull.
const DIRECTIONS: usize = 360;

/// The hull of circles, as arcs in the order of growing angle. Angles are in the circles' own
/// axes. No circles have no hull.
pub(super) fn hull(circles: &[Circle]) -> Vec<Turn> {
    let farthest = |angle_rad: f64| {
        circles
            .iter()
            .enumerate()
            .map(|(place, circle)| (place, circle.reach(angle_rad).1))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(place, _)| place)
    };
    let step_rad = TAU / DIRECTIONS as f64;
    // Beside the axes, where the sides of upright things tie.
    let angles_rad = (0..DIRECTIONS).map(|direction| (direction as f64 + 0.37) * step_rad);
    let places: Vec<(f64, usize)> = angles_rad
        .filter_map(|angle_rad| Some((angle_rad, farthest(angle_rad)?)))
        .collect();
    let mut changes: Vec<(f64, usize)> = Vec::new();
    for (&(angle_rad, here), &(_, next)) in places.iter().zip(places.iter().cycle().skip(1)) {
        if here == next {
            continue;
        }
        let (mut low, mut high) = (angle_rad, angle_rad + step_rad);
        for _ in 0..30 {
            let middle = (low + high) / 2.0;
            if farthest(middle) == Some(here) {
                low = middle;
            } else {
                high = middle;
            }
        }
        changes.push((high, next));
    }
    let arc = |circle: Circle, from_rad: f64, to_rad: f64| {
        let pieces = ((to_rad - from_rad) / (TAU / 4.0)).ceil().max(1.0);
        let spots = (0..=pieces as u32)
            .map(|piece| from_rad + (to_rad - from_rad) * f64::from(piece) / pieces)
            .map(|angle_rad| circle.reach(angle_rad).0)
            .collect();
        Turn {
            spots,
            radius: circle.radius,
        }
    };
    if changes.is_empty() {
        // One circle covers all others.
        return farthest(0.0)
            .and_then(|place| circles.get(place))
            .map(|circle| vec![arc(*circle, 0.0, TAU)])
            .unwrap_or_default();
    }
    let ends = changes.iter().skip(1).map(|change| change.0);
    let last = changes.first().map(|change| change.0 + TAU);
    changes
        .iter()
        .zip(ends.chain(last))
        .filter_map(|((from_rad, place), to_rad)| {
            Some(arc(*circles.get(*place)?, *from_rad, to_rad))
        })
        .collect()
}

/// The convex polygon around points, anticlockwise in axes with y up (Andrew's monotone chain).
///
/// Source: Andrew, Information Processing Letters 9:216-219, 1979.
pub(super) fn convex(points: &[Spot]) -> Vec<Spot> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = Spot>| {
        let mut chain: Vec<Spot> = Vec::new();
        for point in points {
            while let [.., a, b] = chain.as_slice() {
                if (b.x - a.x) * (point.y - a.y) - (b.y - a.y) * (point.x - a.x) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(point);
        }
        chain.pop();
        chain
    };
    let mut around = half(&mut sorted.iter().copied());
    around.extend(half(&mut sorted.iter().rev().copied()));
    around
}

/// Straight strokes at half a right angle that fill a convex polygon, `gap` apart.
pub(super) fn hatch(polygon: &[Spot], gap: f64) -> Vec<[Spot; 2]> {
    let slant = std::f64::consts::FRAC_1_SQRT_2;
    let across = |spot: &Spot| (spot.x - spot.y) * slant;
    let along = |spot: &Spot| (spot.x + spot.y) * slant;
    let low = polygon.iter().map(across).fold(f64::INFINITY, f64::min);
    let high = polygon.iter().map(across).fold(f64::NEG_INFINITY, f64::max);
    let mut strokes = Vec::new();
    let mut level = low + gap / 2.0;
    while level < high {
        let mut cuts: Vec<f64> = polygon
            .iter()
            .zip(polygon.iter().cycle().skip(1))
            .filter_map(|(a, b)| {
                let (from, to) = (across(a), across(b));
                let share = (level - from) / (to - from);
                (from != to && (0.0..1.0).contains(&share))
                    .then(|| along(a) + share * (along(b) - along(a)))
            })
            .collect();
        cuts.sort_by(f64::total_cmp);
        if let (Some(&start), Some(&end)) = (cuts.first(), cuts.last()) {
            strokes.push([start, end].map(|far| Spot {
                x: (far + level) * slant,
                y: (far - level) * slant,
            }));
        }
        level += gap;
    }
    strokes
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]

    use super::*;

    fn circle(x: f64, y: f64, radius: f64) -> Circle {
        Circle {
            centre: Spot { x, y },
            radius,
        }
    }

    fn ends(turn: &Turn) -> (Spot, Spot) {
        (turn.spots[0], turn.spots[turn.spots.len() - 1])
    }

    fn apart(from: Spot, to: Spot) -> f64 {
        (from.x - to.x).hypot(from.y - to.y)
    }

    /// Closed form: two equal circles give a stadium of two half circles.
    #[test]
    fn two_equal_circles_give_a_stadium() {
        let turns = hull(&[circle(0.0, 0.0, 1.0), circle(4.0, 0.0, 1.0)]);
        assert_eq!(turns.len(), 2);
        for turn in turns {
            let (from, to) = ends(&turn);
            assert!((from.x - to.x).abs() < 1e-6);
            assert!((apart(from, to) - 2.0).abs() < 1e-6);
        }
    }

    /// Closed form: the touching line of circles of radius 1 and 2, centres 4 apart, leans by
    /// asin(1/4).
    #[test]
    fn the_sides_of_a_tapered_capsule_touch_both_circles() {
        let turns = hull(&[circle(0.0, 0.0, 1.0), circle(4.0, 0.0, 2.0)]);
        assert_eq!(turns.len(), 2);
        let length = apart(ends(&turns[0]).1, ends(&turns[1]).0);
        assert!((length - 15.0_f64.sqrt()).abs() < 1e-6, "{length}");
    }

    #[test]
    fn a_covered_circle_leaves_no_trace() {
        let alone = hull(&[circle(0.0, 0.0, 3.0)]);
        assert_eq!(hull(&[circle(0.0, 0.0, 3.0), circle(0.5, 0.2, 1.0)]), alone);
        assert!(hull(&[]).is_empty());
    }

    /// Sides along the axes, where two circles tie: every corner has its quarter.
    #[test]
    fn a_rounded_square_has_four_quarters() {
        let corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        let circles: Vec<Circle> = corners.iter().map(|(x, y)| circle(*x, *y, 1.0)).collect();
        let mut twice = circles.clone();
        twice.extend(circles.iter().rev());
        for circles in [circles, twice] {
            let turns = hull(&circles);
            let quarter = |turn: &&Turn| apart(ends(turn).0, ends(turn).1) > 1.4;
            assert_eq!(turns.iter().filter(quarter).count(), 4, "{turns:?}");
            let left = turns.iter().flat_map(|turn| &turn.spots).map(|spot| spot.x);
            assert!((left.fold(9.0, f64::min) + 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn inner_points_are_no_corners() {
        let spot = |x, y| Spot { x, y };
        let corners = convex(&[
            spot(0.0, 0.0),
            spot(2.0, 0.0),
            spot(1.0, 1.0),
            spot(2.0, 2.0),
            spot(0.0, 2.0),
        ]);
        assert_eq!(corners.len(), 4);
        for [a, b] in hatch(&corners, 0.5) {
            for end in [a, b] {
                assert!((-1e-9..=2.0 + 1e-9).contains(&end.x));
                assert!((-1e-9..=2.0 + 1e-9).contains(&end.y));
            }
        }
    }
}

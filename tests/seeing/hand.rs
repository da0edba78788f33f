//! The drawn hand: its parts, which way it turns, and the left as the right mirrored.

use carpotempo::drawing::turning_drawing;
use carpotempo::movement::{Movement, Side};

const BENDS: [Movement; 4] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
];

/// The sign, where the hand's group stands, and the points of its paths.
fn read(svg: &str) -> (f64, (f64, f64), Vec<(f64, f64)>) {
    let at = svg.find("class=\"drawing-turning\"").unwrap();
    let before = &svg[..at];
    let place = before.rsplit_once("translate(").unwrap().1;
    let mut numbers = place
        .split([' ', ')'])
        .map(|own| own.parse::<f64>().unwrap_or(f64::NAN));
    let wrist = (numbers.next().unwrap(), numbers.next().unwrap());
    let sign = svg[at..].split("data-turn=\"").nth(1).unwrap();
    let sign = sign.split('"').next().unwrap().parse().unwrap();
    let group = svg[at..].split("</g>").next().unwrap();
    let mut points = Vec::new();
    for path in group.split(" d=\"").skip(1) {
        let path = path.split('"').next().unwrap();
        for step in path.split(['M', 'L']).skip(1) {
            let mut own = step
                .split([' ', 'A', 'Z'])
                .map(|own| own.parse::<f64>().unwrap());
            points.push((own.next().unwrap(), own.next().unwrap()));
        }
    }
    (sign, wrist, points)
}

/// The middle of the hand after a turn by so many degrees, as SVG turns: with the clock.
fn middle(points: &[(f64, f64)], deg: f64) -> (f64, f64) {
    let count = points.len() as f64;
    let x: f64 = points.iter().map(|own| own.0).sum::<f64>() / count;
    let y: f64 = points.iter().map(|own| own.1).sum::<f64>() / count;
    let (sin, cos) = deg.to_radians().sin_cos();
    (x * cos - y * sin, x * sin + y * cos)
}

#[test]
fn a_lift_goes_up_on_both_sides_and_stays_within_the_picture() {
    for movement in BENDS {
        for loaded in [false, true] {
            for side in [Side::Right, Side::Left] {
                let svg = turning_drawing(Some(movement), side, loaded);
                let (sign, wrist, points) = read(&svg);
                assert_eq!(f64::abs(sign), 1.0);
                let still = middle(&points, 0.0);
                let lifted = middle(&points, sign * 40.0);
                assert!(
                    lifted.1 < still.1 - 20.0,
                    "{movement:?} {side:?}: {still:?} {lifted:?}"
                );
                for (x, y) in &points {
                    assert!(
                        x.hypot(*y) < 140.0,
                        "{movement:?}: turns out of the picture"
                    );
                }
                assert!((0.0..=360.0).contains(&wrist.0) && (0.0..=280.0).contains(&wrist.1));
            }
            let [right, left] = [Side::Right, Side::Left]
                .map(|side| read(&turning_drawing(Some(movement), side, loaded)));
            assert_eq!(left.0, -right.0);
            assert_eq!(left.1.0, 360.0 - right.1.0);
            assert_eq!(left.2.len(), right.2.len());
        }
    }
}

/// Seen from the front a right thumb goes to the left of the picture, which is outward, in supination.
#[test]
fn rotations_turn_against_each_other_and_an_unknown_movement_is_a_bend() {
    let sign = |movement, side| read(&turning_drawing(Some(movement), side, true)).0;
    assert_eq!(sign(Movement::Supination, Side::Right), -1.0);
    assert_eq!(sign(Movement::Pronation, Side::Right), 1.0);
    assert_eq!(sign(Movement::Supination, Side::Left), 1.0);
    let bend = turning_drawing(Some(Movement::WristExtension), Side::Left, false);
    assert_eq!(turning_drawing(None, Side::Left, false), bend);
    for text in [
        bend,
        turning_drawing(Some(Movement::Supination), Side::Left, false),
    ] {
        assert!(!text.contains("style=") && !text.contains("<script") && !text.contains("id="));
        assert!(text.contains("role=\"img\"") && text.contains("<title>"));
    }
}

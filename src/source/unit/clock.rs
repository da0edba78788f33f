//! How a unit's clock runs against this computer's, from arrivals alone.
//!
//! Arrival minus unit time is offset + drift + delay, and the delay is never negative: the truth is
//! a straight line under all points. The line taken is the highest one in the sense of the smallest
//! sum of distances.
//!
//! Source: S. B. Moon, P. Skelly, D. Towsley, "Estimation and removal of clock skew from network
//! delay measurements", Proc. IEEE INFOCOM 1999, vol. 1, pp. 227-234: the line by linear
//! programming; L. Zhang, Z. Liu, C. H. Xia, "Clock synchronization algorithms for network
//! measurements", Proc. IEEE INFOCOM 2002: the same line is the edge of the lower convex hull that
//! spans the mean of the times. Ours: the hull grows point by point with bounded memory, and the
//! error. Over a radio, packets leave at the connection's own beat. Where sampling is in step with
//! that beat, the delay takes a few values only, and a drift stays hidden until it has moved a
//! sample from one beat to the next: a step between the delays that occur, over the time, is part of
//! the error.

use super::beat::Delays;

/// Most corners of the hull that are kept. Random delays need a few dozen.
const MOST_CORNERS: usize = 512;
/// Most blocks whose fastest packets are kept; beyond, neighbours are joined.
const MOST_BLOCKS: usize = 128;
/// Length of a block at first, seconds.
const FIRST_BLOCK_S: f64 = 1.0;
/// The error is not estimated from fewer blocks.
const LEAST_BLOCKS: usize = 4;
/// Share of the blocks whose fastest packet is taken to lie within the error.
const COVERED_RATIO: f64 = 0.9;
/// What a computer's own scheduling leaves uncertain at least, seconds ("common practice, no
/// source").
const LEAST_ERROR_S: f64 = 50e-6;
/// A drift that is less certain than this does not tilt the line that delays are measured from,
/// parts per million.
const TILT_ERROR_PPM: f64 = 100.0;

/// How a unit's clock runs against this computer's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClockEstimate {
    /// This computer's time of the fastest arrival minus the unit's time, at `unit_s`, seconds: the
    /// clocks' offset plus the shortest delay, which arrivals alone cannot tell apart.
    pub offset_s: f64,
    /// The unit's time that the offset is for: the latest, seconds.
    pub unit_s: f64,
    /// How much faster the unit's clock runs than this computer's, parts per million.
    pub drift_ppm: f64,
    /// How wrong the drift can be, parts per million; `None` where the time is too short to say.
    pub drift_error_ppm: Option<f64>,
    /// From the first packet to the latest, seconds of the unit's clock.
    pub span_s: f64,
    /// Packets used.
    pub packets_count: u64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Point {
    /// Unit's time since the first packet, seconds.
    x_s: f64,
    /// Arrival minus unit's time, less that of the first packet, seconds.
    y_s: f64,
}

#[derive(Debug, Clone, Copy)]
struct Line {
    /// At x = 0, seconds.
    level_s: f64,
    /// Seconds per second.
    slope_ratio: f64,
}

impl Line {
    fn above_s(&self, point: Point) -> f64 {
        point.y_s - self.level_s - self.slope_ratio * point.x_s
    }
}

/// The fastest packet of a stretch of time.
#[derive(Debug, Clone, Copy)]
struct Block {
    number: u64,
    fastest: Point,
}

/// The lower envelope of arrival minus unit time.
#[derive(Debug, Clone)]
pub struct ClockEnvelope {
    /// Unit's time and arrival of the first packet, seconds.
    first_s: Option<(f64, f64)>,
    corners: Vec<Point>,
    count: u64,
    mean_x_s: f64,
    blocks: Vec<Block>,
    block_s: f64,
    delays: Delays,
    /// Slope as last computed: it tells the fastest packet of a block.
    slope_ratio: f64,
}

impl Default for ClockEnvelope {
    fn default() -> ClockEnvelope {
        ClockEnvelope {
            first_s: None,
            corners: Vec::new(),
            count: 0,
            mean_x_s: 0.0,
            blocks: Vec::new(),
            block_s: FIRST_BLOCK_S,
            delays: Delays::new(),
            slope_ratio: 0.0,
        }
    }
}

impl ClockEnvelope {
    /// Nothing known.
    pub fn new() -> ClockEnvelope {
        ClockEnvelope::default()
    }

    /// Takes a packet whose newest sample has the time `unit_s` on the unit's clock and which
    /// arrived at `arrival_s` on this computer's. Packets that go back in the unit's time, and
    /// numbers that are none, are left out.
    pub fn push(&mut self, unit_s: f64, arrival_s: f64) {
        let (unit_0_s, arrival_0_s) = *self.first_s.get_or_insert((unit_s, arrival_s));
        let point = Point {
            x_s: unit_s - unit_0_s,
            y_s: (arrival_s - unit_s) - (arrival_0_s - unit_0_s),
        };
        if !point.x_s.is_finite() || !point.y_s.is_finite() {
            if self.corners.is_empty() {
                self.first_s = None;
            }
            return;
        }
        match self.corners.last() {
            Some(last) if point.x_s < last.x_s => return,
            Some(last) if point.x_s == last.x_s => {
                if point.y_s >= last.y_s {
                    return;
                }
                self.corners.pop();
            }
            _ => {}
        }
        self.count += 1;
        self.mean_x_s += (point.x_s - self.mean_x_s) / self.count as f64;
        self.add_corner(point);
        self.add_to_block(point);
        if self.blocks.len() >= LEAST_BLOCKS
            && let Some(line) = self.line()
        {
            self.delays.push(line.above_s(point));
        }
    }

    fn add_corner(&mut self, point: Point) {
        while let [.., before, last] = self.corners.as_slice()
            && turn(before, last, &point) <= 0.0
        {
            self.corners.pop();
        }
        self.corners.push(point);
        if self.corners.len() > MOST_CORNERS {
            self.drop_flattest_corner();
        }
    }

    /// Leaves out the corner that changes the envelope least.
    fn drop_flattest_corner(&mut self) {
        let flattest = self
            .corners
            .windows(3)
            .enumerate()
            .filter_map(|(at, three)| match three {
                [a, b, c] => Some((at + 1, turn(a, b, c))),
                _ => None,
            })
            .min_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((at, _)) = flattest {
            self.corners.remove(at);
        }
    }

    fn add_to_block(&mut self, point: Point) {
        let number = (point.x_s / self.block_s) as u64;
        match self.blocks.last_mut() {
            Some(block) if block.number >= number => {
                *block = faster(*block, point, self.slope_ratio);
            }
            _ => self.blocks.push(Block {
                number,
                fastest: point,
            }),
        }
        if self.blocks.len() <= MOST_BLOCKS {
            return;
        }
        self.slope_ratio = self.line().map_or(0.0, |line| line.slope_ratio);
        while self.blocks.len() > MOST_BLOCKS {
            self.block_s *= 2.0;
            let mut joined: Vec<Block> = Vec::with_capacity(self.blocks.len());
            for block in self.blocks.drain(..) {
                let number = block.number / 2;
                match joined.last_mut() {
                    Some(last) if last.number == number => {
                        *last = faster(*last, block.fastest, self.slope_ratio);
                    }
                    _ => joined.push(Block { number, ..block }),
                }
            }
            self.blocks = joined;
        }
    }

    /// The edge of the hull that spans the mean of the times.
    fn line(&self) -> Option<Line> {
        let beyond = self.corners.partition_point(|c| c.x_s <= self.mean_x_s);
        let edge = self
            .corners
            .get(beyond.saturating_sub(1))
            .zip(self.corners.get(beyond));
        let Some((a, b)) = edge else {
            return self.corners.last().map(|only| Line {
                level_s: only.y_s,
                slope_ratio: 0.0,
            });
        };
        let slope_ratio = (b.y_s - a.y_s) / (b.x_s - a.x_s);
        Some(Line {
            level_s: a.y_s - slope_ratio * a.x_s,
            slope_ratio,
        })
    }

    /// The level line under all points.
    fn level(&self) -> Option<Line> {
        let lowest = self.corners.iter().map(|c| c.y_s).reduce(f64::min)?;
        Some(Line {
            level_s: lowest,
            slope_ratio: 0.0,
        })
    }

    /// Twice the distance of the blocks' fastest packets from the line, because the line is held at
    /// two places about half of the time apart, and what the beat hides; over the time.
    fn error_ppm(&self, line: &Line) -> Option<f64> {
        let span_s = self.corners.last()?.x_s;
        if self.blocks.len() < LEAST_BLOCKS || span_s <= 0.0 {
            return None;
        }
        let mut above: Vec<f64> = self
            .blocks
            .iter()
            .map(|block| line.above_s(block.fastest).abs())
            .collect();
        above.sort_by(f64::total_cmp);
        let at = (COVERED_RATIO * (above.len() - 1) as f64).ceil() as usize;
        let error_s = above.get(at)?.max(LEAST_ERROR_S);
        let packet_s = span_s / self.count.saturating_sub(1).max(1) as f64;
        Some(1e6 * (2.0 * error_s + self.delays.hidden_s(packet_s)) / span_s)
    }

    /// The estimate so far; `None` before the first packet.
    pub fn estimate(&self) -> Option<ClockEstimate> {
        let (unit_0_s, arrival_0_s) = self.first_s?;
        let line = self.line()?;
        let last = self.corners.last()?;
        Some(ClockEstimate {
            offset_s: (arrival_0_s - unit_0_s) + line.level_s + line.slope_ratio * last.x_s,
            unit_s: unit_0_s + last.x_s,
            drift_ppm: 1e6 * (1.0 / (1.0 + line.slope_ratio) - 1.0),
            drift_error_ppm: self.error_ppm(&line),
            span_s: last.x_s,
            packets_count: self.count,
        })
    }

    /// Points that are kept of all that came; never more than about a thousand.
    pub fn kept_count(&self) -> usize {
        self.corners.len() + self.blocks.len() + super::beat::DELAY_STEPS
    }

    /// How much later than the fastest a sample came, seconds, by what is known so far: the line
    /// where the drift is certain enough, the level of the fastest packet otherwise. `None` before
    /// the first packet.
    pub fn lateness_s(&self, unit_s: f64, arrival_s: f64) -> Option<f64> {
        self.reference().lateness_s(unit_s, arrival_s)
    }

    /// What delays are measured from, fixed as of now: cheaper than [`ClockEnvelope::lateness_s`]
    /// for many samples.
    pub fn reference(&self) -> FastestArrival {
        let tilted = self.line().filter(|line| {
            self.error_ppm(line)
                .is_some_and(|error_ppm| error_ppm <= TILT_ERROR_PPM)
        });
        FastestArrival {
            first_s: self.first_s,
            line: tilted.or_else(|| self.level()),
        }
    }
}

/// When the fastest packet with a sample of some time would have arrived.
#[derive(Debug, Clone, Copy)]
pub struct FastestArrival {
    first_s: Option<(f64, f64)>,
    line: Option<Line>,
}

impl FastestArrival {
    /// How much later than the fastest a sample came, seconds; `None` where nothing is known.
    pub fn lateness_s(&self, unit_s: f64, arrival_s: f64) -> Option<f64> {
        let (unit_0_s, arrival_0_s) = self.first_s?;
        let point = Point {
            x_s: unit_s - unit_0_s,
            y_s: (arrival_s - unit_s) - (arrival_0_s - unit_0_s),
        };
        Some(self.line?.above_s(point).max(0.0))
    }
}

/// Twice the area of the triangle, positive where the way from a over b to c turns left.
fn turn(a: &Point, b: &Point, c: &Point) -> f64 {
    (b.x_s - a.x_s) * (c.y_s - a.y_s) - (b.y_s - a.y_s) * (c.x_s - a.x_s)
}

fn faster(block: Block, point: Point, slope_ratio: f64) -> Block {
    let height_s = |p: Point| p.y_s - slope_ratio * p.x_s;
    let is_faster = height_s(point) < height_s(block.fastest);
    Block {
        number: block.number,
        fastest: if is_faster { point } else { block.fastest },
    }
}

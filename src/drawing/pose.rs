//! How a hand is held: joint angles of the fingers, directions of the thumb's bones.
//!
//! Ours: angles chosen by eye for what the pose is called.

/// A finger's bends in degrees, 0 straight; the splay is positive to the thumb side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Finger {
    /// At the knuckle.
    pub mcp_deg: f64,
    /// At the middle joint.
    pub pip_deg: f64,
    /// At the end joint.
    pub dip_deg: f64,
}

/// The thumb: directions of its three bones and of its nail as distal, radial, palmar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Thumb {
    /// From the root outwards.
    pub bones: [[f64; 3]; 3],
    /// Where the nail looks, about.
    pub nail: [f64; 3],
}

/// How a hand is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HandPose {
    /// Index to little finger.
    pub fingers: [Finger; 4],
    /// Splay of index to little finger in degrees, positive to the thumb side.
    pub splay_deg: [f64; 4],
    /// The thumb.
    pub thumb: Thumb,
}

const CLOSE: [f64; 4] = [3.0, 0.8, -1.8, -5.0];

fn all(mcp_deg: f64, pip_deg: f64, dip_deg: f64) -> [Finger; 4] {
    [Finger {
        mcp_deg,
        pip_deg,
        dip_deg,
    }; 4]
}

impl Thumb {
    /// Beside the hand.
    pub const BESIDE: Thumb = Thumb {
        bones: [[0.78, 0.58, 0.25], [0.93, 0.35, 0.10], [0.98, 0.20, 0.05]],
        nail: [0.0, 0.55, -0.8],
    };
    /// Stretched out to the side.
    pub const OUT: Thumb = Thumb {
        bones: [[0.66, 0.74, 0.15], [0.58, 0.81, 0.05], [0.52, 0.85, -0.05]],
        nail: [0.0, 0.2, -0.95],
    };
    /// As far out as it goes.
    pub const WIDE: Thumb = Thumb {
        bones: [[0.50, 0.85, 0.15], [0.32, 0.94, 0.05], [0.20, 0.97, -0.05]],
        nail: [0.0, 0.2, -0.95],
    };
    /// Across the bent fingers.
    pub const ACROSS: Thumb = Thumb {
        bones: [[0.72, 0.35, 0.60], [0.66, -0.20, 0.72], [0.35, -0.92, 0.15]],
        nail: [0.45, 0.1, 0.88],
    };
    /// Laid along the side of the bent index finger.
    pub const ALONG: Thumb = Thumb {
        bones: [[0.76, 0.52, 0.40], [0.78, 0.06, 0.62], [0.55, -0.50, 0.66]],
        nail: [-0.1, 0.8, 0.6],
    };
}

impl HandPose {
    /// Flat, fingers together, thumb beside.
    pub const fn flat() -> HandPose {
        HandPose {
            fingers: [Finger {
                mcp_deg: 0.0,
                pip_deg: 0.0,
                dip_deg: 0.0,
            }; 4],
            splay_deg: CLOSE,
            thumb: Thumb::BESIDE,
        }
    }

    /// Loose: fingers a little bent.
    pub fn loose() -> HandPose {
        HandPose {
            fingers: all(22.0, 28.0, 14.0),
            ..HandPose::flat()
        }
    }

    /// Fingers and thumb spread wide.
    pub fn spread() -> HandPose {
        HandPose {
            splay_deg: [16.0, 3.0, -12.0, -27.0],
            thumb: Thumb::OUT,
            ..HandPose::flat()
        }
    }

    /// Around a handle.
    pub fn grip() -> HandPose {
        HandPose {
            fingers: all(66.0, 88.0, 50.0),
            thumb: Thumb::ACROSS,
            ..HandPose::flat()
        }
    }

    /// A loose fist, the thumb beside the index finger.
    pub fn loose_fist() -> HandPose {
        HandPose {
            fingers: all(68.0, 88.0, 48.0),
            thumb: Thumb::ALONG,
            ..HandPose::flat()
        }
    }

    /// A full fist, the thumb across.
    pub fn fist() -> HandPose {
        HandPose {
            fingers: all(80.0, 98.0, 60.0),
            thumb: Thumb::ACROSS,
            ..HandPose::flat()
        }
    }

    /// Knuckles straight, the other joints bent.
    pub fn hook() -> HandPose {
        HandPose {
            fingers: all(2.0, 92.0, 72.0),
            ..HandPose::flat()
        }
    }

    /// Knuckles bent, fingers straight.
    pub fn tabletop() -> HandPose {
        HandPose {
            fingers: all(86.0, 0.0, 0.0),
            ..HandPose::flat()
        }
    }

    /// Knuckles and middle joints bent, fingertips straight onto the palm.
    pub fn straight_fist() -> HandPose {
        HandPose {
            fingers: all(84.0, 94.0, 4.0),
            ..HandPose::flat()
        }
    }
}

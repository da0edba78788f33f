//! Settings of the calibration's prompts (common practice, no source, where nothing else is named).

use serde::{Deserialize, Serialize};

/// Settings of the prompts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct CalibratingParams {
    /// Stillness before the movement is asked for, seconds (1.8). The pipeline needs 0.8; less
    /// settles the gyroscope's bias worse, more tries patience. 1.2 to 5.
    pub still_s: f64,
    /// The end of the stillness that is left out, seconds (0.15): the beginning of a movement
    /// passes for stillness.
    pub edge_s: f64,
    /// Turn away from the still pose that is the movement, degrees (6). Less is a fidget.
    pub leaves_deg: f64,
    /// A movement that came back and went no further than this is a fidget, degrees (10).
    pub fidget_deg: f64,
    /// A turn of this much that stays under the movement's is a small one, degrees (1.2),
    pub small_turn_deg: f64,
    /// and after so many of them the sensor may sit on the forearm (2).
    pub small_turns: u32,
    /// Back is within this share of the farthest (0.3).
    pub back_ratio: f64,
    /// The hand is quiet when it turned by less than this, degrees (2),
    pub quiet_deg: f64,
    /// in this time, seconds (0.4).
    pub quiet_s: f64,
    /// A prompt is repeated after this long, seconds (10).
    pub patience_s: f64,
    /// A hand that stays out so long is told to come back, seconds (3).
    pub out_s: f64,
    /// A movement may last so long, seconds (20); then it begins again.
    pub longest_s: f64,
}

impl Default for CalibratingParams {
    fn default() -> Self {
        CalibratingParams {
            still_s: 1.8,
            edge_s: 0.15,
            leaves_deg: 6.0,
            fidget_deg: 10.0,
            small_turn_deg: 1.2,
            small_turns: 2,
            back_ratio: 0.3,
            quiet_deg: 2.0,
            quiet_s: 0.4,
            patience_s: 10.0,
            out_s: 3.0,
            longest_s: 20.0,
        }
    }
}

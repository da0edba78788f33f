//! The rows of the check: each figure against its limits, in words.

use super::judged::Judged;
use super::limits;
use super::link::LinkFigures;
use super::still::{LEAST_STILL_S, StillFigures};
use super::{Limit, Mark, Observed, Row};
use crate::sample::GRAVITY_M_S2;
use crate::source::unit::clock::ClockEstimate;
use crate::source::unit::profile::Description;

const NOT_STILL: &str = "Unknown: it was not held still for long enough.";

pub(super) fn description(description: &Description) -> Row {
    let (mark, words) = match description.plausible() {
        Ok(()) => (Mark::Ok, "Good.".to_owned()),
        Err(error) => (Mark::Bad, error.to_string()),
    };
    Row {
        key: "description",
        name: "description",
        figure: None,
        error: None,
        unit: "",
        limit: String::new(),
        mark,
        words,
    }
}

pub(super) fn link(observed: &Observed<'_>, link: Option<&LinkFigures>) -> Vec<Row> {
    let none = "Unknown: too few samples came.";
    let figures = &observed.figures;
    let sent = figures.received_count + figures.lost_count;
    let lost = (sent > 0).then(|| figures.lost_count as f64 / sent as f64);
    let broken = figures.bad_count + figures.restarts_count;
    let ms = |limit: Limit| Limit {
        ok: limit.ok * 1e3,
        look: limit.look * 1e3,
    };
    let percent = |limit: Limit| Limit {
        ok: limit.ok * 100.0,
        look: limit.look * 100.0,
    };
    vec![
        rate(observed.description, link),
        Judged {
            key: "jitter_ms",
            name: "jitter of the time stamps",
            unit: "ms",
            limit: ms(limits::JITTER_S),
            to_do: "Stamp the time where the part says that a sample is ready, not where it is \
                    read or sent.",
        }
        .row(link.map(|link| 1e3 * link.jitter_s), none),
        Judged {
            key: "same_percent",
            name: "readings sent twice",
            unit: "%",
            limit: percent(limits::SAME_RATIO),
            to_do: "The unit sends readings again: read the part when a new sample is ready, and \
                    set its rate to the one described.",
        }
        .row(link.map(|link| 100.0 * link.same_ratio), none),
        Judged {
            key: "lost_percent",
            name: "lost samples",
            unit: "%",
            limit: percent(limits::LOST_RATIO),
            to_do: "Come nearer, keep the body out of the way, use fewer and larger packets or a \
                    lower rate.",
        }
        .row(lost.map(|lost| 100.0 * lost), none),
        Judged {
            key: "broken_count",
            name: "broken packets and restarts",
            unit: "",
            limit: Limit { ok: 0.0, look: 0.0 },
            to_do: "The unit starts again, or sends packets that firmware-notes does not know: \
                    look at its power and at its firmware.",
        }
        .row((figures.packets_count > 0).then_some(broken as f64), none),
        Judged {
            key: "latency_median_ms",
            name: "usual delay above the fastest",
            unit: "ms",
            limit: ms(limits::LATENCY_MEDIAN_S),
            to_do: "Ask for fewer samples in a packet and a shorter connection interval.",
        }
        .row(
            link.and_then(|link| link.latency_median_s).map(|s| 1e3 * s),
            none,
        ),
        Judged {
            key: "latency_p95_ms",
            name: "delay of the slowest twentieth",
            unit: "ms",
            limit: ms(limits::LATENCY_P95_S),
            to_do: "Come nearer; other radio traffic may be in the way.",
        }
        .row(
            link.and_then(|link| link.latency_p95_s).map(|s| 1e3 * s),
            none,
        ),
    ]
}

fn rate(description: &Description, link: Option<&LinkFigures>) -> Row {
    let nominal_hz = description.rate_hz();
    let rate_hz = link.map(|link| 1.0 / link.spacing_s);
    let mut row = Judged {
        key: "rate_hz",
        name: "sample rate",
        unit: "Hz",
        limit: limits::RATE_OFF_RATIO,
        to_do: "The rate is not the one described: set the part's rate, or correct the \
                description.",
    }
    .row_of_size(
        rate_hz,
        rate_hz.map(|rate_hz| (rate_hz / nominal_hz - 1.0).abs()),
        "Unknown: too few samples came.",
    );
    row.limit = format!(
        "good within {:.0} % of the {nominal_hz} Hz described and from {} Hz on, works within \
         {:.0} % and from {} Hz on",
        100.0 * limits::RATE_OFF_RATIO.ok,
        limits::RATE_OK_HZ,
        100.0 * limits::RATE_OFF_RATIO.look,
        limits::RATE_LOOK_HZ,
    );
    // Within half a per cent of the least rate is the least rate.
    let is_under = |least_hz: f64| rate_hz.is_some_and(|rate_hz| rate_hz < 0.995 * least_hz);
    if is_under(limits::RATE_LOOK_HZ) {
        row.mark = Mark::Bad;
        row.words = "Too slow for the times that are promised: set 100 Hz.".to_owned();
    } else if is_under(limits::RATE_OK_HZ) && row.mark == Mark::Ok {
        row.mark = Mark::Look;
        row.words = "Slow: short phases are timed better at 100 Hz.".to_owned();
    }
    row
}

pub(super) fn still(still: Option<&StillFigures>) -> Vec<Row> {
    let short = match still {
        Some(_) => "Unknown: too few samples in a row.",
        None => NOT_STILL,
    };
    let mut rows = vec![
        Judged {
            key: "gyro_noise_deg_s",
            name: "gyroscope noise",
            unit: "deg/s",
            limit: limits::GYRO_RMS_DEG_S,
            to_do: "Put the unit on a table that nothing shakes; switch the part's low-pass on.",
        }
        .row(still.map(|s| s.gyro_rms_deg_s), short),
        Judged {
            key: "gyro_noise_deg_s_rthz",
            name: "gyroscope noise density",
            unit: "deg/s/√Hz",
            limit: limits::GYRO_DENSITY_DEG_S_RTHZ,
            to_do: "Put the unit on a table that nothing shakes; use the part's low-noise mode.",
        }
        .row(still.and_then(|s| s.gyro_density_deg_s_rthz), short),
        Judged {
            key: "gyro_bias_deg_s",
            name: "gyroscope bias",
            unit: "deg/s",
            limit: limits::GYRO_BIAS_DEG_S,
            to_do: "Take the bias out in the firmware, measured once at room temperature; until \
                    then always start with a second or two held still.",
        }
        .row(still.map(|s| s.gyro_bias_deg_s), short),
        Judged {
            key: "accel_noise_m_s2",
            name: "accelerometer noise",
            unit: "m/s²",
            limit: limits::ACCEL_RMS_M_S2,
            to_do: "Put the unit on a table that nothing shakes; switch the part's low-pass on.",
        }
        .row(still.map(|s| s.accel_rms_m_s2), short),
        Judged {
            key: "accel_noise_micro_g_rthz",
            name: "accelerometer noise density",
            unit: "micro-g/√Hz",
            limit: limits::ACCEL_DENSITY_MICRO_G_RTHZ,
            to_do: "Put the unit on a table that nothing shakes; use the part's low-noise mode.",
        }
        .row(still.and_then(|s| s.accel_density_micro_g_rthz), short),
    ];
    let norm = still.map(|s| s.accel_norm_m_s2);
    let mut row = Judged {
        key: "accel_norm_m_s2",
        name: "gravity as it reads it",
        unit: "m/s²",
        limit: limits::ACCEL_OFF_M_S2,
        to_do: "Check the accelerometer's scale in the description; calibrate its zero on six \
                sides.",
    }
    .row_of_size(norm, norm.map(|norm| (norm - GRAVITY_M_S2).abs()), short);
    row.limit = format!(
        "good within {} m/s² of 9.81, works within {}",
        limits::ACCEL_OFF_M_S2.ok,
        limits::ACCEL_OFF_M_S2.look
    );
    rows.push(row);
    rows.push(Row {
        key: "still_s",
        name: "held still",
        figure: still.map(|s| s.still_s),
        error: None,
        unit: "s",
        limit: format!("{LEAST_STILL_S} s at least"),
        mark: if still.is_some() {
            Mark::Ok
        } else {
            Mark::Unknown
        },
        words: match still {
            Some(_) => "Held still.".to_owned(),
            None => "It moved: put it on a table and check again.".to_owned(),
        },
    });
    rows
}

pub(super) fn clock(clock: Option<ClockEstimate>) -> Row {
    let error_ppm = clock.and_then(|clock| clock.drift_error_ppm);
    let known = clock.zip(error_ppm).filter(|(clock, error_ppm)| {
        // Certain enough to tell good from not good, or bad beyond doubt.
        *error_ppm <= limits::CLOCK_PPM.ok || clock.drift_ppm.abs() > 3.0 * error_ppm
    });
    let mut row = Judged {
        key: "clock_ppm",
        name: "clock against this computer",
        unit: "ppm",
        limit: limits::CLOCK_PPM,
        to_do: "Run the unit's clock from a crystal; check that the time is in microseconds.",
    }
    .row(
        known.map(|(clock, _)| clock.drift_ppm),
        "Unknown: the time was too short to tell; some minutes are needed.",
    );
    row.error = error_ppm;
    row
}

pub(super) fn battery(percent: Option<u8>) -> Row {
    let charge = percent.map(f64::from);
    let mark = match charge {
        None => Mark::Unknown,
        Some(charge) if charge >= limits::BATTERY_OK_PERCENT => Mark::Ok,
        Some(charge) if charge >= limits::BATTERY_LOOK_PERCENT => Mark::Look,
        Some(_) => Mark::Bad,
    };
    Row {
        key: "battery_percent",
        name: "battery",
        figure: charge,
        error: None,
        unit: "%",
        limit: format!(
            "good from {} %, works from {} %",
            limits::BATTERY_OK_PERCENT,
            limits::BATTERY_LOOK_PERCENT
        ),
        mark,
        words: match mark {
            Mark::Ok => "Good.",
            Mark::Unknown => "Unknown: the unit does not tell.",
            Mark::Look | Mark::Bad => "Charge it, off the hand.",
        }
        .to_owned(),
    }
}

pub(super) fn firmware(firmware: Option<&str>) -> Row {
    let text = firmware.map(str::trim).filter(|text| !text.is_empty());
    Row {
        key: "firmware",
        name: "firmware",
        figure: None,
        error: None,
        unit: "",
        limit: String::new(),
        mark: text.map_or(Mark::Unknown, |_| Mark::Ok),
        words: text.map_or_else(
            || "Unknown: the unit does not tell.".to_owned(),
            |text| {
                // Bytes of a stranger, shown on a terminal.
                text.chars().filter(|c| !c.is_control()).take(64).collect()
            },
        ),
    }
}

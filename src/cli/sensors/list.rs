//! Which sensors are near.

use std::fmt::Write;
use std::io::IsTerminal;
use std::time::Duration;

use serde_json::json;

use super::{places, quoted};
use crate::cli::exit;
use crate::source::radio::{self, Near};
use crate::source::unit::set_to::SetTo;

const LISTEN: Duration = Duration::from_secs(5);

pub(super) fn run(time: Option<Duration>, json: bool) -> anyhow::Result<()> {
    let listen = time.unwrap_or(LISTEN);
    if std::io::stderr().is_terminal() {
        eprintln!("Looking for sensors, {:.0} s ...", listen.as_secs_f64());
    }
    let near = radio::near(listen)?;
    if json {
        exit::say(&format!("{}\n", object(&near)))
    } else {
        exit::say(&text(&near, listen))
    }
}

fn object(near: &[Near]) -> serde_json::Value {
    let sensors: Vec<_> = near
        .iter()
        .map(|one| {
            json!({
                "name": one.name,
                "address": one.address,
                "rssi_dbm": one.rssi_dbm,
                "signal": one.rssi_dbm.map(strength),
                "battery_percent": one.battery_percent,
                "connected": one.connected,
                "place": place(one.set_to),
            })
        })
        .collect();
    json!({ "sensors": sensors, "places": places::objects(near) })
}

/// The word for where a unit is set to be worn; null is unknown.
pub(super) fn place(set_to: SetTo) -> Option<&'static str> {
    (set_to != SetTo::Unknown).then(|| set_to.name())
}

/// The signal in a word (common practice, no source).
fn strength(rssi_dbm: i16) -> &'static str {
    match rssi_dbm {
        -64.. => "strong",
        -77..-64 => "good",
        -87..-77 => "weak",
        _ => "very weak",
    }
}

fn text(near: &[Near], listen: Duration) -> String {
    let listened_s = listen.as_secs_f64();
    if near.is_empty() {
        return format!(
            "No sensor found in {listened_s:.0} s.\n\
             Switch the sensor on and charge it, bring it within two metres, and see that no other\n\
             program or telephone is connected to it. Then look again, or longer: --for 20\n"
        );
    }
    let rows: Vec<[String; 5]> = near
        .iter()
        .map(|one| {
            let signal = match one.rssi_dbm {
                Some(rssi_dbm) => format!("{} ({rssi_dbm} dBm)", strength(rssi_dbm)),
                None => "in use".to_owned(),
            };
            let battery = match one.battery_percent {
                Some(percent @ 0..=15) => format!("{percent} % (charge it)"),
                Some(percent) => format!("{percent} %"),
                None => "unknown".to_owned(),
            };
            [
                one.shown_name().to_owned(),
                one.set_to.name().to_owned(),
                signal,
                battery,
                one.address.clone(),
            ]
        })
        .collect();
    let heads = ["name", "worn on", "signal", "battery", "address"].map(str::to_owned);
    let mut text = String::new();
    let width = |column: usize| {
        let all = rows.iter().chain([&heads]);
        all.filter_map(|row| row.get(column))
            .map(|cell| console::measure_text_width(cell))
            .max()
            .unwrap_or(0)
    };
    for row in [&heads].into_iter().chain(&rows) {
        let cells: Vec<String> = row
            .iter()
            .enumerate()
            .map(|(column, cell)| {
                let fill = width(column).saturating_sub(console::measure_text_width(cell));
                format!("{cell}{}", " ".repeat(fill))
            })
            .collect();
        // Writing to a string cannot fail.
        let _written = writeln!(text, "{}", cells.join("   ").trim_end());
    }
    if let Some(first) = near.first() {
        let named = first.name.as_ref().unwrap_or(&first.address);
        let named = quoted(named);
        let _written = writeln!(text, "\nTo check one: carpotempo sensors --check {named}");
    }
    if near.len() > 1 {
        text.push_str("To check all that are near: carpotempo sensors --check\n");
    }
    for words in places::words(near) {
        let _written = writeln!(text, "\n{words}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_word_for_a_signal_falls_with_the_signal() {
        let words = [-40, -64, -65, -77, -78, -87, -88, -120].map(strength);
        assert_eq!(
            words,
            [
                "strong",
                "strong",
                "good",
                "good",
                "weak",
                "weak",
                "very weak",
                "very weak"
            ]
        );
    }
}

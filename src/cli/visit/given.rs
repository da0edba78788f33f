//! A visit from options, or from a file.

use std::path::Path;

use anyhow::{Context, anyhow};
use clap::Args;

use super::super::exit::WrongArguments;
use crate::movement::Side;
use crate::recording::{Visit, VisitHand};
use crate::routine::nearest::nearest;

/// What was found and decided.
#[derive(Debug, Args)]
pub struct GivenArguments {
    /// A range by the goniometer, such as right:flexion=62; flexion, extension, radial-deviation,
    /// ulnar-deviation, pronation or supination, in degrees; may be given several times
    #[arg(long = "range", value_name = "SIDE:WHICH=DEG")]
    ranges: Vec<String>,
    /// Up to three trials of grip, such as right=21,22.5,21.5
    #[arg(long = "grip", value_name = "SIDE=KG,KG,KG")]
    grips: Vec<String>,
    /// Up to three trials of pinch
    #[arg(long = "pinch", value_name = "SIDE=KG,KG,KG")]
    pinches: Vec<String>,
    /// Which pinch, such as key or tip
    #[arg(long, value_name = "WORD", requires = "pinches")]
    pinch_kind: Option<String>,
    /// Sensation in your words, such as "right=dull at the index finger"
    #[arg(long = "sensation", value_name = "SIDE=WORDS")]
    sensations: Vec<String>,
    /// Strength of the thumb in your words, with the scale, such as "right=4 of 5"
    #[arg(long = "thumb", value_name = "SIDE=WORDS")]
    thumbs: Vec<String>,
    /// Mean of a questionnaire's symptom items, 1 to 5
    #[arg(long, value_name = "MEAN")]
    symptom_mean: Option<f64>,
    /// Mean of a questionnaire's function items, 1 to 5
    #[arg(long, value_name = "MEAN")]
    function_mean: Option<f64>,
    /// What was decided, in your words
    #[arg(long, value_name = "WORDS")]
    decision: Option<String>,
    /// Why, in your words
    #[arg(long, value_name = "WORDS")]
    reason: Option<String>,
}

/// A file to fill in.
pub const TEMPLATE: &str = "\
# A visit to the clinic. Fill in what was done and delete the other lines: missing stays missing.
# Codes, no names. Then: carpotempo visit PATIENT --file THIS-FILE

# Mean of a questionnaire's items, 1 to 5, higher is worse.
#symptom_mean = 2.4
#function_mean = 1.9

# In your words.
#decision = \"\"
#reason = \"\"

[right]
# Goniometer, active, degrees; negative where zero is not reached.
#flexion_deg = 60
#extension_deg = 60
#radial_deviation_deg = 20
#ulnar_deviation_deg = 30
#pronation_deg = 80
#supination_deg = 80
# Up to three trials, kg.
#grip_kg = [20.0, 20.0, 20.0]
#pinch_kg = [4.0, 4.0, 4.0]
#pinch_kind = \"key\"
# In your words; the thumb with the scale you use.
#sensation = \"\"
#thumb_strength = \"\"

[left]
# The same lines.
";

impl GivenArguments {
    /// The visit that the options tell.
    ///
    /// # Errors
    /// [`WrongArguments`]: the first option that cannot be.
    pub fn visit(&self) -> anyhow::Result<Visit> {
        let mut visit = Visit {
            symptom_mean: self.symptom_mean,
            function_mean: self.function_mean,
            decision: self.decision.clone(),
            reason: self.reason.clone(),
            ..Visit::default()
        };
        for text in &self.ranges {
            let wrong = || wrong("range", text, "SIDE:WHICH=DEG, such as right:flexion=62");
            let (side, rest) = text.split_once(':').ok_or_else(wrong)?;
            let (which, range_deg) = rest.split_once('=').ok_or_else(wrong)?;
            let range_deg = number(range_deg).ok_or_else(wrong)?;
            let hand = visit.hand_mut(side_of(side).ok_or_else(wrong)?);
            let place = range_of(hand, which.trim()).ok_or_else(|| no_range(which.trim()))?;
            once("range", text, place.replace(range_deg).is_none())?;
        }
        for text in &self.grips {
            let (side, trials_kg) = trials("grip", text)?;
            let place = &mut visit.hand_mut(side).grip_kg;
            once("grip", text, place.is_empty())?;
            *place = trials_kg;
        }
        for text in &self.pinches {
            let (side, trials_kg) = trials("pinch", text)?;
            let hand = visit.hand_mut(side);
            once("pinch", text, hand.pinch_kg.is_empty())?;
            hand.pinch_kg = trials_kg;
            hand.pinch_kind.clone_from(&self.pinch_kind);
        }
        for text in &self.sensations {
            let (side, words) = words("sensation", text)?;
            let place = &mut visit.hand_mut(side).sensation;
            once("sensation", text, place.replace(words).is_none())?;
        }
        for text in &self.thumbs {
            let (side, words) = words("thumb", text)?;
            let place = &mut visit.hand_mut(side).thumb_strength;
            once("thumb", text, place.replace(words).is_none())?;
        }
        match visit.problem() {
            Some(problem) => Err(WrongArguments(format!("{problem}; nothing was written")).into()),
            None => Ok(visit),
        }
    }
}

/// The visit that a file tells.
///
/// # Errors
/// It cannot be read; one message with the line, or what cannot be.
pub fn from_file(path: &Path) -> anyhow::Result<Visit> {
    let shown = path.display();
    let text = std::fs::read_to_string(path).with_context(|| format!("reading {shown}"))?;
    let visit: Visit = toml::from_str(&text).map_err(|error| {
        let before = error.span().and_then(|span| text.get(..span.start));
        let place = before.map_or(String::new(), |before| {
            let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
            format!(
                ", line {}, column {column}",
                before.matches('\n').count() + 1
            )
        });
        let message = error.message().replace('\n', "; ");
        anyhow!("{shown}{place}: {message}; nothing was written")
    })?;
    match visit.problem() {
        Some(problem) => Err(anyhow!("{shown}: {problem}; nothing was written")),
        None => Ok(visit),
    }
}

fn wrong(option: &str, text: &str, expected: &str) -> anyhow::Error {
    WrongArguments(format!("--{option} {text}: expected {expected}")).into()
}

fn once(option: &str, text: &str, first: bool) -> anyhow::Result<()> {
    if first {
        return Ok(());
    }
    Err(WrongArguments(format!("--{option} {text}: was given before; give it once")).into())
}

fn side_of(text: &str) -> Option<Side> {
    [Side::Left, Side::Right]
        .into_iter()
        .find(|side| side.name() == text.trim())
}

fn number(text: &str) -> Option<f64> {
    text.trim()
        .parse()
        .ok()
        .filter(|number: &f64| number.is_finite())
}

const RANGES: [&str; 6] = [
    "flexion",
    "extension",
    "radial-deviation",
    "ulnar-deviation",
    "pronation",
    "supination",
];

fn range_of<'a>(hand: &'a mut VisitHand, which: &str) -> Option<&'a mut Option<f64>> {
    Some(match which {
        "flexion" => &mut hand.flexion_deg,
        "extension" => &mut hand.extension_deg,
        "radial-deviation" => &mut hand.radial_deviation_deg,
        "ulnar-deviation" => &mut hand.ulnar_deviation_deg,
        "pronation" => &mut hand.pronation_deg,
        "supination" => &mut hand.supination_deg,
        _ => return None,
    })
}

fn no_range(which: &str) -> anyhow::Error {
    let meant = match nearest(which, RANGES) {
        Some(word) => format!("did you mean {word}?"),
        None => format!("write one of {}", RANGES.join(", ")),
    };
    WrongArguments(format!("--range: there is no range {which:?}; {meant}")).into()
}

fn trials(option: &str, text: &str) -> anyhow::Result<(Side, Vec<f64>)> {
    let wrong = || wrong(option, text, "SIDE=KG,KG,KG, such as right=21,22.5,21.5");
    let (side, trials) = text.split_once('=').ok_or_else(wrong)?;
    let side = side_of(side).ok_or_else(wrong)?;
    let trials_kg: Option<Vec<f64>> = trials.split(',').map(number).collect();
    Ok((side, trials_kg.ok_or_else(wrong)?))
}

fn words(option: &str, text: &str) -> anyhow::Result<(Side, String)> {
    let wrong = || wrong(option, text, "SIDE=WORDS, such as \"right=4 of 5\"");
    let (side, words) = text.split_once('=').ok_or_else(wrong)?;
    Ok((side_of(side).ok_or_else(wrong)?, words.trim().to_owned()))
}

//! Limits, correlations and repeatability as a person reads them.

use std::fmt::Write;

use super::{Written, capital, signed};
use crate::cli::compare::given::YOU;
use crate::review::agreement::{Between, Icc, Measured, Over, OwnRepeatability, Together};

pub(super) fn write_over(text: &mut String, over: &Over) -> Written {
    let counts = over.counts;
    writeln!(
        text,
        "Counts: the same in {} of {} recordings, within one in {}; {} and {} in all, {} paired.",
        counts.same_count,
        counts.recording_count,
        counts.within_one_count,
        counts.first_count,
        counts.second_count,
        counts.paired_count
    )?;
    writeln!(
        text,
        "Bias and limits of agreement for repeated measures, seconds, each with its 95 % interval:"
    )?;
    writeln!(
        text,
        "                   bias                      lower limit               upper limit"
    )?;
    for own in &over.measures {
        let Some(limits) = &own.limits else {
            writeln!(
                text,
                " {:<16}  too few recordings have it",
                own.measure.words()
            )?;
            continue;
        };
        let with = |value_s: f64, between: Between| {
            let low = signed(Some(between.low));
            let high = signed(Some(between.high));
            format!(
                "{} ({} to {})",
                signed(Some(value_s)).trim(),
                low.trim(),
                high.trim()
            )
        };
        writeln!(
            text,
            " {:<16}  {:<24}  {:<24}  {}",
            own.measure.words(),
            with(limits.bias, limits.bias_between),
            with(limits.lower, limits.lower_between),
            with(limits.upper, limits.upper_between)
        )?;
    }
    writeln!(
        text,
        "Correlation of the recordings' means, with its 95 % interval (it rises with how much the recordings differ):"
    )?;
    for own in over.measures.iter().filter(|own| own.measure.is_length()) {
        write_icc(text, own.measure, own.icc.as_ref(), own.no_icc.as_deref())?;
    }
    Ok(())
}

fn write_icc(
    text: &mut String,
    measured: Measured,
    icc: Option<&Icc>,
    why: Option<&str>,
) -> Written {
    let Some(icc) = icc else {
        let why = why.unwrap_or("unknown");
        return writeln!(text, " {:<16}  none: {why}", measured.words());
    };
    // Never a zero with a sign.
    let plain = |value: f64| format!("{value:.2}").replace("-0.00", "0.00");
    let with = |value: f64, between: Between| {
        let (low, high) = (plain(between.low), plain(between.high));
        format!("{} ({low} to {high})", plain(value))
    };
    writeln!(
        text,
        " {:<16}  ICC(2,1) {:<22}  ICC(3,1) {}",
        measured.words(),
        with(icc.agreement, icc.agreement_between),
        with(icc.consistency, icc.consistency_between)
    )
}

pub(super) fn write_together(text: &mut String, together: &Together) -> Written {
    writeln!(
        text,
        "All who marked together ({}): correlation of the means of recordings that all marked",
        together.people.join(", ")
    )?;
    for own in &together.measures {
        write_icc(text, own.measure, own.icc.as_ref(), own.no_icc.as_deref())?;
    }
    writeln!(text)
}

pub(super) fn write_repeatability(text: &mut String, own: &OwnRepeatability) -> Written {
    let whose = match own.by.as_str() {
        YOU => "Your own repeatability".to_owned(),
        other => format!("{}'s own repeatability", capital(other)),
    };
    writeln!(
        text,
        "{whose}: two markings of the same repetition differ by at most this in 95 of 100, seconds"
    )?;
    writeln!(
        text,
        "                   1.96 x root 2 x s_w     s_w   later less first  repetitions (recordings)"
    )?;
    for measure in &own.measures {
        writeln!(
            text,
            " {:<16}  {:>19.2}{:>8.2}  {:>17}  {} ({})",
            measure.measure.words(),
            measure.coefficient_s,
            measure.within_deviation_s,
            signed(Some(measure.shift_s)).trim(),
            measure.rep_count,
            measure.recording_count
        )?;
    }
    writeln!(text)
}

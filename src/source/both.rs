//! Two sources as one: what the hand's tells and what the forearm's tells, as it comes.
//!
//! Ours. The forearm's unit is company: where its source ends, the whole goes on with the hand's, and
//! where the hand's ends, the whole does.

use std::io;
use std::sync::mpsc::{Receiver, Sender, channel};

use super::signal::{Signal, Told};
use crate::sample::Place;

/// Passes on what two sources tell, until both have ended or nobody listens any more.
///
/// # Errors
/// Where the system gives no thread.
pub fn both(hand: Receiver<Signal>, forearm: Receiver<Signal>) -> io::Result<Receiver<Signal>> {
    let (signals, heard) = channel();
    pass_on("hand", hand, signals.clone(), |told| told)?;
    pass_on("forearm", forearm, signals, |told| match told {
        Told::Ended(words) => Told::Gone(Place::Forearm, words),
        told => told,
    })?;
    Ok(heard)
}

fn pass_on(
    name: &str,
    from: Receiver<Signal>,
    to: Sender<Signal>,
    as_told: fn(Told) -> Told,
) -> io::Result<()> {
    std::thread::Builder::new()
        .name(name.to_owned())
        .spawn(move || {
            for Signal { at_s, told } in from {
                let told = as_told(told);
                if to.send(Signal { at_s, told }).is_err() {
                    return;
                }
            }
        })
        .map(drop)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    fn ended() -> Signal {
        Signal {
            at_s: 1.0,
            told: Told::Ended("over".to_owned()),
        }
    }

    #[test]
    fn a_forearm_that_ends_ends_nothing_and_a_hand_that_ends_does() {
        let (hand, of_hand) = channel();
        let (forearm, of_forearm) = channel();
        let heard = both(of_hand, of_forearm).unwrap();
        forearm.send(ended()).unwrap();
        drop(forearm);
        let gone = Told::Gone(Place::Forearm, "over".to_owned());
        assert_eq!(heard.recv().unwrap().told, gone);
        hand.send(ended()).unwrap();
        drop(hand);
        assert_eq!(heard.recv().unwrap(), ended());
        assert!(heard.recv().is_err(), "then nothing more comes");
    }
}

//! What can go wrong between this computer and a unit, in words for whoever holds the unit.

use thiserror::Error;

use super::Near;
use crate::source::unit::profile::ProfileError;

/// What went wrong, and what to do.
#[derive(Debug, Error)]
pub enum RadioError {
    /// The computer has no Bluetooth adapter, or its driver does not see it.
    #[error(
        "this computer shows no Bluetooth adapter: plug one in, or check that its driver is installed"
    )]
    NoAdapter,
    /// The adapter is there and switched off.
    #[error("Bluetooth is switched off on this computer: switch it on and try again")]
    AdapterOff,
    /// The system does not let this program use Bluetooth.
    #[error(
        "this program may not use Bluetooth: allow it in the system's privacy settings, or ask the administrator to allow this account (on Linux, often the group \"bluetooth\") ({said})"
    )]
    NoPermission {
        /// The system's own words.
        said: String,
    },
    /// No Bluetooth service to talk to.
    #[error(
        "the Bluetooth service of this computer is not running: start it (on Linux: systemctl start bluetooth) or restart the computer ({said})"
    )]
    NoService {
        /// The system's own words.
        said: String,
    },
    /// The Bluetooth service does not answer.
    #[error(
        "the Bluetooth service of this computer does not answer while {doing}: switch Bluetooth off and on, or restart the computer"
    )]
    Silent {
        /// What was being done.
        doing: &'static str,
    },
    /// No unit is near.
    #[error(
        "no sensor found in {sought_s:.0} s: switch it on, charge it, bring it within two metres, and see that no other program is connected to it"
    )]
    NoneFound {
        /// How long it was sought, seconds.
        sought_s: f64,
    },
    /// A unit of another name is near.
    #[error(
        "no sensor named \"{wanted}\" found in {sought_s:.0} s; near are: {}: check the name, or switch that sensor on", listed(.near)
    )]
    NotThatOne {
        /// The name asked for.
        wanted: String,
        /// How long it was sought, seconds.
        sought_s: f64,
        /// What is near.
        near: Vec<Near>,
    },
    /// More than one unit is near and none, or both, were asked for.
    #[error(
        "several sensors are near: {}: say which one, by its name or its address", listed(.near)
    )]
    Several {
        /// What is near.
        near: Vec<Near>,
    },
    /// More than one unit near is set to the place that is wanted.
    #[error(
        "several sensors near are set to the {place}: {}: say which one, by its name or its address, or set one to another place in its firmware", listed(.near)
    )]
    SamePlace {
        /// The place.
        place: &'static str,
        /// What is near.
        near: Vec<Near>,
    },
    /// Several units are near, and none of them is set to the place that is wanted.
    #[error(
        "no sensor near is set to the {place}; near are: {}: say which one is worn there, by its name or its address", placed(.near)
    )]
    NoneThere {
        /// The place.
        place: &'static str,
        /// What is near.
        near: Vec<Near>,
    },
    /// The only unit near is set to another place than the one that is wanted.
    #[error(
        "the only sensor near, {name}, is set to the {found}: switch on the one for the {wanted}, or wear this one on the {wanted} and say so by its name"
    )]
    OtherPlace {
        /// The unit.
        name: String,
        /// Where it is set to be worn.
        found: &'static str,
        /// Where one is wanted.
        wanted: &'static str,
    },
    /// Connecting failed again and again.
    #[error(
        "cannot connect to {name}: bring it closer, switch it off and on, and see that no other program is connected to it ({said})"
    )]
    NoConnection {
        /// The unit.
        name: String,
        /// The system's own words.
        said: String,
    },
    /// The unit does not have what the profile asks for.
    #[error(
        "{name} is not a motion sensor of this program's profile: its {missing} is missing; switch it off and on, and if that does not help, check its firmware against firmware-notes"
    )]
    NotOurs {
        /// The unit.
        name: String,
        /// What is missing.
        missing: &'static str,
    },
    /// The unit's description or settings cannot be used.
    #[error("{name} cannot be used: {source}")]
    Profile {
        /// The unit.
        name: String,
        /// What is wrong with it.
        source: ProfileError,
    },
    /// The link broke, or the system refused, while something was being done.
    #[error(
        "Bluetooth failed while {doing}: try again, then switch the sensor off and on ({said})"
    )]
    Failed {
        /// What was being done.
        doing: &'static str,
        /// The system's own words.
        said: String,
    },
    /// The caller no longer wanted it.
    #[error("stopped before a sensor was connected")]
    Stopped,
    /// The program could not set itself up to use Bluetooth.
    #[error(
        "the operating system did not give what Bluetooth needs: close other programs ({said})"
    )]
    Resources {
        /// The system's own words.
        said: String,
    },
}

impl RadioError {
    /// Whether the trouble lies in this computer and not in the unit or the way between.
    pub(super) fn is_of_this_computer(&self) -> bool {
        matches!(
            self,
            RadioError::NoAdapter
                | RadioError::AdapterOff
                | RadioError::NoPermission { .. }
                | RadioError::NoService { .. }
                | RadioError::Silent { .. }
                | RadioError::Resources { .. }
        )
    }

    /// What the library reported while something was being done. It passes the system's errors on
    /// as text, so the text is all there is to tell them apart by.
    pub(super) fn from_library(error: &btleplug::Error, doing: &'static str) -> RadioError {
        let said = error.to_string();
        // The name of a D-Bus error is in its debug text alone.
        let whole = format!("{error:?} {said}");
        let has = |words: &[&str]| words.iter().any(|word| whole.contains(word));
        match error {
            btleplug::Error::PermissionDenied => return RadioError::NoPermission { said },
            btleplug::Error::NoAdapterAvailable => return RadioError::NoAdapter,
            btleplug::Error::TimedOut(_) => return RadioError::Silent { doing },
            _ => {}
        }
        // Names of errors: D-Bus Specification 0.43, "Standard error names" (from memory, check);
        // org.bluez.Error.NotReady: BlueZ, doc/adapter-api.txt.
        if has(&["AccessDenied", "AuthFailed"]) {
            RadioError::NoPermission { said }
        } else if has(&[
            "ServiceUnknown",
            "NameHasNoOwner",
            "NoServer",
            "FileNotFound",
            "DBus.Error.Spawn",
            "DBus.Error.Disconnected",
            "DBus.Error.BadAddress",
            "NoSuchUnit",
            "Failed to connect to socket",
        ]) {
            RadioError::NoService { said }
        } else if has(&["NoReply", "DBus.Error.Timeout"]) {
            RadioError::Silent { doing }
        } else if has(&["org.bluez.Error.NotReady", "Resource Not Ready"]) {
            RadioError::AdapterOff
        } else {
            RadioError::Failed { doing, said }
        }
    }
}

fn listed(near: &[Near]) -> String {
    let one = |near: &Near| format!("{} ({})", near.shown_name(), near.address);
    near.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn placed(near: &[Near]) -> String {
    let one = |near: &Near| format!("{} ({})", near.shown_name(), near.set_to.name());
    near.iter().map(one).collect::<Vec<_>>().join(", ")
}

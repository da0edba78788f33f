//! The way back to a unit whose link was lost.

use std::time::{Duration, Instant};

use btleplug::api::Peripheral as _;
use tokio::time::sleep;

use super::{PAUSES, Packets, Session, listened, stopped};
use crate::source::radio::central::{ANSWER, Central, within};
use crate::source::radio::link::Link;
use crate::source::radio::{RadioError, Wanted};

/// How long trouble of this computer is borne before the source ends.
const COMPUTER: Duration = Duration::from_secs(30);
/// How long a unit is sought at a service that was started anew, in each attempt.
const SEEK_AGAIN: Duration = Duration::from_secs(3);

impl Session {
    /// Tries until the unit is connected again; `None` where the caller wants no more.
    pub(super) async fn back(&mut self, packets: &mut Packets) -> Result<Option<Link>, RadioError> {
        let mut stop = self.stop.clone();
        tokio::select! {
            biased;
            () = stopped(&mut stop) => Ok(None),
            link = self.again(packets) => link.map(Some),
        }
    }

    async fn again(&mut self, packets: &mut Packets) -> Result<Link, RadioError> {
        let lost = Instant::now();
        let mut pause = PAUSES.0;
        let mut trouble: Option<Instant> = None;
        loop {
            packets.clear();
            // After trouble of this computer the old way to the service may lead nowhere.
            let attempt = match trouble {
                Some(_) => self.renew().await,
                None => self.answers().await,
            };
            let error = match attempt {
                Ok(()) => match self.connect(packets).await {
                    Ok(link) => return Ok(link),
                    Err(error) => error,
                },
                Err(error) => error,
            };
            if error.is_of_this_computer() {
                let since = *trouble.get_or_insert_with(Instant::now);
                if since.elapsed() >= COMPUTER.min(self.wanted.patience) {
                    return Err(error);
                }
                sleep(pause).await;
            } else {
                if lost.elapsed() >= self.wanted.patience {
                    return Err(self.in_vain(error));
                }
                self.listen(pause).await;
            }
            pause = (pause * 2).min(PAUSES.1);
        }
    }

    /// Whether the service answers at all: connecting would wait for it much longer.
    async fn answers(&self) -> Result<(), RadioError> {
        let asked = self.peripheral.is_connected();
        match within(ANSWER, "asking for the sensor", asked).await {
            Err(error) if error.is_of_this_computer() => Err(error),
            // A unit that the service has forgotten is sought when connecting fails.
            Ok(_) | Err(_) => Ok(()),
        }
    }

    /// Waits until the unit is heard again, for that long at most. The search also makes a unit
    /// known again that the service has forgotten.
    async fn listen(&mut self, time: Duration) {
        let id = self.peripheral.id();
        if self.central.start_scan().await.is_err() {
            sleep(time).await;
            return;
        }
        let begun = Instant::now();
        self.central.heard(&id, time).await;
        self.central.stop_scan().await;
        // A unit that is heard and cannot be connected is not to be hammered.
        if begun.elapsed() < PAUSES.0 {
            sleep(PAUSES.0).await;
        }
    }

    /// A new way to the Bluetooth service, and to the same unit through it.
    async fn renew(&mut self) -> Result<(), RadioError> {
        let mut central = Central::open().await?;
        let same = Wanted {
            name: Some(self.near.address.clone()),
            seek: SEEK_AGAIN,
            ..self.wanted.clone()
        };
        let (found, _) = central.find(&same).await?;
        self.notifications = listened(&found.peripheral).await?;
        self.peripheral = found.peripheral;
        self.central = central;
        Ok(())
    }
}

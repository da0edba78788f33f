//! Which of the units near is the one that is wanted.

use std::time::Duration;

use super::central::{Central, Sighting};
use super::{Near, RadioError, Wanted, link};
use crate::sample::Place;
use crate::source::unit::set_to::SetTo;

/// With no name given: how long to look on for a second unit after the first.
const SECOND: Duration = Duration::from_millis(1500);
/// With a name given: for another unit of that name.
const NAMESAKE: Duration = Duration::from_millis(300);

impl Central {
    /// The unit that is wanted, and others that were asked where they are set to be worn.
    pub(super) async fn find(
        &mut self,
        wanted: &Wanted,
    ) -> Result<(Sighting, Vec<Near>), RadioError> {
        let meant = |near: &Near| wanted.but.as_deref().is_none_or(|but| !near.is(but));
        let fits =
            |near: &Near| meant(near) && wanted.name.as_deref().is_none_or(|name| near.is(name));
        let wait = if wanted.name.is_some() {
            NAMESAKE
        } else {
            SECOND
        };
        let seen = self.seek(wanted.seek, |seen| {
            let mut fitting = seen.units.values().filter(|one| fits(&one.0.near));
            fitting.any(|(_, since)| since.elapsed() >= wait)
        });
        let (mut fitting, others): (Vec<_>, Vec<_>) =
            seen.await?.into_iter().partition(|one| fits(&one.near));
        let sought_s = wanted.seek.as_secs_f64();
        match (fitting.pop(), &wanted.name, wanted.place) {
            (Some(one), ..) if fitting.is_empty() => Ok((one, Vec::new())),
            (Some(last), None, Some(place)) => {
                fitting.push(last);
                by_place(fitting, place).await
            }
            (Some(last), ..) => {
                fitting.push(last);
                Err(RadioError::Several {
                    near: all_near(fitting),
                })
            }
            (None, Some(name), _) if others.iter().any(|one| meant(&one.near)) => {
                Err(RadioError::NotThatOne {
                    wanted: name.clone(),
                    sought_s,
                    near: all_near(others),
                })
            }
            (None, ..) => Err(RadioError::NoneFound { sought_s }),
        }
    }
}

/// The one of several that is set to that place, and the others; where none is, the one that is set
/// to none.
async fn by_place(
    mut units: Vec<Sighting>,
    place: Place,
) -> Result<(Sighting, Vec<Near>), RadioError> {
    for one in &mut units {
        let passed = link::pass(&one.peripheral, &one.near).await;
        one.near.battery_percent = passed.battery_percent;
        one.near.set_to = passed.set_to;
    }
    let is_there = |one: &Sighting| one.near.set_to.place() == Some(place);
    let is_unset = |one: &Sighting| one.near.set_to == SetTo::Unset;
    let set = units.iter().any(is_there);
    let (mut fitting, others): (Vec<_>, Vec<_>) = units
        .into_iter()
        .partition(|one| if set { is_there(one) } else { is_unset(one) });
    match fitting.pop() {
        Some(one) if fitting.is_empty() => Ok((one, all_near(others))),
        Some(last) if set => {
            fitting.push(last);
            Err(RadioError::SamePlace {
                place: place.name(),
                near: all_near(fitting),
            })
        }
        unset => {
            let near = fitting.into_iter().chain(unset).chain(others);
            Err(RadioError::NoneThere {
                place: place.name(),
                near: all_near(near),
            })
        }
    }
}

fn all_near(seen: impl IntoIterator<Item = Sighting>) -> Vec<Near> {
    seen.into_iter().map(|one| one.near).collect()
}

/// All units near, their charge, and where they are set to be worn.
pub(super) async fn near(listen: Duration) -> Result<Vec<Near>, RadioError> {
    let mut central = Central::open().await?;
    let mut near = Vec::new();
    for sighting in central.seek(listen, |_| false).await? {
        let passed = link::pass(&sighting.peripheral, &sighting.near).await;
        near.push(Near {
            battery_percent: passed.battery_percent,
            set_to: passed.set_to,
            ..sighting.near
        });
    }
    Ok(near)
}

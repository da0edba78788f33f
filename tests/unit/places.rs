//! Where units are set to be worn: what several of them leave unclear.

use carpotempo::sample::Place;
use carpotempo::source::unit::profile::Description;
use carpotempo::source::unit::set_to::{PlaceTrouble, SetTo, place_troubles};

use crate::making::DESCRIPTION;

#[test]
fn what_a_unit_is_set_to_is_in_its_description() {
    for (byte, set_to, name) in [
        (0, SetTo::Hand, "hand"),
        (1, SetTo::Forearm, "forearm"),
        (255, SetTo::Unset, "unset"),
    ] {
        let mut bytes = DESCRIPTION.bytes();
        bytes[1] = byte;
        let description = Description::read(&bytes).unwrap();
        assert_eq!(SetTo::of(&description), set_to);
        assert_eq!(set_to.name(), name);
    }
}

#[test]
fn two_of_one_place_and_one_of_none_are_troubles_and_a_pair_or_one_alone_is_not() {
    use SetTo::{Forearm, Hand, Unknown, Unset};
    let same = |place, units: &[usize]| PlaceTrouble::Same {
        place,
        units: units.to_vec(),
    };
    let none = |unit| PlaceTrouble::Unset { unit };
    for (units, troubles) in [
        (vec![], vec![]),
        (vec![Hand], vec![]),
        (vec![Unset], vec![]),
        (vec![Hand, Forearm], vec![]),
        (vec![Hand, Unknown], vec![]),
        (vec![Hand, Hand], vec![same(Place::Hand, &[0, 1])]),
        (
            vec![Forearm, Unset, Forearm],
            vec![same(Place::Forearm, &[0, 2]), none(1)],
        ),
        (vec![Unset, Hand], vec![none(0)]),
        (
            vec![Hand, Forearm, Hand, Forearm],
            vec![same(Place::Hand, &[0, 2]), same(Place::Forearm, &[1, 3])],
        ),
    ] {
        assert_eq!(place_troubles(&units), troubles, "{units:?}");
    }
}

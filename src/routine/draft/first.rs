//! What an exercise begins with when it is added: a page to edit.

use toml_edit::{DocumentMut, Table};

use crate::movement::{Activity, Movement, Plane, Stretch};

/// An item with a first dose: few repetitions, an empty hand, slow (common practice, no source).
pub(super) fn first_dose(kind: &str, name: &str) -> Option<Table> {
    let text = match kind {
        "counted" => counted(Movement::from_name(name)?),
        "range-test" => {
            let planes = Plane::ALL.into_iter();
            let plane = { planes }.find(|plane| plane.name() == name)?;
            format!(
                "plane = \"{}\"\nside = \"both\"\ntimes = 3\nhold_s = 1\n",
                plane.name()
            )
        }
        "stretch" => format!(
            "stretch = \"{}\"\nside = \"both\"\nhold_s = 15\ntimes = 2\n",
            Stretch::from_name(name)?.name()
        ),
        "timed" => {
            let what = Activity::from_name(name)?;
            let dose = match what {
                Activity::TendonGlides => "repetitions = 5\npause_s = 3\n",
                Activity::OwnWords => "seconds = 60\nwords = \"\"\n",
                _ => "seconds = 60\n",
            };
            format!("what = \"{}\"\n{dose}", what.name())
        }
        _ => return None,
    };
    let document: DocumentMut = format!("kind = \"{kind}\"\n{text}").parse().ok()?;
    let mut table = document.as_table().clone();
    // A line apart from the item before it.
    table.decor_mut().set_prefix("\n");
    Some(table)
}

fn counted(movement: Movement) -> String {
    let slow = match movement {
        Movement::Supination | Movement::Pronation => "push_s = 4\nback_s = 4\n",
        Movement::ArmCircles => "",
        _ => "tempo = { lower_s = 4, rest_s = 0, lift_s = 4, hold_s = 1 }\n",
    };
    let posture = toml::to_string(&movement.usual_posture()).unwrap_or_default();
    format!(
        "movement = \"{}\"\nside = \"both\"\nsets = 1\nrepetitions = 8\nload_kg = 0\nrest_s = 60\n{slow}\n[posture]\n{posture}",
        movement.name()
    )
}

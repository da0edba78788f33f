//! The fields of a routine file, as a page of text: from the same tables that check it.

use std::fmt::Write as _;

use super::check::expected;
use super::schema::{self, ITEMS, Key, Takes};

/// Every field of a routine file, table by table: what it means and what it takes.
pub fn fields() -> String {
    let mut text = String::from(
        "A routine is a TOML file. Fields marked * must be there; after a semicolon stands what holds where a field is left out.\n",
    );
    table(&mut text, "The routine", schema::ROUTINE);
    for key in schema::ROUTINE {
        if let Takes::Table(keys) = key.takes {
            table(&mut text, &format!("[{}]: {}", key.name, key.means), keys);
        }
    }
    for (kind, keys) in ITEMS {
        let about = keys.iter().find(|key| key.name == "kind");
        let about = about.map_or("", |key| key.means);
        let own = keys.iter().filter(|key| key.name != "kind");
        let own: Vec<&Key> = own.filter(|key| key.may_stand()).collect();
        let heading = format!("[[items]] with kind = \"{kind}\": {about}");
        table(&mut text, &heading, own.iter().copied());
        for key in own {
            match key.takes {
                Takes::Table(keys) => {
                    table(&mut text, &format!("{} = {{ ... }}", key.name), keys);
                }
                Takes::Tempo => table(&mut text, "tempo = { ... }", schema::TEMPO),
                _ => {}
            }
        }
    }
    text
}

fn table<'a>(text: &mut String, heading: &str, keys: impl IntoIterator<Item = &'a Key>) {
    let _infallible = writeln!(text, "\n{heading}");
    for key in keys {
        let star = if key.required { "*" } else { " " };
        let takes = match key.takes {
            Takes::Table(_) => "a table, below".to_owned(),
            _ => expected(&key.takes),
        };
        let _infallible = writeln!(text, " {star}{:<22} {} ({takes})", key.name, key.means);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_that_is_checked_is_told_of() {
        let text = fields();
        fn told(text: &str, keys: &[Key]) {
            for key in keys.iter().filter(|key| key.may_stand()) {
                assert!(!key.means.is_empty(), "{}", key.name);
                if key.name != "kind" {
                    assert!(text.contains(&format!("{} ", key.name)), "{}", key.name);
                }
                if let Takes::Table(keys) = key.takes {
                    told(text, keys);
                }
            }
        }
        told(&text, schema::ROUTINE);
        for (_, keys) in ITEMS {
            told(&text, keys);
        }
    }
}

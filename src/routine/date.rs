//! Optional days: written as text, read from text or from a TOML date.

use std::fmt;

use jiff::civil::Date;
use serde::de::{self, Deserialize, Deserializer, MapAccess, Visitor};
use serde::{Serialize, Serializer};

pub(super) fn serialize<S: Serializer>(
    day: &Option<Date>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    day.serialize(serializer)
}

pub(super) fn deserialize<'de, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<Option<Date>, D::Error> {
    struct DayVisitor;
    impl<'de> Visitor<'de> for DayVisitor {
        type Value = Option<Date>;
        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a day such as 2026-03-09")
        }
        fn visit_none<E: de::Error>(self) -> Result<Self::Value, E> {
            Ok(None)
        }
        fn visit_unit<E: de::Error>(self) -> Result<Self::Value, E> {
            Ok(None)
        }
        fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
            text.parse()
                .map(Some)
                .map_err(|_| E::invalid_value(de::Unexpected::Str(text), &self))
        }
        fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
            let written =
                toml::value::Datetime::deserialize(de::value::MapAccessDeserializer::new(map))?;
            self.visit_str(&written.to_string())
        }
    }
    deserializer.deserialize_any(DayVisitor)
}

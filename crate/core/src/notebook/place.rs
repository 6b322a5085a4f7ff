//! Where in a JSON document an element of a list stands.

use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};

/// Line and byte of the beginning of an element of a list that the document's own object
/// holds, counted from 1; `None` where there is none.
pub(super) fn of_element(bytes: &[u8], list: &str, index: usize) -> Option<(usize, usize)> {
    let mut parser = serde_json::Deserializer::from_slice(bytes);
    // Reading is made to fail where the element begins: that is the place.
    let error = Within { list, index }.deserialize(&mut parser).err()?;
    (error.to_string().starts_with(HERE)).then(|| (error.line(), error.column() + 1))
}

const HERE: &str = "here";

#[derive(Clone, Copy)]
struct Within<'k> {
    list: &'k str,
    index: usize,
}

impl<'de> DeserializeSeed<'de> for Within<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Within<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object of lists")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key::<String>()? {
            if key == self.list {
                map.next_value_seed(self)?;
            } else {
                map.next_value::<IgnoredAny>()?;
            }
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        for _ in 0..self.index {
            if list.next_element::<IgnoredAny>()?.is_none() {
                return Ok(());
            }
        }
        list.next_element_seed(Stop)?;
        Ok(())
    }
}

/// Fails where an element begins.
struct Stop;

impl<'de> DeserializeSeed<'de> for Stop {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, _: D) -> Result<(), D::Error> {
        Err(D::Error::custom(HERE))
    }
}

//! A notebook as one file, with the files that are kept beside it.

use std::collections::BTreeMap;
use std::fmt;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer};

use super::change::Change;
use super::error::{Mistake, NotebookError};
use super::id::{Hash, is_name};
use super::limits::{LARGEST_NOTEBOOK, MOST_CHANGES, MOST_FILES};
use super::{Notebook, first};
use crate::intake::excerpt;
use crate::sorting::gathered;

/// The schema that is written.
pub const SCHEMA: &str = "sweepbook/notebook/2";
/// The first schema: lots, tubes, notes and decisions without their history, as a hand or a
/// script writes them. Read, never written.
pub const FIRST_SCHEMA: &str = "sweepbook/notebook/1";
/// What the schemas have in common.
const FAMILY: &str = "sweepbook/notebook/";
/// The JSON Schema of the documents that are written.
pub const NOTEBOOK_SCHEMA: &str = include_str!("notebook.schema.json");

/// A notebook, and the bytes of files and photos that it names, as far as they are at hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// The notebook.
    pub notebook: Notebook,
    /// Bytes by their sum.
    pub files: BTreeMap<Hash, Vec<u8>>,
}

#[derive(Deserialize)]
struct Named {
    schema: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    #[serde(rename = "schema")]
    _schema: String,
    notebook: String,
    changes: Vec<Change>,
    #[serde(default, deserialize_with = "files")]
    files: BTreeMap<Hash, Vec<u8>>,
}

/// Files by their sums.
fn files<'de, D: Deserializer<'de>>(deserializer: D) -> Result<BTreeMap<Hash, Vec<u8>>, D::Error> {
    struct Files;
    impl<'de> Visitor<'de> for Files {
        type Value = BTreeMap<Hash, Vec<u8>>;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a map")
        }

        fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
            let mut files = BTreeMap::new();
            while let Some((hash, Bytes(bytes))) = map.next_entry()? {
                files.insert(hash, bytes);
            }
            Ok(files)
        }
    }
    deserializer.deserialize_map(Files)
}

/// Bytes as base64 (RFC 4648, section 4).
struct Bytes(Vec<u8>);

impl<'de> Deserialize<'de> for Bytes {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        STANDARD.decode(text.as_bytes()).map(Self).map_err(|_| Mistake::bad("the bytes of a file", &text).placed())
    }
}

impl Document {
    /// Reads a notebook of any schema that this version knows. A change of a kind that it
    /// does not know, or a field of a change, is kept.
    ///
    /// # Errors
    /// What cannot be read, with its place, and what to do about it.
    pub fn read(bytes: &[u8]) -> Result<Self, NotebookError> {
        if bytes.len() > LARGEST_NOTEBOOK {
            return Err(Mistake::TooLarge.into());
        }
        let bytes = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
        let json = |e: serde_json::Error| NotebookError::of_json(&e);
        let Named { schema } = serde_json::from_slice(bytes).map_err(json)?;
        match schema.as_str() {
            SCHEMA => serde_json::from_slice::<Written>(bytes).map_err(json)?.understood(),
            FIRST_SCHEMA => {
                let notebook = first::read(bytes)?;
                Ok(Self { notebook, files: BTreeMap::new() })
            }
            other => {
                let later = other.strip_prefix(FAMILY).and_then(|n| n.parse::<u32>().ok()).is_some_and(|n| n > 2);
                let mistake = if later {
                    Mistake::Newer(excerpt(other))
                } else {
                    Mistake::NotANotebook(format!("its schema is \"{}\"", excerpt(other)))
                };
                Err(mistake.into())
            }
        }
    }

    /// Writes the notebook, a change a line; what [`Document::read`] reads from it is equal.
    ///
    /// # Errors
    /// It is larger than what would be read again.
    pub fn write(&self) -> Result<String, Mistake> {
        if self.files.len() > MOST_FILES {
            return Err(Mistake::ManyFiles);
        }
        let changes = self.notebook.changes().map(|c| c.text().len() + 2).sum::<usize>();
        let files = self.files.values().map(|b| b.len().div_ceil(3) * 4 + 72).sum::<usize>();
        let whole = changes.saturating_add(files).saturating_add(200);
        if whole > LARGEST_NOTEBOOK {
            return Err(Mistake::TooLarge);
        }
        let mut out = String::with_capacity(whole);
        // Names and sums are of plain letters: nothing of them has to be escaped.
        out.push_str(&format!("{{\"schema\":\"{SCHEMA}\",\n\"notebook\":\"{}\",\n\"changes\":[", self.notebook.id()));
        for (i, change) in self.notebook.changes().enumerate() {
            out.push_str(if i == 0 { "\n" } else { ",\n" });
            out.push_str(change.text());
        }
        out.push_str("],\n\"files\":{");
        for (i, (hash, bytes)) in self.files.iter().enumerate() {
            out.push_str(if i == 0 { "\n\"" } else { ",\n\"" });
            out.push_str(hash.as_str());
            out.push_str("\":\"");
            STANDARD.encode_string(bytes, &mut out);
            out.push('"');
        }
        out.push_str("}}\n");
        Ok(out)
    }

    /// Takes in a copy with its files; how many changes were new.
    ///
    /// # Errors
    /// The notebook would be too full; nothing is taken then.
    pub fn merge(&mut self, copy: &Self) -> Result<usize, Mistake> {
        let new = copy.files.keys().filter(|hash| !self.files.contains_key(*hash)).count();
        if self.files.len() + new > MOST_FILES {
            return Err(Mistake::ManyFiles);
        }
        let count = self.notebook.merge(&copy.notebook)?;
        for (hash, bytes) in &copy.files {
            self.files.entry(hash.clone()).or_insert_with(|| bytes.clone());
        }
        Ok(count)
    }
}

impl Written {
    fn understood(self) -> Result<Document, NotebookError> {
        if !is_name(&self.notebook) {
            return Err(Mistake::bad("the name of a notebook among others", &self.notebook).into());
        }
        if self.changes.len() > MOST_CHANGES {
            return Err(Mistake::ManyChanges.into());
        }
        if self.files.len() > MOST_FILES {
            return Err(Mistake::ManyFiles.into());
        }
        if let Some((hash, _)) = self.files.iter().find(|(hash, bytes)| Hash::of(bytes) != **hash) {
            return Err(Mistake::Spoilt(hash.as_str().to_owned()).into());
        }
        let notebook = Notebook { id: self.notebook, changes: gathered(self.changes) };
        Ok(Document { notebook, files: self.files })
    }
}

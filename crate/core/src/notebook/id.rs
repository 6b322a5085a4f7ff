//! Names of changes, and of files by what they hold.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::error::Mistake;
use super::limits::{LAST_COUNT, LONGEST_ID};

/// The name of a change: which device made it, and its number on that device. What a
/// change adds to the notebook (a lot, a tube, a note) goes by the same name.
///
/// As text `device/number`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct ChangeId {
    /// The device: letters, digits, `.`, `_` and `-`.
    pub device: String,
    /// Counted on that device from 1.
    pub number: u64,
}

/// Whether a text can name a device or a notebook.
pub(super) fn is_name(text: &str) -> bool {
    (1..=LONGEST_ID).contains(&text.len())
        && text.bytes().all(|b| b.is_ascii_alphanumeric() || matches!(b, b'.' | b'_' | b'-'))
}

impl fmt::Display for ChangeId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.device, self.number)
    }
}

impl From<ChangeId> for String {
    fn from(id: ChangeId) -> Self {
        id.to_string()
    }
}

impl FromStr for ChangeId {
    type Err = Mistake;

    fn from_str(text: &str) -> Result<Self, Mistake> {
        let parts = text.split_once('/').filter(|(device, _)| is_name(device));
        let number = parts.and_then(|(_, number)| number.parse().ok()).filter(|n| (1..=LAST_COUNT).contains(n));
        match (parts, number) {
            (Some((device, _)), Some(number)) => Ok(Self { device: device.to_owned(), number }),
            _ => Err(Mistake::bad("the name of an entry", text)),
        }
    }
}

impl TryFrom<String> for ChangeId {
    type Error = Mistake;

    fn try_from(text: String) -> Result<Self, Mistake> {
        text.parse()
    }
}

/// The SHA-256 sum (FIPS 180-4) of a file's bytes, 64 lower-case hexadecimal digits: the
/// name under which the bytes are kept beside the notebook.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Hash(String);

impl Hash {
    /// The sum of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// Its digits.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl From<Hash> for String {
    fn from(hash: Hash) -> Self {
        hash.0
    }
}

impl TryFrom<String> for Hash {
    type Error = Mistake;

    fn try_from(text: String) -> Result<Self, Mistake> {
        let digits = text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
        if text.len() == 64 && digits { Ok(Self(text)) } else { Err(Mistake::bad("the sum of a file", &text)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_read_back_and_others_are_refused() {
        let id: ChangeId = "bench-2/17".parse().unwrap();
        assert_eq!((id.device.as_str(), id.number, id.to_string().as_str()), ("bench-2", 17, "bench-2/17"));
        for wrong in ["", "/1", "a/", "a/0", "a/-1", "a/1/2", "a b/1", "a/9007199254740992", "ä/1"] {
            assert!(wrong.parse::<ChangeId>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn sums_are_those_of_the_standard() {
        // "abc", the example of FIPS 180-4 (the example values of NIST's cryptographic toolkit).
        let sum = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(Hash::of(b"abc").as_str(), sum);
        assert!(Hash::try_from(sum.to_owned()).is_ok());
        assert!(Hash::try_from(sum.to_uppercase()).is_err());
    }
}

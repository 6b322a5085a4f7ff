//! Reading JSON, in one way for all of the program.
//!
//! serde_json reads a text by other code than the bytes of a file, and what is derived for a
//! type is compiled for each of the two.

use serde::Deserialize;

/// As `serde_json::from_str`, by the code that also reads files.
///
/// # Errors
/// The text is not JSON, or not that of such a value.
pub fn read_json<'t, T: Deserialize<'t>>(text: &'t str) -> serde_json::Result<T> {
    serde_json::from_slice(text.as_bytes())
}

//! Bytes to text: UTF-8 and UTF-16 by their marks, else UTF-8, else Latin-1.

use std::borrow::Cow;

use super::error::{Mistake, Place};

/// Control bytes that a text table may hold: tab, line feed, carriage return,
/// and the form feed and end-of-file mark that old programs leave.
const TEXT_CONTROLS: [u8; 5] = [b'\t', b'\n', b'\r', 0x0c, 0x1a];

/// The text of a file.
///
/// # Errors
/// An empty file, or one that holds bytes no text has.
pub(super) fn text(bytes: &[u8]) -> Result<Cow<'_, str>, (Place, Mistake)> {
    let text = match bytes {
        [0xef, 0xbb, 0xbf, rest @ ..] => utf8_or_latin1(rest)?,
        [0xff, 0xfe, rest @ ..] => Cow::Owned(utf16(rest, u16::from_le_bytes)),
        [0xfe, 0xff, rest @ ..] => Cow::Owned(utf16(rest, u16::from_be_bytes)),
        _ => utf8_or_latin1(bytes)?,
    };
    if text.trim().is_empty() {
        return Err((Place::File, Mistake::Empty));
    }
    Ok(text)
}

fn utf8_or_latin1(bytes: &[u8]) -> Result<Cow<'_, str>, (Place, Mistake)> {
    let odd = |b: &u8| b.is_ascii_control() && !TEXT_CONTROLS.contains(b);
    if let Some(at) = bytes.iter().position(odd) {
        return Err((Place::File, Mistake::Binary { at, value: bytes[at] }));
    }
    Ok(match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        // Latin-1 maps each byte to the code point of the same number (ISO/IEC 8859-1).
        Err(_) => Cow::Owned(bytes.iter().map(|&b| char::from(b)).collect()),
    })
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> String {
    let units: Vec<u16> = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]])).collect();
    String::from_utf16_lossy(&units)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_micro_sign_survives_each_encoding() {
        let expected = "Ig [µA]";
        assert_eq!(text(expected.as_bytes()).unwrap(), expected);
        assert_eq!(text(b"Ig [\xb5A]").unwrap(), expected);
        let little: Vec<u8> =
            [0xff, 0xfe].into_iter().chain(expected.encode_utf16().flat_map(u16::to_le_bytes)).collect();
        assert_eq!(text(&little).unwrap(), expected);
        let big: Vec<u8> = [0xfe, 0xff].into_iter().chain(expected.encode_utf16().flat_map(u16::to_be_bytes)).collect();
        assert_eq!(text(&big).unwrap(), expected);
    }

    #[test]
    fn bytes_that_are_no_text_are_named() {
        let error = text(b"PK\x03\x04rest").unwrap_err();
        assert_eq!(error.1, Mistake::Binary { at: 2, value: 3 });
    }

    #[test]
    fn nothing_but_blanks_is_empty() {
        assert_eq!(text(b" \r\n\t").unwrap_err().1, Mistake::Empty);
    }
}

//! Bytes to text: UTF-8 and UTF-16 by their marks, else UTF-8, else Latin-1.

use std::borrow::Cow;

use super::error::{Mistake, Place};
use super::survey::{Survey, Surveyed};

/// Share of every other byte that is nought in UTF-16 without a mark: the high
/// bytes of Latin letters and digits (judgement, no source).
const HIGH_BYTES: f64 = 0.7;
/// Bytes at the start of a file that show whether it is UTF-16.
const SHOWN: usize = 256;

/// The text of a file.
#[derive(Debug)]
pub(super) struct Text<'a> {
    text: Cow<'a, str>,
    survey: Survey,
}

impl Text<'_> {
    /// The text with what was seen of it.
    pub(super) fn surveyed(&self) -> Surveyed<'_> {
        Surveyed::with(&self.text, self.survey)
    }

    fn owned(text: String) -> Self {
        let survey = Survey::of(text.as_bytes()).0;
        Self { text: Cow::Owned(text), survey }
    }
}

/// The text of a file.
///
/// # Errors
/// An empty file, or one that holds bytes no text has.
pub(super) fn text(bytes: &[u8]) -> Result<Text<'_>, (Place, Mistake)> {
    let text = match bytes {
        [0xef, 0xbb, 0xbf, rest @ ..] => utf8_or_latin1(rest)?,
        [0xff, 0xfe, rest @ ..] => Text::owned(utf16(rest, u16::from_le_bytes)),
        [0xfe, 0xff, rest @ ..] => Text::owned(utf16(rest, u16::from_be_bytes)),
        _ => match unmarked_utf16(bytes) {
            Some(unit) => Text::owned(utf16(bytes, unit)),
            None => utf8_or_latin1(bytes)?,
        },
    };
    if text.text.trim().is_empty() {
        return Err((Place::File, Mistake::Empty));
    }
    Ok(text)
}

fn utf8_or_latin1(bytes: &[u8]) -> Result<Text<'_>, (Place, Mistake)> {
    let (survey, odd) = Survey::of(bytes);
    let place = |from: usize| bytes[from..].iter().position(|b| sweepbook_rows::is_odd(*b)).map(|at| from + at);
    if let Some(at) = odd.and_then(place) {
        return Err((Place::File, Mistake::Binary { at, value: bytes[at] }));
    }
    Ok(match std::str::from_utf8(bytes) {
        Ok(text) => Text { text: Cow::Borrowed(text), survey },
        // Latin-1 maps each byte to the code point of the same number (ISO/IEC 8859-1).
        Err(_) => Text::owned(bytes.iter().map(|&b| char::from(b)).collect()),
    })
}

/// The byte order of UTF-16 that has no mark.
fn unmarked_utf16(bytes: &[u8]) -> Option<fn([u8; 2]) -> u16> {
    let start = &bytes[..bytes.len().min(SHOWN) & !1];
    let noughts = |from: usize| start.iter().skip(from).step_by(2).filter(|b| **b == 0).count() as f64;
    let (high, pairs) = (HIGH_BYTES * (start.len() / 2) as f64, start.len() / 2);
    match (noughts(0), noughts(1)) {
        _ if pairs < 4 => None,
        (0.0, odd) if odd >= high => Some(u16::from_le_bytes),
        (even, 0.0) if even >= high => Some(u16::from_be_bytes),
        _ => None,
    }
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
        let said = |bytes: &[u8]| text(bytes).unwrap().text.into_owned();
        assert_eq!(said(expected.as_bytes()), expected);
        assert_eq!(said(b"Ig [\xb5A]"), expected);
        let little: Vec<u8> =
            [0xff, 0xfe].into_iter().chain(expected.encode_utf16().flat_map(u16::to_le_bytes)).collect();
        assert_eq!(said(&little), expected);
        let big: Vec<u8> = [0xfe, 0xff].into_iter().chain(expected.encode_utf16().flat_map(u16::to_be_bytes)).collect();
        assert_eq!(said(&big), expected);
        assert_eq!(said(&little[2..]), expected);
        assert_eq!(said(&big[2..]), expected);
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

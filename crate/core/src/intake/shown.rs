//! Text from outside as it may be shown: a file's words must not steer the
//! terminal, nor reorder the line that they stand in.

/// Longest piece of a file that a message quotes, characters: half a line of a
/// terminal (by construction, no source).
const LONGEST_EXCERPT: usize = 40;

/// Whether a character would act on a screen instead of being shown.
///
/// These are the control characters, line and paragraph separators, and the
/// marks that change the direction of the text around them (Unicode Standard
/// Annex 9, section 2, and Unicode Technical Report 36, section 2.5; from memory).
pub fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The text without blanks at its ends, and with every character that steers a
/// screen replaced by the replacement character.
pub fn clean(text: &str) -> String {
    text.trim().chars().map(printable).collect()
}

/// The beginning of a text, cleaned, as a message quotes it.
pub(crate) fn excerpt(text: &str) -> String {
    let mut shown: String = text.chars().take(LONGEST_EXCERPT).map(printable).collect();
    if text.chars().nth(LONGEST_EXCERPT).is_some() {
        shown.push('…');
    }
    shown
}

fn printable(c: char) -> char {
    if steers(c) { char::REPLACEMENT_CHARACTER } else { c }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_steers_a_screen_is_left() {
        assert_eq!(
            clean(" a\u{1b}[31mb\u{9b}2J\u{202e}c\u{2028}d\u{7f} "),
            "a\u{fffd}[31mb\u{fffd}2J\u{fffd}c\u{fffd}d\u{fffd}"
        );
    }

    #[test]
    fn ordinary_words_of_any_script_are_left_alone() {
        for name in ["B-17", "Röhre Nr. 4 µ", "6Н8С", "<b>17</b>"] {
            assert_eq!(clean(name), name);
        }
    }

    #[test]
    fn an_excerpt_is_short_and_says_so() {
        assert_eq!(excerpt(&"x".repeat(40)), "x".repeat(40));
        assert_eq!(excerpt(&"x".repeat(41)), format!("{}…", "x".repeat(40)));
    }
}

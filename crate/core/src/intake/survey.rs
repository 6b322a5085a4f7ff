//! A text with what one look at all its bytes tells of it, so that nothing that is not
//! there is looked for again.

use super::error::{Mistake, Place};
use super::limits::MOST_LINES;
use super::shares;

/// Bytes that are looked through at a time.
const BLOCK: usize = 16 * 1024;

/// Where what was found ends.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Survey {
    /// Byte before which every `#` stands.
    hashes: usize,
    /// Byte before which every quotation mark stands.
    quotes: usize,
    /// Byte before which every comma stands.
    commas: usize,
    feeds: usize,
    returns: usize,
}

/// A text that was looked at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Surveyed<'a> {
    pub(super) text: &'a str,
    survey: Survey,
}

impl Survey {
    /// Of some bytes, and where the first block starts that holds a control byte which no
    /// text table has.
    pub(super) fn of(bytes: &[u8]) -> (Self, Option<usize>) {
        let mut survey = Self::default();
        let mut odd = None;
        for (i, tally) in shares::blocks(bytes, BLOCK, sweepbook_rows::tally).into_iter().enumerate() {
            let end = (BLOCK * (i + 1)).min(bytes.len());
            let mark = |found: bool, until: &mut usize| {
                if found {
                    *until = end;
                }
            };
            mark(tally.hash, &mut survey.hashes);
            mark(tally.quote, &mut survey.quotes);
            mark(tally.comma, &mut survey.commas);
            survey.feeds += tally.feeds;
            survey.returns += tally.returns;
            odd = odd.or(tally.odd.then_some(BLOCK * i));
        }
        (survey, odd)
    }
}

impl<'a> Surveyed<'a> {
    /// A text that nobody looked at yet.
    pub(super) fn of(text: &'a str) -> Self {
        Self::with(text, Survey::of(text.as_bytes()).0)
    }

    /// A text with the survey of its bytes.
    pub(super) fn with(text: &'a str, survey: Survey) -> Self {
        Self { text, survey }
    }

    /// Refuses a text of more lines than any table has, before anybody looks at each of them.
    pub(super) fn bounded(&self) -> Result<(), (Place, Mistake)> {
        let ends = self.survey.feeds.max(self.survey.returns);
        if ends > MOST_LINES { Err((Place::File, Mistake::ManyLines)) } else { Ok(()) }
    }

    /// The text as far as it holds a `#`.
    pub(super) fn commented(&self) -> &'a str {
        let end = (self.survey.hashes..=self.text.len()).find(|i| self.text.is_char_boundary(*i));
        &self.text[..end.unwrap_or(self.text.len())]
    }

    /// Whether a quotation mark stands at or after byte `start`.
    pub(super) fn has_quote(&self, start: usize) -> bool {
        has(self.text, b'"', start, self.survey.quotes)
    }

    /// Whether a comma stands at or after byte `start`.
    pub(super) fn has_comma(&self, start: usize) -> bool {
        has(self.text, b',', start, self.survey.commas)
    }
}

fn has(text: &str, byte: u8, start: usize, until: usize) -> bool {
    text.as_bytes().get(start..until).is_some_and(|within| memchr::memchr(byte, within).is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_is_known_wherever_it_stands() {
        for at in [0, 5, BLOCK - 1, BLOCK, 3 * BLOCK] {
            let text = format!("{}#\",{}", "µ".repeat(at / 2), "\n".repeat(2 * BLOCK));
            let place = 2 * (at / 2);
            let surveyed = Surveyed::of(&text);
            assert!(surveyed.commented().len() > place);
            assert!(surveyed.has_quote(place + 1) && !surveyed.has_quote(place + 2));
            assert!(surveyed.has_comma(place + 2) && !surveyed.has_comma(place + 3));
            assert_eq!(surveyed.survey.feeds, 2 * BLOCK);
        }
    }

    #[test]
    fn a_comment_reaches_as_far_as_its_line() {
        // The block with the last `#` ends within its comment.
        let text = format!("{}# section: {}\n1,2,3\n", " ".repeat(BLOCK - 4), "9".repeat(40));
        let comments: Vec<_> = super::super::table::comments(&Surveyed::of(&text)).map(|c| c.text.len()).collect();
        assert_eq!(comments, [" section: ".len() + 40]);
    }
}

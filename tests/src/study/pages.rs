//! The pages in `tests/study`, written or checked together: the tubes are diagnosed once.

use super::{confusion, kept, one_point, population};
use crate::here;

/// One page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// `confusion.md`, the cross-check.
    Confusion,
    /// `one-point.md`.
    OnePoint,
}

impl Page {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Confusion, Self::OnePoint];

    fn file(self) -> &'static str {
        match self {
            Self::Confusion => "study/confusion.md",
            Self::OnePoint => "study/one-point.md",
        }
    }

    fn text(self, population: &population::Population) -> String {
        match self {
            Self::Confusion => confusion::page(population),
            Self::OnePoint => one_point::page(population),
        }
    }
}

/// Diagnoses the held-out tubes and writes pages, or, to `check`, compares them with the
/// committed ones. What became of each, a line each.
///
/// # Errors
/// All pages that differ or could not be written.
pub fn keep(pages: &[Page], check: bool) -> Result<String, String> {
    let population = population::held_out()?;
    let kept = pages.iter().map(|p| kept::keep(&here().join(p.file()), &p.text(&population), check));
    let (good, bad): (Vec<_>, Vec<_>) = kept.partition(Result::is_ok);
    let lines = |results: Vec<Result<String, String>>| {
        results.into_iter().map(|r| r.unwrap_or_else(|e| e)).collect::<Vec<_>>().join("\n")
    };
    if bad.is_empty() { Ok(lines(good)) } else { Err(lines(bad)) }
}

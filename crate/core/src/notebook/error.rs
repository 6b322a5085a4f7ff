//! What can be wrong with a notebook, where, and how to mend it.

use serde::Serialize;

use super::limits::{LARGEST_NOTEBOOK, MOST_CHANGES, MOST_FILES, MOST_IN_ACT};
use crate::intake::excerpt;

/// One thing that is wrong with a notebook, or with a change that is to be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "each variant's message says what it is")]
pub enum Mistake {
    #[error("the file is larger than {} MB", LARGEST_NOTEBOOK / (1024 * 1024))]
    TooLarge,
    #[error("this is no notebook: {0}")]
    NotANotebook(String),
    #[error("the notebook is of schema \"{0}\", which a later version of this program writes")]
    Newer(String),
    #[error("the notebook has more than {MOST_CHANGES} changes")]
    ManyChanges,
    #[error("the notebook keeps more than {MOST_FILES} files")]
    ManyFiles,
    #[error("more than {MOST_IN_ACT} changes at once")]
    ManyAtOnce,
    #[error("a change is longer than may be")]
    LongChange,
    #[error("\"{text}\" cannot be {what}")]
    Bad { what: &'static str, text: String },
    #[error("{what} has to be given")]
    Missing { what: &'static str },
    #[error("{what} is longer than {most} characters")]
    Long { what: &'static str, most: usize },
    #[error("the decision differs from what the sweep says, and no reason is given")]
    NoReason,
    #[error("the bytes kept as {0} are not those of that sum")]
    Spoilt(String),
    #[error("nothing in the file goes by {0}")]
    NotThere(String),
    #[error("more than one tube goes by {0}")]
    Unclear(String),
}

/// Parts a message from its mend on the way through serde, which keeps one text only.
const PART: char = '\u{1f}';

impl Mistake {
    pub(super) fn bad(what: &'static str, text: &str) -> Self {
        Self::Bad { what, text: excerpt(text) }
    }

    /// What to do about it, one sentence.
    pub fn mend(&self) -> String {
        match self {
            Self::TooLarge | Self::ManyFiles => "Put some of the lots into a notebook of their own.".into(),
            Self::ManyChanges => "Begin a new notebook, and keep this one as it is.".into(),
            Self::NotANotebook(_) => format!(
                "Open a file that was saved as a notebook, or write {{\"schema\": \"{}\", \"name\": \"Workshop\", \"lots\": \
                 [{{\"name\": \"Lot 1\"}}], \"tubes\": [{{\"lot\": \"Lot 1\", \"label\": \"B-17\", \"type\": \"6SN7GTB\"}}]}}.",
                super::FIRST_SCHEMA
            ),
            Self::Newer(_) => "Open it with that version, or update this one.".into(),
            Self::ManyAtOnce | Self::LongChange => "Do it in smaller steps.".into(),
            Self::Bad { .. } => "Correct it, or leave it out.".into(),
            Self::Missing { .. } => "Fill it in.".into(),
            Self::Long { .. } => "Shorten it.".into(),
            Self::NoReason => "Say why you decide otherwise.".into(),
            Self::Spoilt(_) => "Take the file from another copy of the notebook, or leave it out of this one.".into(),
            Self::NotThere(_) => "Correct the name, or list the tube under \"tubes\".".into(),
            Self::Unclear(_) => "Name its lot as well.".into(),
        }
    }

    /// As an error of serde, which adds the place.
    pub(super) fn placed<E: serde::de::Error>(&self) -> E {
        E::custom(format!("{self}{PART}{}", self.mend()))
    }
}

/// A notebook that could not be read, or a change that could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error, Serialize)]
#[error("{}{what}. {mend}", place(*line, *column))]
pub struct NotebookError {
    /// Line of the file, counted from 1; `None` for the file as a whole.
    pub line: Option<usize>,
    /// Byte in that line, counted from 1.
    pub column: Option<usize>,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub mend: String,
}

fn place(line: Option<usize>, column: Option<usize>) -> String {
    match (line, column) {
        (Some(line), Some(column)) => format!("line {line}, column {column}: "),
        (Some(line), None) => format!("line {line}: "),
        _ => String::new(),
    }
}

impl From<Mistake> for NotebookError {
    fn from(mistake: Mistake) -> Self {
        Self { line: None, column: None, what: mistake.to_string(), mend: mistake.mend() }
    }
}

impl NotebookError {
    /// What serde says of a text, with its place.
    pub(super) fn of_json(error: &serde_json::Error) -> Self {
        let says = error.to_string();
        let says = says.rsplit_once(" at line ").map_or(says.as_str(), |(says, _)| says);
        let (what, mend) = match says.split_once(PART) {
            Some((what, mend)) => (what.to_owned(), mend.to_owned()),
            None => {
                let mistake = Mistake::NotANotebook(crate::intake::clean(says));
                (mistake.to_string(), mistake.mend())
            }
        };
        let counted = |n: usize| (n > 0).then_some(n);
        Self { line: counted(error.line()), column: counted(error.column()), what, mend }
    }
}

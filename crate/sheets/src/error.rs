//! Why a file could not be taken apart, and the mend.

use crate::limits::{
    MOST_CELLS, MOST_COLUMNS, MOST_ENTRIES, MOST_RATIO, MOST_ROWS, MOST_SHEETS, MOST_SPANNED, MOST_UNPACKED,
};

/// Why a file could not be taken apart.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "each variant's message says what it is")]
pub enum Unpackable {
    #[error("it unpacks to more than {} MB", MOST_UNPACKED / (1024 * 1024))]
    TooLarge,
    #[error("its entry \"{0}\" grows more than {MOST_RATIO} times when it is unpacked")]
    Ratio(String),
    #[error("it holds more than {MOST_ENTRIES} files")]
    ManyEntries,
    #[error("it holds more than {MOST_SHEETS} sheets")]
    ManySheets,
    #[error("a sheet has more than {MOST_COLUMNS} columns")]
    ManyColumns,
    #[error("a sheet has more than {MOST_ROWS} rows")]
    ManyRows,
    #[error("a sheet has more than {} million cells", MOST_CELLS / 1_000_000)]
    ManyCells,
    #[error("its sheets span more than {} million cells", MOST_SPANNED / 1_000_000)]
    Spans,
    #[error("its cells are not in order")]
    Disordered,
    #[error("it is an archive within an archive")]
    Nested,
    #[error("it holds no table")]
    NoTable,
    #[error("the archive is damaged: {0}")]
    Archive(String),
    #[error("the spreadsheet is damaged: {0}")]
    Sheet(String),
}

impl Unpackable {
    /// What to do about it, one sentence.
    pub fn mend(&self) -> String {
        match self {
            Self::TooLarge
            | Self::ManyEntries
            | Self::ManySheets
            | Self::ManyColumns
            | Self::ManyRows
            | Self::ManyCells
            | Self::Spans => "Keep only the sweeps in it, or hand in its tables one by one.".into(),
            Self::Ratio(_) => {
                "This is not how measurements look; do not open it if you do not know where it is from.".into()
            }
            Self::Nested => "Unpack it, and hand in the files within.".into(),
            Self::NoTable => "Hand in .csv, .tsv, .txt, .xlsx, .ods or .xls files.".into(),
            Self::Disordered | Self::Archive(_) | Self::Sheet(_) => {
                "Open it where it was made and save it again, or export its sheets as CSV.".into()
            }
        }
    }

    /// A message of the reader that is used, cut short: it may quote the file.
    pub(crate) fn sheet(error: impl std::fmt::Display) -> Self {
        Self::Sheet(short(&error.to_string()))
    }

    pub(crate) fn archive(error: impl std::fmt::Display) -> Self {
        Self::Archive(short(&error.to_string()))
    }
}

/// Longest message of a library that is passed on, characters.
const LONGEST: usize = 120;

pub(crate) fn short(text: &str) -> String {
    text.chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect()
}

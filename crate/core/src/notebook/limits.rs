//! How much a notebook may hold. All by construction: far above what a workshop writes,
//! far below what would stop a browser.

/// Largest file read or written, bytes. The files of a thousand sweeps fit, as base64.
pub const LARGEST_NOTEBOOK: usize = 256 * 1024 * 1024;
/// Most changes of one notebook: ten years of a hundred a day fit.
pub const MOST_CHANGES: usize = 400_000;
/// Longest change as text, bytes.
pub const LONGEST_CHANGE: usize = 256 * 1024;
/// Most changes made by one act of the user.
pub const MOST_IN_ACT: usize = 1000;
/// Most files kept beside a notebook.
pub const MOST_FILES: usize = 20_000;
/// Longest name of a device or a notebook, characters.
pub const LONGEST_ID: usize = 40;
/// Longest time as text, characters.
pub const LONGEST_TIME: usize = 40;
/// Longest text on one line, such as a name, characters.
pub const LONGEST_LINE: usize = 300;
/// Longest note, characters.
pub const LONGEST_NOTE: usize = 20_000;
/// Most options of one reading.
pub const MOST_OPTIONS: usize = 100;
/// Longest option and longest bench profile, characters.
pub const LONGEST_OPTION: usize = 10_000;
/// Largest counter and clock: what every JSON program keeps exactly, 2^53 − 1 (RFC 8259,
/// section 6).
pub const LAST_COUNT: u64 = (1 << 53) - 1;
/// Longest side of a photo that may be stated, pixels.
pub const LONGEST_SIDE: u32 = 100_000;
/// Most tubes that may be said to have been bought in one lot.
pub const MOST_BOUGHT: u32 = 1_000_000;
/// Most points of an exercise, and most levels (by construction: there are five of each).
pub(super) const MOST_POINTS: u32 = 100;

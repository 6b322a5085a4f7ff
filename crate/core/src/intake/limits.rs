//! What intake bounds, so that a hostile or broken file is refused quickly.

/// Largest file read, bytes. Two million points with ten columns of eight
/// characters are 160 MB (by construction of this tool, no source).
pub const LARGEST_FILE: usize = 192 * 1024 * 1024;
/// Most points read from one file: a minute of a bench that samples at 33 kHz,
/// a hundred times a fine sweep of a twin triode (by construction, no source).
pub const MOST_POINTS: usize = 2_000_000;
/// Most lines of a file, blank ones and comments among them (by construction).
pub(super) const MOST_LINES: usize = 2 * MOST_POINTS;
/// Most notes that are kept of a file (by construction, no source).
pub(super) const MOST_NOTES: usize = 1000;
/// Longest row, bytes. A row of [`MOST_CELLS`] numbers has a tenth of it (by
/// construction, no source).
pub(super) const LONGEST_ROW: usize = 1024 * 1024;
/// Most cells in a row: forty curves for each of two sections with grid current
/// need 161 (by construction, no source).
pub(super) const MOST_CELLS: usize = 4096;
/// How many lines may stand before the heading (free text of bench programs;
/// by construction, no source).
pub(super) const LINES_BEFORE_HEADING: usize = 200;
/// Longest line that can be a heading, bytes: a hundred times the longest
/// sensible one (by construction, no source). Spares taking a file without
/// line ends apart cell by cell.
pub(super) const LONGEST_HEADING: usize = 16 * 1024;
/// Most bytes of lines that are looked at for a heading (by construction, no source).
pub(super) const HEADING_WITHIN: usize = 64 * 1024;
/// Longest cell that can be a heading, bytes: four times the longest sensible one (by
/// construction, no source).
pub(super) const LONGEST_NAME: usize = 160;
/// Largest plate or screen voltage read, V: above any receiving tube's (the
/// 845 runs at 1250 V, reference 2.1), with room.
pub(super) const MOST_VOLTS: f64 = 20_000.0;
/// Largest current read, A: above any receiving tube's, with room. A table in
/// mA whose heading says A lands beyond it.
pub(super) const MOST_AMPERES: f64 = 5.0;
/// Points of the first tube that a question shows of each reading: enough for a
/// small figure (by construction, no source).
pub(super) const PREVIEW_POINTS: usize = 240;

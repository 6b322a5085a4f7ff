//! What is bounded before anything is unpacked.

/// Most bytes that an archive or a spreadsheet may unpack to: two million points as
/// a sheet's markup are less, and it is unpacked within a second (by construction,
/// no source).
pub const MOST_UNPACKED: u64 = 128 * 1024 * 1024;
/// Most times that an entry of over [`RATIO_FROM`] may grow when it is unpacked: a
/// sheet's markup grows ten- to fiftyfold, a bomb a thousandfold, which is what the
/// method of compression can do at most (RFC 1951; the two figures from memory).
pub const MOST_RATIO: u64 = 250;
/// Smallest entry whose growth is looked at, bytes unpacked.
pub const RATIO_FROM: u64 = 1024 * 1024;
/// Most entries in an archive: a lot of a thousand tubes with a file each, twice
/// over (by construction, no source).
pub const MOST_ENTRIES: usize = 2000;
/// Most sheets in a spreadsheet (by construction, no source).
pub const MOST_SHEETS: usize = 500;
/// Most columns of a sheet, as of a text table.
pub const MOST_COLUMNS: u32 = 4096;
/// Most rows of a sheet: what a modern spreadsheet holds, 2^20, and as much again.
pub const MOST_ROWS: u32 = 2 * 1024 * 1024;
/// Most cells that the old kind of spreadsheet may span over all of its sheets: its
/// reader lays out the empty ones too, at 32 bytes each (by construction).
pub const MOST_SPANNED: u64 = 4_000_000;
/// Most cells that are written out of a sheet: two million points with ten columns.
pub const MOST_CELLS: usize = 20_000_000;

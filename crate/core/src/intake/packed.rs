//! Files that hold tables but are none: told by their first bytes, since names lie.

/// How a file is packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Packed {
    /// A zip archive: what newer spreadsheets are, and archives of tables.
    Zip,
    /// The container of old spreadsheets.
    Compound,
}

/// How a file is packed; `None` for one that is read as it is. The marks are those of
/// the formats (PKWARE's APPNOTE 4.3.7 and 4.3.16, MS-CFB 2.2; from memory).
pub fn packed(bytes: &[u8]) -> Option<Packed> {
    match bytes {
        [b'P', b'K', 3, 4, ..] | [b'P', b'K', 5, 6, ..] => Some(Packed::Zip),
        [0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1, ..] => Some(Packed::Compound),
        _ => None,
    }
}

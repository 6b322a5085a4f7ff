//! Bombs, far corners, damage: refused with a message, without being unpacked first.

use proptest::prelude::*;
use sweepbook_sheets::{Unpackable, unpack};

use super::make::{ods, ods_of, xls, xls_corner, xls_of, xlsx, zip};

fn refused(bytes: &[u8]) -> Unpackable {
    let mut parts = unpack("x", bytes);
    assert_eq!(parts.len(), 1);
    let why = parts.remove(0).unwrap_err().why;
    assert!(!why.mend().is_empty());
    why
}

#[test]
fn an_archive_that_grows_without_measure() {
    let noughts = vec![0; 40_000_000];
    assert_eq!(refused(&zip(&[("a.csv", &noughts)])), Unpackable::Ratio("a.csv".into()));
    // Grows by less, but by too much in all.
    let mut mixed = Vec::new();
    for i in 0..1_200_000_u32 {
        mixed.extend_from_slice(&i.wrapping_mul(2_654_435_761).to_le_bytes());
        mixed.extend_from_slice(&[0; 32]);
    }
    let entries: Vec<(String, &[u8])> = (0..4).map(|i| (format!("{i}.csv"), mixed.as_slice())).collect();
    let entries: Vec<(&str, &[u8])> = entries.iter().map(|(n, b)| (n.as_str(), *b)).collect();
    assert_eq!(refused(&zip(&entries)), Unpackable::TooLarge);
}

#[test]
fn an_archive_of_thousands_of_files() {
    let names: Vec<String> = (0..2001).map(|i| format!("{i}.csv")).collect();
    let entries: Vec<(&str, &[u8])> = names.iter().map(|n| (n.as_str(), b"x".as_slice())).collect();
    assert_eq!(refused(&zip(&entries)), Unpackable::ManyEntries);
}

#[test]
fn archives_within_archives() {
    let mut inner = zip(&[("a.csv", b"Va,Vg,Ia [mA]\n1,1,1\n")]);
    for depth in 0..50 {
        inner = zip(&[(if depth % 2 == 0 { "b.xlsx" } else { "b.ods" }, &inner)]);
    }
    assert_eq!(refused(&inner), Unpackable::Nested);
    assert_eq!(refused(&zip(&[("a.exe", b"x")])), Unpackable::NoTable);
}

#[test]
fn far_corners() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write_number(0, 0, 1.0).unwrap();
    sheet.write_number(1_048_575, 16_383, 1.0).unwrap();
    assert_eq!(refused(&book.save_to_buffer().unwrap()), Unpackable::ManyColumns);
    let corners = [xls_corner(0, 0), xls_corner(65_535, 255)].concat();
    assert_eq!(refused(&xls_of(&[("a", corners)])), Unpackable::Spans);
    let modest = [xls_corner(0, 0), xls_corner(9_999, 99)].concat();
    let sheets: Vec<(&str, Vec<u8>)> = (0..9).map(|_| ("a", modest.clone())).collect();
    assert_eq!(refused(&xls_of(&sheets)), Unpackable::Spans);
}

#[test]
fn cells_and_rows_that_repeat_without_end() {
    let cell = |columns: u64, rows: u64| {
        ods_of(&format!(
            "<table:table table:name=\"a\"><table:table-row table:number-rows-repeated=\"{rows}\"><table:table-cell \
             table:number-columns-repeated=\"{columns}\" office:value-type=\"float\" office:value=\"1\"/>\
             </table:table-row></table:table>"
        ))
    };
    assert_eq!(refused(&cell(4_000_000_000, 1)), Unpackable::ManyColumns);
    assert_eq!(refused(&cell(1, 4_000_000_000)), Unpackable::ManyRows);
    assert_eq!(refused(&cell(4000, 1_000_000)), Unpackable::ManyCells);
}

#[test]
fn markup_within_markup() {
    let deep = "<text:p>".repeat(1_000_000);
    assert!(matches!(refused(&ods_of(&deep)), Unpackable::Sheet(_) | Unpackable::NoTable));
}

fn sound() -> [Vec<u8>; 3] {
    let sheets = [("a", "Va,Vg,Ia [mA]\n100,-1,0.5\n"), ("b", "x & y,1\n")];
    [xlsx(&sheets), ods(&sheets), xls(&sheets)]
}

#[test]
fn a_sheet_that_lies_outside_its_file() {
    let mut bytes = xls(&[("a", "Va,Vg,Ia [mA]\n100,-1,0.5\n")]);
    // The record of the sheet (0x0085) begins with its place ([MS-XLS] 2.4.28; from memory).
    let at = bytes.windows(2).rposition(|w| w == [0x85, 0]).unwrap();
    bytes[at + 4..at + 8].copy_from_slice(&41_138_u32.to_le_bytes());
    assert_eq!(refused(&bytes), Unpackable::Sheet("one of its sheets lies outside the file".into()));
}

#[test]
fn a_file_cut_short_anywhere() {
    for bytes in sound() {
        for end in (0..bytes.len()).step_by(7) {
            let _ = unpack("x", &bytes[..end]);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_file_with_bytes_changed(kind in 0_usize..3, changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
        let mut bytes = sound()[kind].clone();
        for (at, value) in changes {
            let at = at.index(bytes.len());
            bytes[at] = value;
        }
        let _ = unpack("x", &bytes);
    }
}

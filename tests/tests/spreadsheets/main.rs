//! Spreadsheets and archives: what is in them is read as the same tables in text are,
//! and what is made to hurt is refused.
//!
//! The newer spreadsheets are written by rust_xlsxwriter, which shares no code with the
//! reader; the others by hand.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod hostile;
mod make;

use make::{ods, xls, xlsx, zip};
use sweepbook_core::intake::{Found, Part, Reading, Refusal, join, joinable, read, read_parts};
use sweepbook_core::sweep::Tube;
use sweepbook_sheets::unpack;

const ONE: &str = "Va [V],Vg [V],Ia [mA]\n100,-1.25,0.5\n100,-2.5,1.234\n200,-2.5,1.5\n";
const TWO: &str = "Va [V],Vg [V],Ia [mA]\n100,-1.25,0.4\n100,-2.5,0.2\n200,-2.5,1.4\n";

/// Reads a file with all that is in it.
fn all(name: &str, bytes: &[u8]) -> Vec<Result<Found, Refusal>> {
    let parts: Vec<_> = unpack(name, bytes).into_iter().map(Result::unwrap).collect();
    let parts: Vec<Part> =
        parts.iter().map(|p| Part { name: &p.name, sheet: p.sheet.as_deref(), bytes: &p.bytes }).collect();
    read_parts(&parts, &Reading::default())
}

fn tubes(name: &str, bytes: &[u8]) -> Vec<Tube> {
    all(name, bytes).into_iter().flat_map(|r| r.unwrap_or_else(|e| panic!("{e:?}")).tubes).collect()
}

fn kinds(sheets: &[make::Sheet]) -> [(&'static str, Vec<u8>); 3] {
    [("b.xlsx", xlsx(sheets)), ("b.ods", ods(sheets)), ("b.xls", xls(sheets))]
}

#[test]
fn a_sheet_is_read_as_the_same_table_in_text() {
    let text = format!("# tube: B-17\n# type: 6SN7GTB\n{ONE}");
    let expected = &read("b.csv", text.as_bytes()).unwrap()[0];
    for (name, bytes) in kinds(&[("Sheet1", &text)]) {
        let tube = tubes(name, &bytes).remove(0);
        assert_eq!(
            (&tube.name, &tube.kind, &tube.sections),
            (&expected.name, &expected.kind, &expected.sections),
            "{name}"
        );
    }
}

#[test]
fn what_is_known_may_stand_in_two_cells() {
    let text = format!("tube,B-17\ntype,6SN7GTB\n# heater_voltage,6.3 V\n\n{ONE}");
    for (name, bytes) in kinds(&[("Sheet1", &text)]) {
        let tube = tubes(name, &bytes).remove(0);
        assert_eq!((tube.name.as_str(), tube.kind.as_deref()), ("B-17", Some("6SN7GTB")), "{name}");
        assert_eq!(tube.bench.heater_voltage, Some(6.3));
    }
}

#[test]
fn sections_on_sheets_of_their_own_are_one_tube() {
    for (name, bytes) in kinds(&[("section 1", ONE), ("section 2", TWO), ("remarks", "bought in May\n")]) {
        let tubes = tubes(name, &bytes);
        assert_eq!(tubes.len(), 1, "{name}");
        assert_eq!(tubes[0].name, "b");
        let sections: Vec<(&str, f64)> = tubes[0].sections.iter().map(|s| (s.name.as_str(), s.points.ia[0])).collect();
        assert_eq!(sections, [("1", 0.5e-3), ("2", 0.4e-3)]);
        assert_eq!(tubes[0].source.len(), 2);
    }
}

#[test]
fn tubes_on_sheets_of_their_own_are_tubes() {
    for (name, bytes) in kinds(&[("B-17", ONE), ("B-18", TWO)]) {
        let tubes = tubes(name, &bytes);
        assert_eq!(tubes.iter().map(|t| t.name.as_str()).collect::<Vec<_>>(), ["B-17", "B-18"], "{name}");
    }
}

#[test]
fn a_book_without_a_table_says_so_once_for_each_sheet() {
    for (name, bytes) in kinds(&[("a", "bought in May\n"), ("b", "sold in June\n")]) {
        let results = all(name, &bytes);
        assert_eq!(results.len(), 2);
        assert!(results.iter().all(Result::is_err), "{name}");
    }
}

#[test]
fn an_archive_holds_files_of_every_kind() {
    let book = xlsx(&[("Sheet1", ONE)]);
    let bytes = zip(&[
        ("lot/b.csv", ONE.as_bytes()),
        ("lot/a.xlsx", &book),
        ("readme.md", b"no table"),
        ("__MACOSX/lot/._b.csv", b"\0\0"),
    ]);
    let tubes = tubes("lot.zip", &bytes);
    let names: Vec<(&str, &str)> = tubes.iter().map(|t| (t.name.as_str(), t.source[0].as_str())).collect();
    assert_eq!(names, [("a", "lot.zip/lot/a.xlsx [Sheet1]"), ("b", "lot.zip/lot/b.csv")]);
}

#[test]
fn places_in_messages_are_those_of_the_sheet() {
    let text = ONE.replace("1.5", "much");
    for (name, bytes) in kinds(&[("Sheet1", &format!("\n\n{text}"))]) {
        match all(name, &bytes).remove(0) {
            Err(Refusal::Unread(unread)) => assert_eq!((unread.line, unread.column), (Some(6), Some(3)), "{name}"),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn one_tube_over_several_files_is_joined_where_its_pieces_say_so() {
    let piece = |name: &str, section: &str, text: &str| {
        read(name, format!("# tube: B-17\n# section: {section}\n{text}").as_bytes()).unwrap().remove(0)
    };
    let pieces =
        vec![piece("a.csv", "1", ONE), read("x.csv", ONE.as_bytes()).unwrap().remove(0), piece("b.csv", "2", TWO)];
    let groups = joinable(&pieces);
    assert_eq!(groups, [vec![0, 2]]);
    let joined = join(pieces, &groups);
    assert_eq!(joined.iter().map(|t| (t.name.as_str(), t.sections.len())).collect::<Vec<_>>(), [("B-17", 2), ("x", 1)]);
    assert_eq!(joined[0].source, ["a.csv", "b.csv"]);
    // The twin: the same section twice is a repeat, and another bench another sweep.
    assert!(joinable(&[piece("a.csv", "1", ONE), piece("b.csv", "1", TWO)]).is_empty());
    let mut other = piece("b.csv", "2", TWO);
    other.bench.heater_voltage = Some(5.7);
    let mut first = piece("a.csv", "1", ONE);
    first.bench.heater_voltage = Some(6.3);
    assert!(joinable(&[first, other]).is_empty());
}

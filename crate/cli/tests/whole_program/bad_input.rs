//! The twelve kinds of bad input: each gets a clear message with its place, and
//! none stops the program from reporting the rest.

use super::contract;
use super::program::{run, sweep, write};

const HEAD: &str = "Va [V],Vg [V],Ia [mA]\n";

/// Something a user hands in by mistake.
struct Bad {
    name: &'static str,
    content: Vec<u8>,
    /// Line and column of the mistake; `None` for a file that is read, with a remark.
    place: Option<(Option<usize>, Option<usize>)>,
    /// Words that the message or the remark has.
    says: &'static str,
}

fn bad(name: &'static str, content: impl Into<Vec<u8>>, place: (usize, usize), says: &'static str) -> Bad {
    let counted = |n: usize| (n > 0).then_some(n);
    Bad { name, content: content.into(), place: Some((counted(place.0), counted(place.1))), says }
}

fn odd(name: &'static str, content: impl Into<Vec<u8>>, says: &'static str) -> Bad {
    Bad { name, content: content.into(), place: None, says }
}

/// The twelve kinds, some in more than one form.
fn all() -> Vec<Bad> {
    let table = |rows: &str| format!("{HEAD}{rows}");
    let good = "100,-3,0.1\n100,-2,0.2\n100,-1,0.4\n";
    let picture: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\x02\0";
    let prose = "Dear Anna,\n\nthe tubes, as promised, are in the post.\nVa was 250 V throughout.\n";
    vec![
        bad("01-empty.csv", "", (0, 0), "is empty"),
        bad("01-blank.csv", "\u{feff}\r\n \t\r\n", (0, 0), "is empty"),
        bad("02-binary.csv", picture, (0, 0), "bytes that are no text"),
        bad("03-header-only.csv", format!("# tube: 3\n{HEAD}\n"), (2, 0), "no row of numbers"),
        bad("04-text.csv", table("100,-3,0.1\n\n# later\n100,-2,n/a\n"), (5, 3), "\"n/a\" is not a number"),
        bad("05-ragged.csv", table("100,-3,0.1\n100,-2\n"), (3, 0), "this row has 2 cells, the heading has 3"),
        bad("05-comma.csv", table("100,0,-3,0,0,1\n"), (2, 0), "this row has 6 cells, the heading has 3"),
        bad("06-nan.csv", table("100,-3,0.1\n100,NaN,0.1\n"), (3, 2), "\"NaN\" is not a finite number"),
        bad("06-infinity.csv", table("inf,-3,0.1\n"), (2, 1), "\"inf\" is not a finite number"),
        odd("07-one-point.csv", table("100,-3,0.1\n"), "section 1 has only 1 point"),
        odd("08-twice.csv", format!("{HEAD}{good}{HEAD}{good}"), "left out 3 rows that repeat"),
        bad("09-units.csv", "Va [V],Vg [V],Ia [V]\n100,-3,0.1\n", (1, 3), "not a unit of current"),
        bad("09-no-unit.csv", "Va,Vg,Ia\n100,-3,0.1\n", (1, 3), "gives the plate current no unit"),
        bad("09-scale.csv", "Va,Vg,Ia [A]\n100,-3,12\n", (2, 3), "outside what a receiving tube can see"),
        bad("10-large.csv", large(), (0, 0), "the file holds more than 2 million points"),
        odd(
            "11-markup.csv",
            format!("# tube: <img src=x onerror=alert(1)>\n# note: <b>&amp;\n{HEAD}{good}"),
            "<b>&amp;",
        ),
        bad("12-prose.txt", prose, (0, 0), "no heading with a plate voltage"),
        bad("12-page.txt", "<table><tr><td>Va</td></tr></table>\n", (0, 0), "no heading with a plate voltage"),
    ]
}

/// A sound table of 30 MB.
fn large() -> Vec<u8> {
    let row = b"100,-3,0.1\n";
    let mut bytes = HEAD.as_bytes().to_vec();
    while bytes.len() + row.len() <= 30 * 1024 * 1024 {
        bytes.extend_from_slice(row);
    }
    bytes.resize(30 * 1024 * 1024, b'\n');
    bytes
}

#[test]
fn each_kind_gets_a_clear_message_with_its_place() {
    let dir = tempfile::tempdir().unwrap();
    for bad in all() {
        write(dir.path(), bad.name, &bad.content);
        let json = run(dir.path(), &["triage", "--json", bad.name]);
        let report = contract::read(&json.stdout);
        let text = run(dir.path(), &["triage", bad.name]);
        assert_eq!(text.code, json.code);
        match bad.place {
            Some((line, column)) => {
                assert_eq!((json.code, report.tubes.len(), report.unread.len()), (Some(1), 0, 1), "{}", bad.name);
                let unread = &report.unread[0];
                assert_eq!((unread.source.as_str(), unread.line, unread.column), (bad.name, line, column));
                assert!(unread.what.contains(bad.says), "{}: {}", bad.name, unread.what);
                assert!(text.stderr.contains(&unread.what) && text.stderr.contains(&unread.mend), "{}", text.stderr);
            }
            None => {
                assert_eq!((json.code, report.tubes.len(), report.unread.len()), (Some(0), 1, 0), "{}", bad.name);
                let notes = report.tubes[0].notes.join("\n");
                assert!(notes.contains(bad.says), "{}: {notes}", bad.name);
                // A report may break the line between any two words.
                let words = text.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(words.contains(bad.says), "{}: {words}", bad.name);
            }
        }
    }
}

#[test]
fn markup_in_a_name_is_only_a_name() {
    let dir = tempfile::tempdir().unwrap();
    let bad = all().into_iter().find(|b| b.name == "11-markup.csv").unwrap();
    write(dir.path(), bad.name, &bad.content);
    let report = contract::read(&run(dir.path(), &["triage", "--json", bad.name]).stdout);
    assert_eq!(report.tubes[0].tube, "<img src=x onerror=alert(1)>");
    assert!(run(dir.path(), &["triage", bad.name]).stdout.contains("<img src=x onerror=alert(1)>, type not stated"));
}

#[test]
fn all_kinds_in_one_lot_leave_the_good_tube_in_peace() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path(), "00-good.csv", sweep("good"));
    for bad in all() {
        write(dir.path(), bad.name, &bad.content);
    }
    let run = run(dir.path(), &["triage", "--json", "."]);
    assert_eq!(run.code, Some(1));
    let report = contract::read(&run.stdout);
    let read = all().iter().filter(|b| b.place.is_none()).count();
    assert_eq!((report.tubes.len(), report.unread.len()), (read + 1, all().len() - read));
    assert_eq!(report.tubes[0].tube, "good");
    insta::assert_snapshot!(run.stderr);
}

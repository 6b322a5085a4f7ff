//! Files that are made to hurt are refused with a message. How quickly, the
//! benchmark of reading measures; here each must end at all, within its bounds.

use sweepbook_core::intake::{LARGEST_FILE, MOST_POINTS, read};

const HEAD: &str = "Va,Vg,Ia [mA]\n";

fn refused(bytes: &[u8]) -> String {
    let unread = read("x.csv", bytes).unwrap_err();
    assert!(!unread.mend.is_empty());
    unread.what
}

#[test]
fn a_million_columns() {
    let row = "1,".repeat(1_000_000);
    assert!(refused(format!("Va,Vg,Ia [mA],{row}\n{row}\n").as_bytes()).contains("no heading"));
    assert!(refused(format!("{HEAD}{row}\n").as_bytes()).contains("more than 4096 cells"));
}

#[test]
fn a_hundred_megabytes_of_one_line() {
    let line = "9".repeat(100_000_000);
    assert!(refused(line.as_bytes()).contains("no heading"));
    assert!(refused(format!("{HEAD}{line}").as_bytes()).contains("longer than 1 MB"));
    assert!(refused(format!("{HEAD}\"{line}").as_bytes()).contains("longer than 1 MB"));
}

#[test]
fn more_points_than_a_sweep_has() {
    let rows = "100,-3,0.1\n".repeat(MOST_POINTS + 1);
    assert!(refused(format!("{HEAD}{rows}").as_bytes()).contains("more than 2 million points"));
}

#[test]
fn two_million_points_are_read() {
    let mut text = String::from(HEAD);
    for i in 0..MOST_POINTS {
        text.push_str(&format!("100,-3,{}.{:03}\n", i / 1000 % 4, i % 1000));
    }
    // Distinct rows only up to 4000: most repeat an earlier one and are left out.
    let tube = &read("x.csv", text.as_bytes()).unwrap()[0];
    assert_eq!(tube.sections[0].points.len(), 4000);
}

#[test]
fn a_file_beyond_the_limit() {
    assert!(refused(&vec![b'\n'; LARGEST_FILE + 1]).contains("the largest that is read"));
}

#[test]
fn brackets_within_brackets() {
    let deep = format!("Va,Vg,Ia {}mA{}\n100,-1,0.5\n", "[".repeat(5000), "]".repeat(5000));
    assert!(read("x.csv", deep.as_bytes()).is_err());
    let deep = format!("Va {}\n", "= ( ".repeat(3000));
    assert!(read("x.csv", deep.as_bytes()).is_err());
}

//! Labels as people write them.

use proptest::prelude::*;

use super::super::{all, find};

#[test]
fn labels_find_their_type() {
    for (label, name) in [
        ("12ax7", "12AX7"),
        ("12 AX 7", "12AX7"),
        ("12AX7WA", "12AX7"),
        ("12AX7-EH", "12AX7"),
        ("ECC-83", "12AX7"),
        ("JJ ECC83S", "12AX7"),
        ("ecc803s", "12AX7"),
        ("7025", "12AX7"),
        ("12AX7 / ECC83 / 7025", "12AX7"),
        ("12AX7A (ECC83), Mullard", "12AX7"),
        ("12AU7", "12AU7"),
        ("ECC82", "12AU7"),
        ("12AT7WB", "12AT7"),
        ("6201", "12AT7"),
        ("5751", "5751"),
        ("6SN7 GTB", "6SN7GTB"),
        ("6SN7GTB", "6SN7GTB"),
        ("6sn7-gt", "6SN7GT"),
        ("6SN7", "6SN7GT"),
        ("6SN7GT Sylvania 1952", "6SN7GT"),
        ("6Н8С", "6SN7GT"),
        ("6н1п-ви", "6N1P"),
        ("6N23P-EV", "6N23P"),
        ("6П14П", "EL84"),
        ("E88CC / 6922", "E88CC"),
        ("Telefunken E88CC", "E88CC"),
        ("6DJ8=ECC88", "6DJ8"),
        ("417A", "5842"),
        ("6c45p", "6S45P"),
        ("6080WA", "6AS7G"),
        ("300 B", "300B"),
        ("WE-300B", "300B"),
        ("300B-EH", "300B"),
        ("VT-4-C", "211"),
        ("45", "45"),
        (" 845 ", "845"),
        ("6L6 GC Tung-Sol", "6L6GC"),
        ("6L6", "6L6"),
        ("6L6GB", "6L6"),
        ("KT 66", "KT66"),
        ("6CA7", "EL34"),
        ("el84", "EL84"),
        ("EF86/6267", "EF86"),
        ("GZ34", "5AR4"),
        ("5U4GB", "5U4GB"),
        ("5U4G", "5U4G"),
        ("6bm8", "ECL82"),
    ] {
        assert_eq!(find(label).map(|t| t.name.as_str()), Some(name), "{label}");
    }
}

#[test]
fn nonsense_and_the_ambiguous_find_nothing() {
    for label in [
        "",
        " ",
        "-",
        "/",
        "tube",
        "unknown",
        "hello world",
        "AX7",
        "12A",
        "12AX",
        "12AX77",
        "6SN",
        "ECC",
        "ECC8",
        "6L6XYZ",
        "999",
        "lot 45",
        "box 211",
        "no. 50",
        "12AX7 / 12AU7",
        "EL34 or EL84",
        "6SN7GTB/6SL7GT",
        "€€€",
        "😀",
    ] {
        assert_eq!(find(label).map(|t| t.name.as_str()), None, "{label}");
    }
}

#[test]
fn look_alike_types_are_kept_apart() {
    let groups = [
        ["12AX7", "12AU7", "12AT7", "12AY7", "12AV7"],
        ["6SN7GT", "6SN7GTB", "6SL7GT", "12SN7GT", "12SL7GT"],
        ["6DJ8", "E88CC", "6N23P", "ECC85", "6BQ7A"],
        ["6V6GT", "6L6", "6L6GC", "5881", "KT66"],
        ["5U4G", "5U4GB", "5Y3GT", "5V4G", "5AR4"],
        ["12AU7", "5814A", "6C4", "12BH7A", "12DW7"],
    ];
    for group in groups {
        for name in group {
            assert_eq!(find(name).unwrap().name, name);
        }
    }
}

#[test]
fn every_name_finds_its_own_type() {
    for tube in all() {
        let labels = std::iter::once(&tube.name).chain(tube.other_names.iter().map(|n| &n.label));
        for label in labels {
            for written in [label.clone(), label.to_lowercase(), format!(" {label}-")] {
                assert_eq!(find(&written).map(|t| t.name.as_str()), Some(tube.name.as_str()), "{written}");
            }
        }
    }
}

proptest! {
    #[test]
    fn any_text_is_taken(label in ".{0,200}") {
        let _ = find(&label);
    }

    #[test]
    fn blanks_dashes_and_case_do_not_count(which in 0usize..1000, cut in 1usize..8, dash in "[ -]{1,3}") {
        let tube = &all()[which % all().len()];
        let cut = cut.min(tube.name.len() - 1);
        let written = format!("{}{dash}{}", &tube.name[..cut], tube.name[cut..].to_lowercase());
        prop_assert_eq!(find(&written).map(|t| t.name.as_str()), Some(tube.name.as_str()), "{}", written);
    }
}

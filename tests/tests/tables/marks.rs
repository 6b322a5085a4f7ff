//! Separators, decimal marks, encodings, line ends, quotation marks, comments.

use super::case::{Case, reads, refuses};

const TWO: &str = "1: 100 -1.25 0.5; 200 -2.5 1.5";
const LONG: &str = "Va [V],Vg [V],Ia [mA]\n100,-1.25,0.5\n200,-2.5,1.5\n";

fn utf16(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(bytes).collect()
}

/// Text and its parts.
pub fn text() -> Vec<Case> {
    let parted = |by: &str| LONG.replace(',', by);
    vec![
        reads("comma", LONG, TWO),
        reads("semicolon", parted(";"), TWO),
        reads("tab", parted("\t"), TWO),
        reads("blanks", parted("  "), TWO),
        reads(
            "blanks-aligned",
            "  Va [V]   Vg [V]    Ia [mA]\n   100    -1.25      0.5\n   200    -2.5       1.5\n",
            TWO,
        ),
        reads(
            "blanks-words",
            "Plate voltage [V] Grid voltage [V] Plate current [mA]\n100 -1.25 0.5\n200 -2.5 1.5\n",
            TWO,
        ),
        reads("blanks-around", LONG.replace(',', " , "), TWO),
        refuses("blanks-prose", "Ib and Ip\nare names of the same current\n", (0, 0), "no heading"),
        refuses("separator-changes", LONG.replace("200,-2.5,1.5", "200;-2.5;1.5"), (3, 0), "this row has 1 cells"),
        refuses("separator-missing", LONG.replace("200,-2.5,1.5", "200,-2.51.5"), (3, 0), "this row has 2 cells"),
        refuses("separator-extra", LONG.replace("200,", "200,7,"), (3, 0), "this row has 4 cells"),
        reads("separator-trailing", LONG.replace("1.5\n", "1.5,,\n").replace("-1.2,,5", "-1.25"), TWO),
        reads("utf-8-mark", [b"\xef\xbb\xbf".as_slice(), LONG.as_bytes()].concat(), TWO),
        reads("utf-16-little", [b"\xff\xfe".to_vec(), utf16(LONG, u16::to_le_bytes)].concat(), TWO),
        reads("utf-16-big", [b"\xfe\xff".to_vec(), utf16(LONG, u16::to_be_bytes)].concat(), TWO),
        reads("utf-16-unmarked", utf16(LONG, u16::to_le_bytes), TWO),
        reads("latin-1", b"Va [V],Vg [V],Ia [\xb5A]\n100,-1.25,500\n200,-2.5,1500\n", TWO),
        refuses("not-text", b"\x89PNG\r\n\x1a\n\0\0", (0, 0), "bytes that are no text"),
        refuses("empty", b"", (0, 0), "is empty"),
        reads("crlf", LONG.replace('\n', "\r\n"), TWO),
        reads("cr", LONG.replace('\n', "\r"), TWO),
        reads("no-last-line-end", LONG.trim_end(), TWO),
        refuses("cr-place", LONG.replace('\n', "\r").replace("1.5", "much"), (3, 3), "\"much\" is not a number"),
        reads(
            "quoted",
            "\"Va [V]\",\"Vg [V]\",\"Ia [mA]\"\n\"100\",\"-1.25\",\"0.5\"\n\"200\",\"-2.5\",\"1.5\"\n",
            TWO,
        ),
        reads("quoted-comma", "Va,Vg,Ia [mA]\n\"100\",\"-1,25\",\"0,5\"\n\"200\",\"-2,5\",\"1,5\"\n", TWO),
        refuses("quoted-open", "Va,Vg,Ia [mA]\n100,\"-1.25,0.5\n200,-2.5,1.5\n", (2, 0), "this row has 2 cells"),
        reads("blank-lines", LONG.replace('\n', "\n\n"), TWO),
        reads("free-lines", format!("my bench\nmeasured 3 May, after lunch\n{LONG}"), TWO),
        reads("free-lines-with-numbers", format!("lot 7, 12, 14\nVa was 100 V, later 200\n{LONG}"), TWO),
        reads("free-lines-with-keys", format!("Tube: B-17\nType;6SN7GTB\n{LONG}"), TWO)
            .also(|t| t.name == "B-17" && t.kind.as_deref() == Some("6SN7GTB")),
        refuses("free-lines-alone", "my bench\nmeasured 3 May, after lunch\n", (0, 0), "no heading"),
        refuses("header-only", "Va,Vg,Ia [mA]\n", (1, 0), "no row of numbers follows"),
        reads(
            "comments",
            format!(
                "# tube: B-17\n# type: 6SN7GTB\n# section: 2\n# sweep: transfer\n# heater_voltage: 6.3 V\n\
                 # grid_source_resistance: 10 kohm\n# current_meter: cathode lead\n# note: warm\n{LONG}# the end\n"
            ),
            "2: 100 -1.25 0.5; 200 -2.5 1.5",
        )
        .also(|t| {
            let b = &t.bench;
            t.name == "B-17"
                && b.heater_voltage == Some(6.3)
                && b.grid_source_resistance == Some(1e4)
                && b.current_meter == Some(sweepbook_core::sweep::MeterPlace::CathodeLead)
                && t.notes.contains(&"warm".to_owned())
        }),
        refuses("comment-nonsense", format!("# grid_source_resistance: lots\n{LONG}"), (1, 0), "\"lots\""),
        refuses("comment-contradicts", format!("# tube: 1\n{LONG}# tube: 2\n"), (5, 0), "contradicts"),
    ]
}

/// Numbers.
pub fn numbers() -> Vec<Case> {
    let comma = "Va;Vg;Ia [mA]\n100;-1,25;0,5\n200;-2,5;1,5\n";
    vec![
        reads("decimal-comma", comma, TWO),
        reads("decimal-comma-tab", comma.replace(';', "\t"), TWO),
        reads("decimal-comma-blanks", comma.replace(';', " "), TWO),
        reads("decimal-comma-three", "Va;Vg;Ia [mA]\n100;-1,250;0,500\n200;-2,500;1,500\n", TWO),
        reads("thousands-comma", "Va;Vg;Ia [uA]\n100;-1.25;500\n200;-2.5;1,500\n", TWO),
        reads("thousands-point", "Va;Vg;Ia [uA]\n100;-1,25;500\n200;-2,5;1.500\n", TWO),
        reads("minus-sign", LONG.replace('-', "\u{2212}"), TWO),
        reads("plus-sign", LONG.replace("\n1", "\n+1"), TWO),
        reads("exponents", "Va,Vg,Ia [A]\n1e2,-1.25,5E-4\n2e2,-2.5,1.5e-3\n", TWO),
        reads("no-leading-nought", "Va,Vg,Ia [mA]\n100,-1.25,.5\n200,-2.5,1.5\n", TWO),
        refuses("two-marks", "Va;Vg;Ia [mA]\n100;-1,25;0.5\n200;-2,5;1.5\n", (0, 0), "decimal comma"),
        refuses("decimal-comma-in-commas", "Va,Vg,Ia [mA]\n100,-1,25,0,5\n", (2, 0), "this row has 5 cells"),
        refuses("not-a-number", LONG.replace("1.5", "n/a"), (3, 3), "\"n/a\" is not a number"),
        refuses("not-finite", LONG.replace("1.5", "inf"), (3, 3), "is not a finite number"),
        refuses("out-of-range", "Va,Vg,Ia [A]\n100,-1,12\n", (2, 3), "outside what a receiving tube can see"),
    ]
}

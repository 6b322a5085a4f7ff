//! Any sweep, rendered in any supported layout, reads back to the printed precision.

use proptest::prelude::*;
use sweepbook_core::intake::{self, Reading, Refusal};
use sweepbook_core::sweep::{Section, Tube};

use super::render::{Encoding, Family, Layout, Manner, Names, Units};

fn manner() -> impl Strategy<Value = Manner> {
    let layout = prop_oneof![Just(Layout::Long), Just(Layout::WideGrid), Just(Layout::WidePlate), Just(Layout::Beside)];
    let names = prop_oneof![Just(Names::Iec), Just(Names::American), Just(Names::Words)];
    let units =
        prop_oneof![Just(Units::Brackets), Just(Units::Parentheses), Just(Units::Underscore), Just(Units::Slash)];
    let unit =
        prop_oneof![Just(("mA", 1e-3)), Just(("A", 1.0)), Just(("uA", 1e-6)), Just(("µA", 1e-6)), Just(("nA", 1e-9))];
    let parted =
        prop_oneof![Just((',', false)), Just((',', true)), Just((';', false)), Just((';', true)), Just(('\t', true))];
    let end = prop_oneof![Just("\n"), Just("\r\n"), Just("\r")];
    let encoding = prop_oneof![
        Just(Encoding::Utf8),
        Just(Encoding::Utf8Marked),
        Just(Encoding::Utf16Little),
        Just(Encoding::Utf16Big),
        Just(Encoding::Latin1)
    ];
    (layout, names, units, unit, parted, 0_usize..7, end, encoding, any::<bool>()).prop_map(
        |(layout, names, units, unit, (separator, comma), decimals, end, encoding, free_lines)| Manner {
            layout,
            names,
            units,
            unit,
            separator,
            comma,
            decimals,
            end,
            encoding,
            free_lines,
        },
    )
}

/// A family with currents of a triode between nothing and 30 mA, unevenly spaced,
/// with corners missing.
fn family() -> impl Strategy<Value = Family> {
    let va = prop::collection::btree_set(10_i32..500, 2..5);
    let vg = prop::collection::btree_set(-3000_i32..0, 2..9);
    (va, vg, 1e-6..1e-4f64, 5.0..80.0f64, any::<u64>()).prop_map(|(va, vg, perveance, mu, corners)| {
        let (va, vg): (Vec<f64>, Vec<f64>) =
            (va.into_iter().map(f64::from).collect(), vg.into_iter().map(|v| f64::from(v) / 100.0).collect());
        let current = |section: usize, a: usize, g: usize| {
            let missing = (corners >> ((section * 31 + a * 7 + g) % 64)) & 7 == 0 && g > 0 && a > 0;
            let drive: f64 = va[a] / mu + vg[g];
            (!missing).then(|| (perveance * (1.0 + 0.1 * section as f64) * drive.max(0.0).powf(1.5)).min(0.03))
        };
        let section = |s| (0..va.len()).map(|a| (0..vg.len()).map(|g| current(s, a, g)).collect()).collect();
        Family { ia: [section(0), section(1)], va: va.clone(), vg: vg.clone() }
    })
}

/// Reads the file, answering questions as the writer meant it.
fn read(bytes: &[u8], manner: &Manner) -> Tube {
    let mut reading = Reading::default();
    for _ in 0..3 {
        match intake::read_as("r.csv", bytes, &reading) {
            Ok(mut found) => {
                assert_eq!(found.tubes.len(), 1);
                return found.tubes.remove(0);
            }
            Err(Refusal::Question(question)) => {
                let meant = if manner.comma { "decimal=comma" } else { "decimal=point" };
                assert!(question.candidates.iter().any(|c| c.option == meant), "{}", question.refusal());
                reading.set(meant).unwrap();
            }
            Err(Refusal::Unread(unread)) => panic!("{unread}\n{}", String::from_utf8_lossy(bytes)),
        }
    }
    panic!("asked without end");
}

fn points(section: &Section) -> Vec<(i64, i64, f64)> {
    let p = &section.points;
    let hundredths = |v: f64| (v * 100.0).round() as i64;
    let mut points: Vec<_> = (0..p.len()).map(|i| (hundredths(p.va[i]), hundredths(p.vg[i]), p.ia[i])).collect();
    points.sort_by_key(|p| (p.0, p.1));
    points
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_sweep_in_any_layout(manner in manner(), family in family()) {
        let bytes = manner.render(&family);
        let tube = read(&bytes, &manner);
        prop_assert_eq!(tube.name.as_str(), "R-1");
        prop_assert_eq!(tube.sections.len(), 2);
        let step = manner.unit.1 * 10_f64.powi(-(manner.decimals as i32));
        for (section, currents) in tube.sections.iter().zip(&family.ia) {
            let mut expected = Vec::new();
            for (va, curve) in family.va.iter().zip(currents) {
                for (vg, ia) in family.vg.iter().zip(curve) {
                    expected.extend(ia.map(|ia| ((va * 100.0).round() as i64, (vg * 100.0).round() as i64, ia)));
                }
            }
            expected.sort_by_key(|p| (p.0, p.1));
            let read = points(section);
            prop_assert_eq!(read.len(), expected.len());
            for (read, expected) in read.iter().zip(&expected) {
                prop_assert_eq!((read.0, read.1), (expected.0, expected.1));
                prop_assert!((read.2 - expected.2).abs() <= 0.5 * step * (1.0 + 1e-9), "{:?} {:?}", read, expected);
            }
        }
    }

    #[test]
    fn whatever_the_bytes_there_is_an_answer(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = intake::read_as("x", &bytes, &Reading::default());
    }

    #[test]
    fn whatever_the_table_there_is_an_answer(
        heading in "(Va|Vg|Ia|Ia1|Vg2|Va=1|100 V|[a-z,;\\[\\]()=@ ]){1,3}([,; \t](Va|Vg|Ia \\[mA\\]|Ia2|section|9|-1 V)){1,5}",
        rows in "([0-9.,;\t \"#eE+-]{0,20}\n){0,8}",
    ) {
        let _ = intake::read_as("x", format!("{heading}\n{rows}").as_bytes(), &Reading::default());
    }
}

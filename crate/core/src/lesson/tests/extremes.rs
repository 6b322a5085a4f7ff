//! Extremes: nothing that can be set makes nonsense.

use proptest::prelude::*;

use super::super::*;
use super::*;

/// Anything a resistance, ratio or voltage could be set to.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), 1e-6_f64..1e-3, 1e-3_f64..1.0, 1.0_f64..1e3, 1e3_f64..1e9, 1e9_f64..1e15]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_setting_makes_a_reading_that_is_no_number(
        law in 0_usize..6,
        ohms in proptest::array::uniform6(proptest::option::of(wild())),
        parts in proptest::array::uniform4(proptest::option::of(wild())),
        factors in proptest::array::uniform4(wild()),
        rs in wild(),
        va in 0.0_f64..5000.0,
        vs in -1000.0_f64..50.0,
        heater in 0.0_f64..2.0,
    ) {
        let mut t = tube("12AX7", LawChoice::ALL[law]);
        t.sections.truncate(1);
        let ohm = |r: Option<f64>| r.map(|r| r.max(1e-3));
        t.sections[0].defects = Defects {
            plate_cathode: ohm(ohms[0]),
            plate_grid: ohm(ohms[1]),
            grid_cathode: ohm(ohms[2]),
            plate_heater: ohm(ohms[3]),
            grid_heater: ohm(ohms[4]),
            heater_cathode: ohm(ohms[5]),
            gas: parts[0],
            interface: parts[1],
            ceiling: parts[2].map(|current| Ceiling { current, sharpness: 2.0 + factors[0] % 7.0, schottky: 0.02 }),
            grid_emission: parts[3].map(|current| GridEmission { current, to_plate: 0.5, growth: factors[1] }),
            perveance: Some(factors[2]),
            mu: Some(factors[3].clamp(1e-3, 1e6)),
            ..Defects::default()
        };
        let bench = VirtualBench {
            plan: vec![Family::Transfer { plates: vec![va], grid: Range { from: vs, to: vs, step: 1.0 } }],
            grid_source_resistance: rs,
            heater,
            plate_sag: factors[0].min(1e6),
            current_limit: (factors[1] > 1.0).then_some(0.02),
            ..ideal()
        };
        let read = measure(&t, &bench, 1);
        let p = &read.sections[0].points;
        prop_assert!(p.ia[0].is_finite() && p.ig.as_ref().unwrap()[0].is_finite(), "{:?}", p);
    }

    #[test]
    fn current_never_falls_as_a_voltage_rises(
        law in 0_usize..6,
        name in 0_usize..16,
        va in 1.0_f64..400.0,
        drive in 0.0_f64..1.5,
    ) {
        let form = typical(kind(TYPES[name]), LawChoice::ALL[law]).unwrap()[0];
        let vg = -drive * va / form.mu();
        let i = form.current(va, vg);
        prop_assert!(form.current(va * 1.01, vg) >= i);
        prop_assert!(form.current(va, vg + 0.05) >= i);
    }
}

//! The virtual bench against ngspice: the same circuit with leaks, ions, grid emission and
//! interface resistance, each alone and all together.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use sweepbook_core::handbook;
use sweepbook_core::lesson::{
    Ceiling, Defects, Family, Form, GridDiode, GridEmission, LawChoice, Meter, Range, VirtualBench, VirtualTube,
    measure, specimen,
};
use sweepbook_tests::ask_ngspice;

/// The netlist asks ngspice for 1e-8 of each node voltage; of the currents a thousand times
/// that is asked here, and a picoampere for its gmin.
const RELATIVE: f64 = 1e-5;
const ABSOLUTE: f64 = 1e-12;

struct Case {
    rs: f64,
    defects: Defects,
}

fn tube(defects: Defects) -> VirtualTube {
    let mut tube = specimen(handbook::find("6SN7GTB").unwrap(), LawChoice::Koren, 1).unwrap();
    tube.sections.truncate(1);
    let section = &mut tube.sections[0];
    section.form = Form::Koren { mu: 21.54, ex: 1.316, kg: 1261.1, kp: 156.78, kvb: 296.4, kvb2: 0.0, vct: 0.0 };
    section.grid = GridDiode { g: 3e-4, xi: 1.35, c: 7.0, shift: 0.1, pull: 20.0 };
    section.reserve = Ceiling { current: 1e9, sharpness: 3.0, schottky: 0.0 };
    section.defects = defects;
    tube
}

fn compare(case: &Case) {
    let bench = VirtualBench {
        plan: vec![Family::Transfer {
            plates: vec![100.0, 200.0, 300.0],
            grid: Range { from: -26.0, to: 0.0, step: 0.5 },
        }],
        grid_source_resistance: case.rs,
        grid_supply_limit: f64::INFINITY,
        plate_meter: Meter::IDEAL,
        grid_meter: Some(Meter::IDEAL),
        ..VirtualBench::default()
    };
    let ours = measure(&tube(case.defects.clone()), &bench, 0);
    let points = &ours.sections[0].points;
    let d = &case.defects;
    let ohm = |r: Option<f64>| format!("{:e}", r.unwrap_or(1e18));
    let values = [
        ("rs", format!("{:e}", case.rs)),
        ("rak", ohm(d.plate_cathode)),
        ("rag", ohm(d.plate_grid)),
        ("rgk", ohm(d.grid_cathode)),
        ("ri", format!("{:e}", d.interface.unwrap_or(1e-6))),
        ("gas", format!("{:e}", d.gas.unwrap_or(0.0))),
        ("emission", format!("{:e}", d.grid_emission.map_or(0.0, |e| e.current))),
        ("gg", "3e-4".to_owned()),
        ("gc", "7".to_owned()),
        ("gs", "0.1".to_owned()),
    ];
    let table = ask_ngspice("spoilt-triode.cir", &values).unwrap();
    assert_eq!(table.len(), points.len());
    let close = |a: f64, b: f64, what: &str, i: usize| {
        assert!((a - b).abs() <= RELATIVE * b.abs() + ABSOLUTE, "{what} at point {i}: {a:e}, ngspice {b:e} ({d:?})");
    };
    let ig = points.ig.as_ref().unwrap();
    for (i, row) in table.iter().enumerate() {
        close(points.ia[i], row[1], "plate current", i);
        // The current of a source is counted into its positive end.
        close(ig[i], -row[2], "grid current", i);
    }
}

#[test]
fn each_path_alone_and_all_together() {
    let emission = Some(GridEmission { current: 3e-6, to_plate: 0.0, growth: 0.0 });
    // Not 0: through no resistance ngspice reads no current.
    for rs in [1.0, 10e3, 470e3] {
        let alone = [
            Defects::default(),
            Defects { plate_cathode: Some(2.2e6), ..Defects::default() },
            Defects { plate_grid: Some(15e6), ..Defects::default() },
            Defects { grid_cathode: Some(1e6), ..Defects::default() },
            Defects { gas: Some(1e-4), ..Defects::default() },
            Defects { grid_emission: emission, ..Defects::default() },
            Defects { interface: Some(200.0), ..Defects::default() },
            Defects {
                plate_cathode: Some(5e6),
                plate_grid: Some(40e6),
                grid_cathode: Some(3e6),
                gas: Some(5e-5),
                grid_emission: emission,
                interface: Some(80.0),
                ..Defects::default()
            },
        ];
        for defects in alone {
            compare(&Case { rs, defects });
        }
    }
}

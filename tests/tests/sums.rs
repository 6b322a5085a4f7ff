//! Sums of the bench against ngspice: heater supplies with exponential diodes where ours drop
//! a constant voltage, and current sources with its JFET. Asked: mean, ripple, current and
//! least voltage within 5 %.

#![allow(clippy::unwrap_used, reason = "a test may fail")]

use sweepbook_core::sums::{CurrentSource, Drawn, Filter, Rectifier, Spread, Supply};
use sweepbook_tests::ask_ngspice;

/// kT/e at 27 °C, where ngspice works, V.
const THERMAL: f64 = 0.025_864;
/// Half cycles that ngspice goes through, far more than it takes to settle, and the last of
/// them that are looked at.
const HALVES: f64 = 120.0;
const LOOKED_AT: f64 = 4.0;
/// Steps of half a cycle in ngspice.
const STEPS: f64 = 400.0;

struct Solved {
    mean: f64,
    ripple: f64,
    rms: f64,
    reservoir_ripple: f64,
}

/// The supply in ngspice, its diodes dropping what is said at half of their largest current.
fn solved(supply: &Supply, half_peak: f64) -> Solved {
    let peak = supply.winding * 2f64.sqrt();
    let (f, r) = (supply.frequency, supply.resistance);
    let (winding, diodes) = match supply.rectifier {
        Rectifier::Bridge => (
            format!("v1 a x sin(0 {peak} {f})\nr1 x b {r}"),
            "d1 a r d\nd2 b r d\nd3 0 a d\nd4 0 b d\nrg b 0 1meg".to_owned(),
        ),
        Rectifier::CentreTap => (
            format!("v1 a 0 sin(0 {peak} {f})\nr1 a p {r}\nv2 b 0 sin(0 {peak} {f} 0 0 180)\nr2 b q {r}"),
            "d1 p r d\nd2 q r d".to_owned(),
        ),
    };
    let filter = supply
        .filter
        .map_or_else(|| "vo r o 0".to_owned(), |f| format!("rf r o {}\nc2 o 0 {} ic={peak}", f.resistor, f.capacitor));
    let load = match supply.load {
        Drawn::Current { ampere } => format!("i1 o 0 {ampere}"),
        Drawn::Resistance { ohm } => format!("rl o 0 {ohm}"),
    };
    let half = 0.5 / f;
    let rows = ask_ngspice(
        "heater-supply.cir",
        &[
            ("winding", winding),
            ("diodes", diodes),
            ("is", format!("{:e}", half_peak / (supply.diode / THERMAL).exp())),
            ("reservoir", supply.reservoir.to_string()),
            ("start", peak.to_string()),
            ("filter", filter),
            ("load", load),
            ("step", format!("{:e}", half / STEPS)),
            ("stop", format!("{:e}", HALVES * half)),
        ],
    )
    .unwrap();
    let from = (HALVES - LOOKED_AT) * half;
    let last: Vec<&Vec<f64>> = rows.iter().filter(|row| row[0] >= from).collect();
    // It has settled: what is looked at begins and ends alike.
    let (first, end) = (last[0][2], last[last.len() - 1][2]);
    assert!((first / end - 1.0).abs() < 2e-3, "{first} V, then {end} V");
    let span = |c: usize| {
        let all = || last.iter().map(|row| row[c]);
        all().fold(f64::NEG_INFINITY, f64::max) - all().fold(f64::INFINITY, f64::min)
    };
    let mean = last.iter().map(|row| row[2]).sum::<f64>() / last.len() as f64;
    let square = last.iter().map(|row| (row[2] - mean).powi(2)).sum::<f64>() / last.len() as f64;
    Solved { mean, ripple: span(2), rms: square.sqrt(), reservoir_ripple: span(1) }
}

#[test]
fn eight_heater_supplies_work_as_ngspice_says() {
    let current = |ampere| Drawn::Current { ampere };
    let filter = |resistor, capacitor| Some(Filter { resistor, capacitor });
    use Rectifier::{Bridge, CentreTap};
    let supplies = [
        (9.0, Bridge, 0.85, 50.0, 0.2, 10e-3, None, current(1.2)),
        (9.0, Bridge, 0.85, 50.0, 0.25, 6.8e-3, filter(0.47, 10e-3), current(1.2)),
        (12.6, Bridge, 0.8, 60.0, 0.4, 4.7e-3, None, Drawn::Resistance { ohm: 21.0 }),
        (7.5, CentreTap, 0.45, 50.0, 0.1, 22e-3, None, current(2.0)),
        (10.0, CentreTap, 0.9, 60.0, 0.15, 10e-3, filter(1.0, 4.7e-3), Drawn::Resistance { ohm: 7.0 }),
        (18.0, Bridge, 0.8, 50.0, 0.8, 2.2e-3, filter(4.7, 2.2e-3), current(0.3)),
        (24.0, CentreTap, 0.8, 60.0, 0.6, 3.3e-3, None, current(0.6)),
        (30.0, Bridge, 0.9, 50.0, 1.0, 1e-3, filter(10.0, 1e-3), Drawn::Resistance { ohm: 120.0 }),
    ];
    for (number, (winding, rectifier, diode, frequency, resistance, reservoir, filter, load)) in
        supplies.into_iter().enumerate()
    {
        let supply = Supply { winding, rectifier, diode, frequency, resistance, reservoir, filter, load };
        let ours = supply.worked().unwrap();
        let its = solved(&supply, 0.5 * ours.diode_peak);
        for (what, ours, its) in [
            ("mean", ours.mean, its.mean),
            ("ripple", ours.ripple, its.ripple),
            ("ripple rms", ours.ripple_rms, its.rms),
            ("ripple of the reservoir", ours.reservoir_ripple, its.reservoir_ripple),
        ] {
            println!("supply {number}, {what}: {ours:.5} V, ngspice {its:.5} V, {:+.2} %", 100.0 * (ours / its - 1.0));
            assert!((ours / its - 1.0).abs() < 0.05, "supply {number}, {what}: {ours} V against {its} V");
        }
    }
}

/// Voltage across a source and its current in ngspice, V and A.
fn swept(pinch_off: f64, idss: f64, resistor: f64, most: f64) -> Vec<(f64, f64)> {
    let rows = ask_ngspice(
        "current-source.cir",
        &[
            ("vto", (-pinch_off).to_string()),
            ("beta", format!("{:e}", idss / (pinch_off * pinch_off))),
            ("resistor", resistor.to_string()),
            ("most", most.to_string()),
            ("step", (most / 2000.0).to_string()),
        ],
    )
    .unwrap();
    rows.iter().map(|row| (row[0], row[1] / resistor)).collect()
}

#[test]
fn eight_current_sources_are_set_as_ngspice_says() {
    let devices = [
        (1.0, 3e-3, 1e-3, 0.05),
        (2.0, 10e-3, 2e-3, 0.05),
        (2.5, 12e-3, 10e-3, 0.02),
        (3.0, 20e-3, 5e-3, 0.1),
        (4.0, 60e-3, 25e-3, 0.05),
        (6.0, 15e-3, 1e-3, 0.01),
        (0.6, 1.5e-3, 0.4e-3, 0.05),
        (2.2, 0.35, 30e-3, 0.2),
    ];
    for (number, (pinch_off, idss, current, fall)) in devices.into_iter().enumerate() {
        let source = CurrentSource {
            current,
            spread: Spread { pinch_off: (pinch_off, pinch_off), idss: (idss, idss) },
            voltage: 4.0 * pinch_off,
            fall,
        };
        let w = source.worked().unwrap();
        let curve = swept(pinch_off, idss, w.resistor.0, source.voltage);
        let flows = curve[curve.len() - 1].1;
        assert!((flows / current - 1.0).abs() < 0.05, "source {number}: {flows} A against {current} A");
        // Where it has fallen, between two steps.
        let after = curve.iter().position(|(_, i)| *i >= (1.0 - fall) * flows).unwrap();
        let ((v0, i0), (v1, i1)) = (curve[after - 1], curve[after]);
        let fallen = v0 + (v1 - v0) * ((1.0 - fall) * flows - i0) / (i1 - i0);
        println!(
            "source {number}: {flows:.5e} A for {current:e} A; fallen at {:.4} V, ngspice {fallen:.4} V",
            w.fallen
        );
        assert!((w.fallen / fallen - 1.0).abs() < 0.05, "source {number}: {} V against {fallen} V", w.fallen);
        // From the least voltage on it is saturated, and not long before.
        let at = |volt: f64| curve.iter().find(|(v, _)| *v >= volt).unwrap().1 / flows;
        assert!(at(w.saturated) > 0.9999 && at(0.9 * w.saturated) < 0.99999, "source {number}");
    }
}

#[test]
fn the_trimmer_sets_the_corners_of_a_spread_in_ngspice() {
    let source = CurrentSource {
        current: 5e-3,
        spread: Spread { pinch_off: (1.5, 3.0), idss: (8e-3, 20e-3) },
        voltage: 20.0,
        fall: 0.05,
    };
    let w = source.worked().unwrap();
    for (pinch_off, idss) in [(1.5, 8e-3), (1.5, 20e-3), (3.0, 8e-3), (3.0, 20e-3), (2.2, 12e-3)] {
        let at = |ohm: f64| swept(pinch_off, idss, ohm, 20.0).last().unwrap().1;
        // Too much at one end of the trimmer, too little at the other.
        let (most, least) = (at(w.fixed), at(w.fixed + 0.8 * w.trimmer));
        assert!(most >= 5e-3 && least <= 5e-3 * (1.0 + 1e-6), "{pinch_off} V, {idss} A: {least} to {most} A");
    }
}

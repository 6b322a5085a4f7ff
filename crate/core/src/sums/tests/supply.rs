//! The rectified supply.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::sound;
use crate::sums::rectified::{Circuit, STEPS};
use crate::sums::{Drawn, Filter, Rectifier, Supply};

const PLAIN: Supply = Supply {
    winding: 9.0,
    rectifier: Rectifier::Bridge,
    diode: 0.8,
    frequency: 50.0,
    resistance: 0.2,
    reservoir: 10e-3,
    filter: None,
    load: Drawn::Current { ampere: 1.2 },
};

fn filtered() -> Supply {
    Supply { filter: Some(Filter { resistor: 0.47, capacitor: 10e-3 }), ..PLAIN }
}

#[test]
fn with_nothing_drawn_the_reservoir_stands_at_the_peak() {
    let w = Supply { load: Drawn::Resistance { ohm: 1e6 }, ..PLAIN }.worked().unwrap();
    assert_relative_eq!(w.mean, 9.0 * 2f64.sqrt() - 1.6, max_relative = 1e-3);
    assert!(w.ripple < 1e-3);
}

#[test]
fn without_a_reservoir_the_load_sees_the_rectified_sine() {
    let w = Supply { diode: 0.0, resistance: 1e-3, reservoir: 1e-9, load: Drawn::Resistance { ohm: 100.0 }, ..PLAIN }
        .worked()
        .unwrap();
    let peak = 9.0 * 2f64.sqrt();
    assert_relative_eq!(w.mean, peak * 2.0 / std::f64::consts::PI, max_relative = 1e-4);
    assert_relative_eq!(w.ripple, peak, max_relative = 2e-3);
    // rms of the whole is 9 V, so that of the ripple is what the mean leaves.
    assert_relative_eq!(w.ripple_rms, (81.0 - w.mean * w.mean).sqrt(), max_relative = 1e-3);
    assert_relative_eq!(w.diode_peak, peak / 100.0, max_relative = 1e-3);
}

#[test]
fn a_large_reservoir_falls_along_a_straight_line() {
    // The rule of thumb, less the time in which the diode conducts.
    let w = Supply { resistance: 1e-3, reservoir: 0.1, ..PLAIN }.worked().unwrap();
    assert_relative_eq!(w.thumb, 1.2 / (2.0 * 50.0 * 0.1), max_relative = 1e-12);
    assert_relative_eq!(w.ripple, w.thumb * (1.0 - w.conducts), max_relative = 0.03);
}

#[test]
fn charge_and_voltages_add_up() {
    let of = filtered();
    let w = of.worked().unwrap();
    assert_relative_eq!(w.drawn, 1.2, max_relative = 1e-9);
    assert_relative_eq!(w.reservoir - w.mean, 1.2 * 0.47, max_relative = 1e-4);
    assert!(w.ripple < w.reservoir_ripple / 2.0 && w.ripple_rms < w.ripple);
    assert_relative_eq!(w.ripple, w.thumb_load, max_relative = 0.5);
    // One cycle of the mains, both halves alike.
    assert_relative_eq!(w.wave[w.wave.len() - 1][0], 0.02, max_relative = 1e-9);
    assert_relative_eq!(w.wave[0][1], w.wave[128][1], max_relative = 1e-9);
    let answer = of.answer().unwrap();
    sound(&answer);
    assert_relative_eq!(answer.value("mean voltage at the load").unwrap(), w.mean);
}

#[test]
fn a_centre_tap_spares_a_diode_and_shares_the_winding() {
    let bridge = PLAIN.worked().unwrap();
    let tap = Supply { rectifier: Rectifier::CentreTap, ..PLAIN }.worked().unwrap();
    assert!(tap.mean > bridge.mean + 0.7 && tap.mean < bridge.mean + 0.9);
    assert!((tap.winding_rms / bridge.winding_rms - std::f64::consts::FRAC_1_SQRT_2).abs() < 0.05);
}

#[test]
fn twice_the_steps_change_nothing_that_matters() {
    for of in [PLAIN, filtered(), Supply { resistance: 0.01, reservoir: 0.1, ..PLAIN }] {
        let circuit = Circuit {
            peak: of.winding * 2f64.sqrt(),
            drop: 1.6,
            frequency: 50.0,
            winding: of.resistance,
            reservoir: of.reservoir,
            filter: of.filter,
            load: of.load,
        };
        let told = [STEPS, 2 * STEPS].map(|steps| {
            let moments = circuit.periodic_in(steps).unwrap();
            let loads: Vec<f64> = moments.iter().map(|m| m.load).collect();
            let mean = loads.iter().sum::<f64>() / loads.len() as f64;
            let peak = moments.iter().map(|m| m.diode).fold(0.0, f64::max);
            let (low, high) =
                (loads.iter().copied().fold(f64::INFINITY, f64::min), loads.iter().copied().fold(0.0, f64::max));
            [mean, high - low, peak]
        });
        for (one, two) in told[0].iter().zip(&told[1]) {
            assert_relative_eq!(*one, *two, max_relative = 1e-3);
        }
    }
}

#[test]
fn what_cannot_be_is_refused_with_a_mend() {
    for (bad, field) in [
        (Supply { winding: 1.0, ..PLAIN }, "secondary"),
        (Supply { winding: f64::NAN, ..PLAIN }, "secondary"),
        (Supply { resistance: 0.0, ..PLAIN }, "winding-resistance"),
        (Supply { reservoir: 0.0, ..PLAIN }, "reservoir"),
        (Supply { frequency: 0.0, ..PLAIN }, "frequency"),
        (Supply { diode: -1.0, ..PLAIN }, "diode-drop"),
        (Supply { load: Drawn::Current { ampere: 100.0 }, ..PLAIN }, "load-current"),
        (Supply { load: Drawn::Resistance { ohm: 0.0 }, ..PLAIN }, "load-resistance"),
        (Supply { filter: Some(Filter { resistor: 1.0, capacitor: 0.0 }), ..PLAIN }, "filter-capacitor"),
        (Supply { filter: Some(Filter { resistor: 100.0, capacitor: 1e-3 }), ..PLAIN }, "load-current"),
    ] {
        let wrong = bad.worked().unwrap_err();
        assert!(wrong.field == field && !wrong.mend.is_empty(), "{bad:?}: {wrong}");
    }
}

#[test]
fn the_corners_of_what_is_allowed_are_answered_or_refused() {
    let mut answered = 0;
    for (winding, reservoir) in [(1.0, 1e-9), (1.0, 1.0), (1000.0, 1e-9), (1000.0, 1.0)] {
        for resistance in [1e-3, 1e4] {
            for load in [1e-6, 200.0]
                .map(|ampere| Drawn::Current { ampere })
                .into_iter()
                .chain([1e-3, 1e7].map(|ohm| Drawn::Resistance { ohm }))
            {
                for filter in [None, Some((1e-3, 1e-9)), Some((1e-3, 1.0)), Some((1e6, 1e-9)), Some((1e6, 1.0))] {
                    let filter = filter.map(|(resistor, capacitor)| Filter { resistor, capacitor });
                    let of = Supply { winding, reservoir, resistance, load, filter, diode: 0.3, ..PLAIN };
                    match of.answer() {
                        Ok(answer) => {
                            sound(&answer);
                            // What the resistor's mean current takes is what is missing behind it.
                            if let Some(f) = of.filter {
                                let w = of.worked().unwrap();
                                let off = w.reservoir - w.mean - w.drawn * f.resistor;
                                assert!(off.abs() < 1e-3 * winding, "{of:?}: {off} V");
                            }
                            answered += 1;
                        }
                        // A load that draws too much, or a winding below its diodes.
                        Err(wrong) => {
                            assert!(["load-current", "secondary"].contains(&wrong.field.as_str()), "{of:?}: {wrong}")
                        }
                    }
                }
            }
        }
    }
    assert!(answered > 80, "{answered} of 160");
    println!("{answered} of 160");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn more_capacitance_less_ripple_and_more_current_less_voltage(
        winding in 6.0..40.0_f64, resistance in 0.02..1.0_f64, reservoir in 1e-3..30e-3_f64, ohm in 5.0..200.0_f64,
        filter in prop::option::of((0.1..5.0_f64, 1e-3..20e-3_f64)), tap: bool,
    ) {
        let of = Supply {
            winding, resistance, reservoir,
            rectifier: if tap { Rectifier::CentreTap } else { Rectifier::Bridge },
            filter: filter.map(|(resistor, capacitor)| Filter { resistor, capacitor }),
            load: Drawn::Resistance { ohm },
            ..PLAIN
        };
        let w = of.worked().unwrap();
        prop_assert!(w.mean > 0.0 && w.mean < winding * 2f64.sqrt());
        prop_assert!((w.drawn * ohm / w.mean - 1.0).abs() < 1e-9);
        prop_assert!(w.reservoir_ripple <= w.thumb * 1.001, "{} {}", w.reservoir_ripple, w.thumb);
        let larger = Supply { reservoir: 2.0 * reservoir, ..of }.worked().unwrap();
        prop_assert!(larger.ripple < w.ripple);
        let heavier = Supply { load: Drawn::Resistance { ohm: 0.7 * ohm }, ..of }.worked().unwrap();
        prop_assert!(heavier.mean < w.mean && heavier.diode_peak > w.diode_peak);
        if let Some(f) = of.filter {
            prop_assert!((w.reservoir - w.mean - w.drawn * f.resistor).abs() < 1e-3 * w.reservoir);
        }
    }
}

//! Identities of a stage, and the formulas that every textbook has.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::*;
use crate::law::SpaceCharge;

/// About a 6SN7GTB: Koren's law of 1996 with the re-fit of reference 1.4.
const LAW: SpaceCharge =
    SpaceCharge { ln_p: -6.45, mu: 21.5, phi: 0.0, x: 1.316, w0: 0.0, w1: 1.0 / 156.78, kvb: 296.4, kvl: 0.0 };

fn stage(load: Load, bias: Bias) -> Stage {
    Stage { supply: 300.0, load, bias, following: None, grid_resistor: 470e3 }
}

const RESISTOR: Load = Load::Resistor { ohm: 47e3 };

fn bypassed(ohm: f64) -> Bias {
    Bias::Cathode { ohm, bypassed: true }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn currents_and_voltages_agree_at_the_point(
        supply in 100.0..450.0_f64, ohm in 5e3..220e3_f64, rk in 200.0..5e3_f64, kind in 0_usize..5, ampere in 0.5e-3..8e-3_f64, volt in -9.0..-1.0_f64,
    ) {
        let (load, bias) = [
            (Load::Resistor { ohm }, bypassed(rk)),
            (Load::Resistor { ohm }, Bias::Fixed { volt }),
            (Load::CurrentSource { ampere }, bypassed(rk)),
            (Load::Choke { ohm: ohm / 100.0 }, Bias::Sink { ampere }),
            (Load::Choke { ohm: ohm / 100.0 }, Bias::Fixed { volt }),
        ][kind];
        let stage = Stage { supply, ..stage(load, bias) };
        if let Ok(p) = point(&LAW, &stage) {
            prop_assert!((LAW.current(p.va, p.vg) - p.ia).abs() <= 1e-9 * p.ia);
            prop_assert!(p.va > 0.0 && p.va + p.vk <= supply * (1.0 + 1e-12));
            let drop = match load { Load::Resistor { ohm } | Load::Choke { ohm } => p.ia * ohm, Load::CurrentSource { .. } => supply - p.va - p.vk };
            prop_assert!((p.va + p.vk + drop - supply).abs() < 1e-6 * supply);
        }
    }

    #[test]
    fn the_gain_is_what_a_small_signal_gets(ohm in 10e3..220e3_f64, rk in 300.0..4e3_f64, bypass: bool, following in 20e3..1e6_f64) {
        let stage = Stage { following: Some(following), ..stage(Load::Resistor { ohm }, Bias::Cathode { ohm: rk, bypassed: bypass }) };
        let p = point(&LAW, &stage).unwrap();
        let all = signal(&LAW, &stage, &p, None);
        let small = signal(&LAW, &stage, &p, Some(1e-3 * all.most_out));
        prop_assert!(small.second.unwrap() < 0.01 * all.second.unwrap() + 1e-4);
        // The textbook's: mu R / (R + rp + (mu + 1) Rk).
        let s = LAW.slopes(p.va, p.vg);
        let r = 1.0 / (1.0 / ohm + 1.0 / following);
        let left = if bypass { 0.0 } else { rk };
        let gain = s.mu() * r / (r + 1.0 / s.gp + (s.mu() + 1.0) * left);
        prop_assert!((all.gain / gain - 1.0).abs() < 1e-9, "{} {gain}", all.gain);
        let out = 1.0 / s.gp + (s.mu() + 1.0) * left;
        prop_assert!((all.output_resistance / (out * ohm / (out + ohm)) - 1.0).abs() < 1e-9);
    }
}

#[test]
fn a_current_source_has_the_section_amplify_by_its_mu_and_hardly_distort() {
    let with = |load| {
        let stage = stage(load, Bias::Fixed { volt: -4.0 });
        let p = point(&LAW, &stage).unwrap();
        (LAW.slopes(p.va, p.vg).mu(), signal(&LAW, &stage, &p, Some(20.0)))
    };
    let (mu, source) = with(Load::CurrentSource { ampere: 4e-3 });
    assert_relative_eq!(source.gain, mu, max_relative = 1e-9);
    let (_, resistor) = with(Load::Resistor { ohm: 22e3 });
    assert!(source.second.unwrap() < 0.6 * resistor.second.unwrap(), "{source:?} {resistor:?}");
}

#[test]
fn a_cathode_without_capacitor_gives_gain_for_less_distortion() {
    let with = |bypassed| {
        let stage = stage(RESISTOR, Bias::Cathode { ohm: 1500.0, bypassed });
        let p = point(&LAW, &stage).unwrap();
        signal(&LAW, &stage, &p, Some(10.0))
    };
    let (still, moving) = (with(true), with(false));
    assert!(moving.gain < 0.8 * still.gain && moving.second.unwrap() < 0.8 * still.second.unwrap());
    assert!(moving.most_in > still.most_in);
}

#[test]
fn what_cannot_work_says_why() {
    let why = |load, bias| point(&LAW, &stage(load, bias)).unwrap_err();
    assert_eq!(why(RESISTOR, Bias::Fixed { volt: -60.0 }), Unworkable::CutOff);
    assert_eq!(why(Load::CurrentSource { ampere: 0.1 }, bypassed(1e3)), Unworkable::TooLittle);
    assert_eq!(why(RESISTOR, Bias::Sink { ampere: 0.02 }), Unworkable::TooLittle);
    assert_eq!(why(Load::CurrentSource { ampere: 1e-3 }, Bias::Sink { ampere: 1e-3 }), Unworkable::TwoSources);
    assert_eq!(why(Load::Resistor { ohm: f64::NAN }, bypassed(1e3)), Unworkable::NoStage);
    assert_eq!(why(Load::Resistor { ohm: -1.0 }, bypassed(1e3)), Unworkable::NoStage);
}

#[test]
fn more_output_than_there_is_has_no_distortion_to_tell() {
    let stage = stage(RESISTOR, bypassed(1500.0));
    let p = point(&LAW, &stage).unwrap();
    let most = signal(&LAW, &stage, &p, None);
    assert!(most.second.is_some());
    assert_eq!(signal(&LAW, &stage, &p, Some(1.1 * most.most_out)).second, None);
}

/// A finding of this fault and size in section 1.
fn finding(fault: &str, unit: &str, estimate: f64) -> crate::report::Finding {
    let tube = crate::lesson::Setting::read([("fault", "plate-cathode-leakage,1,1"), ("depth", "1.5")]).unwrap();
    let mut finding = crate::triage(&tube.sweep(true).unwrap()).findings.swap_remove(0);
    finding.fault = fault.into();
    finding.confidence = 0.9;
    let value = finding.value.as_mut().unwrap();
    (value.unit, value.estimate) = (unit.into(), estimate);
    finding
}

fn shifted(fault: &str, unit: &str, estimate: f64, stage: &Stage) -> Shift {
    let tube = crate::lesson::Setting::default().sweep(false).unwrap();
    let mut report = crate::triage(&tube);
    report.findings = vec![finding(fault, unit, estimate)];
    let at = point(&LAW, stage).unwrap();
    shifts(&report, "1", &LAW, stage, &at).remove(0)
}

#[test]
fn the_largest_grid_resistor_changes_the_current_by_what_is_allowed() {
    for (fault, unit, size) in [("gas", "1", 1e-3), ("grid-emission", "A", 1e-6), ("plate-grid-leakage", "ohm", 50e6)] {
        let usual = stage(RESISTOR, Bias::Fixed { volt: -6.0 });
        let at = point(&LAW, &usual).unwrap();
        let largest = shifted(fault, unit, size, &usual).largest_grid_resistor.unwrap();
        let there = shifted(fault, unit, size, &Stage { grid_resistor: largest, ..usual });
        assert_relative_eq!(there.ia.unwrap() / at.ia, 1.0 + ALLOWED, max_relative = 1e-3);
        let half = shifted(fault, unit, size, &Stage { grid_resistor: 0.5 * largest, ..usual });
        assert!(half.ia.unwrap() < there.ia.unwrap() && half.lifts < there.lifts);
    }
}

#[test]
fn gas_runs_away_where_its_loop_gain_reaches_one() {
    // Held at its plate voltage the section has its own gm.
    let held = Stage { supply: 250.0, ..stage(Load::Choke { ohm: 0.0 }, Bias::Fixed { volt: -8.0 }) };
    let at = point(&LAW, &held).unwrap();
    let gm = LAW.slopes(at.va, at.vg).gm;
    let ratio = 0.3 / (gm * held.grid_resistor);
    let shift = shifted("gas", "1", ratio, &held);
    assert_relative_eq!(shift.loop_gain.unwrap(), 0.3, max_relative = 1e-3);
    assert!(shift.ia.unwrap() > 1.05 * at.ia);
    assert_relative_eq!(shift.lifts, held.grid_resistor * ratio * shift.ia.unwrap(), max_relative = 1e-6);
    let away = shifted("gas", "1", 10.0 * ratio, &held);
    assert!(away.loop_gain.unwrap() > 1.0 && away.ia.is_none());
}

#[test]
fn a_leak_from_plate_to_cathode_adds_its_own_current() {
    let usual = stage(RESISTOR, bypassed(1500.0));
    let at = point(&LAW, &usual).unwrap();
    let shift = shifted("plate-cathode-leakage", "ohm", 1e6, &usual);
    assert_relative_eq!(shift.ia.unwrap() - at.ia, at.va / 1e6, max_relative = 1e-12);
    assert_eq!((shift.grid_current, shift.largest_grid_resistor), (0.0, None));
}

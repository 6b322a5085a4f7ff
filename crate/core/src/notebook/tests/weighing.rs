//! Observations.

use super::*;
use crate::notebook::observe::{LAMP_MOST, Lamps, NOT_FOUND, NOT_SHOWN, Sight, Tapped, standing, weigh, would_settle};
use crate::report::{Alternative, Blind, Finding, TubeReport};

fn finding(fault: &str, confidence: f64, alternatives: &[(&str, f64)]) -> Finding {
    Finding {
        fault: fault.into(),
        section: Some("1".into()),
        confidence,
        value: None,
        evidence: String::new(),
        confirm: String::new(),
        alternatives: alternatives
            .iter()
            .map(|&(fault, confidence)| Alternative { fault: fault.into(), confidence })
            .collect(),
        marks: Vec::new(),
    }
}

fn report(findings: Vec<Finding>) -> TubeReport {
    TubeReport {
        tube: "1".into(),
        source: Vec::new(),
        kind: Some("6SN7GTB".into()),
        verdict: if findings.is_empty() { Verdict::Accept } else { Verdict::Retest },
        reasons: Vec::new(),
        findings,
        sections: Vec::new(),
        blind: vec![Blind { fault: "gas".into(), why: String::new(), smallest: None, measure: String::new() }],
        limits: Vec::new(),
        notes: Vec::new(),
    }
}

fn insulation(a: Electrode, b: Electrode, ohm: f64) -> (Option<String>, Seen) {
    (None, Seen::Insulation { between: [a, b], ohm, more: false })
}

use Electrode::{Cathode, Grid, Heater, Plate};

/// Causes of which at most one is true, by the textbook: weights times likelihoods, shared
/// out again. The last weight is that of none of them.
fn shared_out(priors: &[f64], likelihoods: &[f64]) -> Vec<f64> {
    let rest = 1.0 - priors.iter().sum::<f64>();
    let weights: Vec<f64> = priors.iter().zip(likelihoods).map(|(p, l)| p * l).collect();
    let all = weights.iter().sum::<f64>() + rest;
    weights.iter().map(|w| w / all).collect()
}

const FAULTS: [&str; 4] =
    ["plate-cathode-leakage", "plate-grid-leakage", "grid-cathode-leakage", "heater-cathode-leakage"];

fn some_seen() -> impl Strategy<Value = Seen> {
    prop_oneof![
        (prop::sample::select(vec![Lamp::Shorts, Lamp::Grid]), any::<bool>())
            .prop_map(|(lamp, lit)| Seen::Lamp { lamp, lit }),
        (
            prop::sample::select(vec![
                [Plate, Cathode],
                [Grid, Plate],
                [Grid, Cathode],
                [Heater, Cathode],
                [Heater, Plate]
            ]),
            1e2..1e11f64
        )
            .prop_map(|(between, ohm)| Seen::Insulation { between, ohm, more: false }),
        (0.0..1.2f64).prop_map(|ampere| Seen::HeaterCurrent { ampere }),
        (-1e-4..1e-4f64).prop_map(|ampere| Seen::HeaterCathode { ampere, volt: 100.0 }),
        prop::sample::select(vec![Tapped::Jumps, Tapped::Steady, Tapped::Rings])
            .prop_map(|reading| Seen::Tap { reading }),
        any::<bool>().prop_map(|heard| Seen::Hum { heard }),
        prop::sample::select(vec![
            Sight::Sound,
            Sight::GetterWhite,
            Sight::CrackedGlass,
            Sight::LooseParts,
            Sight::GetterMissing
        ])
        .prop_map(|sight| Seen::Eye { sight }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_odds_of_a_fault_alone_are_multiplied_by_its_ratio(p in 0.01..0.99f64, seen in some_seen(), which in 0..4usize) {
        let report = report(vec![finding(FAULTS[which], p, &[])]);
        let ratios = seen.ratios(&Lamps::default(), crate::handbook::find("6SN7GTB"));
        let ratio = ratios.iter().find(|r| r.fault == FAULTS[which]).map_or(1.0, |r| r.ratio);
        let to = weigh(&report, &[(None, seen)], &Lamps::default()).moved[0].to;
        approx::assert_relative_eq!(to / (1.0 - to), ratio * p / (1.0 - p), max_relative = 1e-9);
    }

    #[test]
    fn rivals_share_out_as_the_textbook_has_it(
        parts in prop::collection::vec(0.01..1.0f64, 5),
        seen in prop::collection::vec(some_seen(), 0..5),
    ) {
        let all: f64 = parts.iter().sum();
        let mut now: Vec<f64> = parts[..4].iter().map(|p| p / all).collect();
        let alternatives: Vec<(&str, f64)> = (1..4).map(|i| (FAULTS[i], now[i])).collect();
        let report = report(vec![finding(FAULTS[0], now[0], &alternatives)]);
        let seen: Vec<_> = seen.into_iter().map(|s| (None, s)).collect();
        let weighed = weigh(&report, &seen, &Lamps::default());
        for (i, (_, one)) in seen.iter().enumerate() {
            if seen[i + 1..].iter().any(|(_, later)| later.same_measurement(one)) {
                continue;
            }
            let ratios = one.ratios(&Lamps::default(), crate::handbook::find("6SN7GTB"));
            let of = |fault: &str| ratios.iter().find(|r| r.fault == fault).map_or(1.0, |r| r.ratio);
            now = shared_out(&now, &FAULTS.map(of));
        }
        for (i, p) in now.iter().enumerate() {
            let moved = &weighed.moved[i];
            approx::assert_relative_eq!(moved.to, *p, max_relative = 1e-6);
            // The steps lead from the one to the other, each by its ratio.
            let mut at = moved.from;
            for step in &moved.steps {
                approx::assert_relative_eq!(step.from, at, max_relative = 1e-9);
                approx::assert_relative_eq!(step.to / (1.0 - step.to), step.ratio * at / (1.0 - at), max_relative = 1e-9);
                at = step.to;
            }
            approx::assert_relative_eq!(at, moved.to, max_relative = 1e-12);
        }
    }

    #[test]
    fn lamps_alone_ask_for_nothing_on_a_clean_sweep(
        lit in prop::collection::vec((prop::sample::select(vec![Lamp::Shorts, Lamp::Grid]), any::<bool>()), 0..12),
        shorts in 0.0..1e6f64, grid in 0.0..1e6f64,
    ) {
        let clean = report(Vec::new());
        let seen: Vec<_> = lit.into_iter().map(|(lamp, lit)| (None, Seen::Lamp { lamp, lit })).collect();
        let lamps = Lamps { shorts, grid };
        let stands = standing(&clean, &seen, &lamps);
        prop_assert_eq!((stands.verdict, stands.reconsider), (Verdict::Accept, false));
        prop_assert!(weigh(&clean, &seen, &lamps).moved.iter().all(|m| m.to < 0.5));
    }
}

#[test]
fn cold_insulation_says_which_path_it_is() {
    let open = report(vec![finding("plate-cathode-leakage", 0.48, &[("plate-grid-leakage", 0.47)])]);
    let of = |seen: &[(Option<String>, Seen)]| {
        let weighed = weigh(&open, seen, &Lamps::default());
        (weighed.moved[0].to, weighed.moved[1].to)
    };
    let (cathode, grid) = of(&[insulation(Plate, Cathode, 1e6)]);
    assert!(cathode > 0.98 && grid < 0.02, "{cathode} {grid}");
    let (cathode, grid) = of(&[insulation(Grid, Plate, 1e6)]);
    assert!(cathode < 0.02 && grid > 0.98, "{cathode} {grid}");
    let (cathode, grid) = of(&[insulation(Plate, Cathode, 5e9)]);
    assert!(cathode < 0.1 && grid > 0.8, "{cathode} {grid}");
    // Neither here nor there: an ohmmeter over its range.
    let over = (None, Seen::Insulation { between: [Plate, Cathode], ohm: 2e7, more: true });
    assert_eq!(of(&[over]), (0.48, 0.47));
    // Measured again, the later counts.
    assert_eq!(of(&[insulation(Plate, Cathode, 1e6), insulation(Cathode, Plate, 2e8)]), (0.48, 0.47));
    let stands = standing(&open, &[insulation(Plate, Cathode, 1e6)], &Lamps::default());
    assert_eq!((stands.verdict, stands.reconsider), (Verdict::Retest, true));
    assert!(stands.says.contains("Plate–cathode leakage went from 48 % to 99 %"), "{}", stands.says);
}

#[test]
fn what_would_settle_an_open_question_is_named() {
    let f = finding("plate-cathode-leakage", 0.48, &[("plate-grid-leakage", 0.47), ("zero-offset", 0.03)]);
    let now = |fault: &str| {
        if fault == f.fault {
            0.48
        } else {
            f.alternatives.iter().find(|a| a.fault == fault).map_or(0.0, |a| a.confidence)
        }
    };
    let ask = would_settle(&f, now, &[]).unwrap();
    assert_eq!((ask.rival.as_str(), ask.between), ("plate-grid-leakage", [Plate, Cathode]));
    assert!(ask.words.contains("plate to cathode cold"));
    let made = [Seen::Insulation { between: [Cathode, Plate], ohm: 2e8, more: false }];
    assert_eq!(would_settle(&f, now, &made).unwrap().between, [Plate, Grid]);
    // Settled, it is not asked for; and where no meter tells, nothing is.
    assert_eq!(would_settle(&f, |fault| if fault == f.fault { 0.99 } else { 0.005 }, &[]), None);
    let worn = finding("low-emission", 0.5, &[("cathode-interface", 0.4)]);
    assert_eq!(would_settle(&worn, |fault| if fault == "low-emission" { 0.5 } else { 0.4 }, &[]), None);
}

#[test]
fn what_the_sweep_cannot_show_starts_higher_than_what_it_did_not_find() {
    let clean = report(Vec::new());
    let seen = [(None, Seen::Eye { sight: Sight::GetterWhite })];
    let moved = weigh(&clean, &seen, &Lamps::default()).moved;
    let of = |fault: &str| moved.iter().find(|m| m.fault == fault).unwrap();
    assert_eq!((of("gas").from, of("no-conduction").from), (NOT_SHOWN, NOT_FOUND));
    assert!(of("gas").to > 0.5 && of("no-conduction").to < 0.5);
    let stands = standing(&clean, &seen, &Lamps::default());
    assert_eq!((stands.verdict, stands.reconsider), (Verdict::Accept, true), "the sweep's verdict stays");
}

#[test]
fn an_observation_of_one_section_leaves_the_other_alone() {
    let mut other = finding("grid-cathode-leakage", 0.5, &[]);
    other.section = Some("2".into());
    let two = report(vec![finding("grid-cathode-leakage", 0.5, &[]), other]);
    let seen = [(Some("2".to_owned()), insulation(Grid, Cathode, 1e6).1)];
    let moved = weigh(&two, &seen, &Lamps::default()).moved;
    assert_eq!(moved.len(), 2);
    assert!(moved[0].to == 0.5 && moved[1].to > 0.98);
}

#[test]
fn a_heater_current_is_held_to_the_type() {
    // 6SN7GTB: 6.3 V, 0.6 A.
    let of = |ampere: f64, kind: &str| {
        let kind = crate::handbook::find(kind);
        Seen::HeaterCurrent { ampere }.ratios(&Lamps::default(), kind).first().map(|r| (r.fault, r.ratio > 1.0))
    };
    assert_eq!(of(0.6, "6SN7GTB"), Some(("type-mismatch", false)));
    assert_eq!(of(0.3, "6SN7GTB"), Some(("type-mismatch", true)));
    assert_eq!(of(0.0, "6SN7GTB"), Some(("no-conduction", true)));
    assert_eq!(of(0.52, "6SN7GTB"), None);
    assert_eq!(of(0.6, "no such"), None);
    // A tapped heater is right either way.
    assert_eq!(of(0.15, "12AU7"), of(0.3, "12AU7"));
}

#[test]
fn ratios_are_of_known_faults_and_lamps_are_bounded() {
    let lamps = Lamps { shorts: 1e9, grid: f64::NAN };
    for lamp in [Lamp::Shorts, Lamp::Grid] {
        for ratio in (Seen::Lamp { lamp, lit: true }).ratios(&lamps, None) {
            assert!(crate::faults::explain(ratio.fault).is_some(), "{}", ratio.fault);
            assert!(ratio.ratio <= LAMP_MOST);
        }
    }
}

#[test]
fn quantities_are_read_as_people_write_them() {
    use crate::notebook::observe::{Unit, quantity};
    for (text, unit, value) in [
        ("1 MΩ", Unit::Ohm, Some(1e6)),
        ("1,5 Mohm", Unit::Ohm, Some(1.5e6)),
        ("10 uA", Unit::Ampere, Some(1e-5)),
        ("-100", Unit::Volt, Some(-100.0)),
        ("1 MΩ", Unit::Volt, None),
        ("", Unit::Ohm, None),
        ("1e999", Unit::Ohm, None),
    ] {
        assert_eq!(quantity(text, unit), value, "{text}");
    }
}

//! Published parameter sets against the operating points they belong to.

use super::{super::*, points};

/// How close a set must come to a point's plate current.
const CLOSE: f64 = 0.20;

/// Points that a set of the type misses by more, with the reason.
const EXCEPTIONS: [(&str, f64, &str); 1] =
    [("5AR4", 17.0, "the Mullard curve lies 23 % above the drop that American sheets give at 225 mA")];

/// Plate current of the law at the point: where the sheet gives a circuit, the current
/// that settles in it, because a few tenths of a volt of bias would drown the comparison.
fn settled(law: &Law, p: &Point) -> f64 {
    let Some(c) = p.circuit else { return law.plate_current(p.va, p.vg, p.vg2) };
    let screen_share = p.ig2.as_ref().map_or(0.0, |i| i.value) / p.ia.as_ref().unwrap().value;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..100 {
        let ia = 0.5 * (low + high);
        let vk = c.resistor * ia * (1.0 + screen_share);
        let screen = c.screen_supply.map(|s| (s - vk).max(1e-3));
        if law.plate_current((c.supply - vk).max(1e-3), c.grid_supply - vk, screen) > ia {
            low = ia;
        } else {
            high = ia;
        }
    }
    low
}

#[test]
fn published_sets_reproduce_their_points() {
    let (mut types, mut checked) = (Vec::new(), 0);
    for (tube, section, p) in points() {
        let (Some(law), Some(ia)) = (&section.law, &p.ia) else { continue };
        let off = settled(law, p) / ia.value - 1.0;
        let excused = EXCEPTIONS.iter().any(|(name, va, _)| *name == tube.name && *va == p.va);
        assert_eq!(off.abs() > CLOSE, excused, "{} at {} V by {}: {off:+.3}", tube.name, p.va, law.fit);
        checked += 1;
        if !types.contains(&&tube.name) {
            types.push(&tube.name);
        }
    }
    assert!(types.len() >= 8 && checked >= 40, "{} types, {checked} points", types.len());
}

#[test]
fn a_difference_said_to_be_checked_is_the_one_found() {
    let mut checked = 0;
    for (tube, section, p) in points() {
        let (Some(law), Some(ia)) = (&section.law, &p.ia) else { continue };
        let Strength::Checked { off } = ia.strength else { continue };
        if ia.source.id != law.source.id {
            continue; // checked against a fit whose parameters are not kept here
        }
        let found = settled(law, p) / ia.value - 1.0;
        assert!((found - off).abs() < 0.0101, "{} at {} V: said {off:+.2}, found {found:+.3}", tube.name, p.va);
        checked += 1;
    }
    assert!(checked >= 35, "{checked}");
}

#[test]
fn the_12ax7_set_is_a_refit_and_not_the_original() {
    // The original set gives 0.10 mA here, a fifth of the sheet's 0.5 mA.
    let law = find("12AX7").unwrap().groups[0].law.as_ref().unwrap();
    let ia = law.plate_current(100.0, -1.0, None);
    assert!((ia / 0.5e-3 - 1.0).abs() < 0.10, "{ia}");
    assert_eq!(law.fit, "ECC83");
}

#[test]
fn laws_give_small_signal_figures_that_agree_with_themselves() {
    // mu = gm·rp at any point of a smooth law; slopes by differences.
    for (tube, section, p) in points() {
        let (Some(law), None) = (&section.law, p.vg2) else { continue };
        if matches!(law.form, Form::Diode { .. }) {
            continue;
        }
        let at = |va: f64, vg: f64| law.plate_current(va, vg, None);
        let gm = (at(p.va, p.vg + 1e-3) - at(p.va, p.vg - 1e-3)) / 2e-3;
        let gp = (at(p.va + 0.1, p.vg) - at(p.va - 0.1, p.vg)) / 0.2;
        // The bias step that one volt of plate swing needs, found by bisection.
        let (here, mut low, mut high) = (at(p.va, p.vg), p.vg - 5.0, p.vg);
        for _ in 0..80 {
            let mid = 0.5 * (low + high);
            if at(p.va + 1.0, mid) > here { high = mid } else { low = mid }
        }
        let mu = 1.0 / (p.vg - low);
        assert!((mu / (gm / gp) - 1.0).abs() < 0.03, "{}: {mu} against {}", tube.name, gm / gp);
    }
}

#[test]
fn laws_are_tame_at_the_edges() {
    for law in all().iter().flat_map(|t| &t.groups).filter_map(|s| s.law.as_ref()) {
        for va in [0.0, 1e-6, 1.0, 300.0, 2000.0] {
            for vg in [-500.0, -10.0, 0.0, 20.0] {
                for vg2 in [None, Some(0.0), Some(250.0)] {
                    let ia = law.plate_current(va, vg, vg2);
                    assert!(ia.is_finite() && ia >= 0.0, "{} {va} {vg} {vg2:?}: {ia}", law.fit);
                }
            }
        }
    }
}

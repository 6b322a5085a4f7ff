//! Laws against published figures and identities.

use approx::assert_relative_eq;

use super::super::*;
use super::*;

#[test]
fn every_type_has_every_form() {
    for name in TYPES {
        for law in LawChoice::ALL {
            assert!(typical(kind(name), law).is_some(), "{name} {}", law.name());
            assert!(specimen(kind(name), law, 3).is_some(), "{name} {}", law.name());
        }
        assert!(VirtualBench::usual(kind(name)).is_some());
    }
}

#[test]
fn published_koren_sets_give_the_currents_that_others_computed_from_them() {
    // Reference 1.4, last column: computed from the published constants. Two digits are
    // rounded there, so half of the last one is allowed.
    for (name, va, vg, milliamps, half) in [
        ("12AX7", 250.0, -2.0, 1.25, 0.005),
        ("12AX7", 100.0, -1.0, 0.46, 0.005),
        ("5751", 250.0, -3.0, 0.98, 0.005),
        ("12AU7", 250.0, -8.5, 10.7, 0.05),
        ("12AY7", 250.0, -4.0, 3.05, 0.005),
        ("12BH7A", 250.0, -10.5, 9.84, 0.005),
        ("6SN7GTB", 250.0, -8.0, 9.13, 0.005),
        ("6CG7", 250.0, -8.0, 8.98, 0.005),
        ("6SL7GT", 250.0, -2.0, 2.37, 0.005),
        ("6922", 90.0, -1.3, 13.2, 0.05),
        ("6N1P", 250.0, -4.0, 8.16, 0.005),
        ("300B", 300.0, -61.0, 59.3, 0.05),
        ("2A3", 250.0, -45.0, 55.7, 0.05),
    ] {
        let form = typical(kind(name), LawChoice::Koren).unwrap()[0];
        let ia = 1e3 * form.current(va, vg);
        assert!((ia - milliamps).abs() <= half * 1.0001, "{name} at {va}/{vg}: {ia}");
    }
}

#[test]
fn other_forms_go_through_the_handbook_point_with_its_slopes() {
    let published = [
        ("12AX7", LawChoice::CohenHelie),
        ("12AX7", LawChoice::Dempwolf),
        ("6922", LawChoice::Rydel),
        ("6CG7", LawChoice::Rydel),
        ("12AX7", LawChoice::ChildLangmuir),
        ("12AU7", LawChoice::ChildLangmuir),
        ("6SN7GTB", LawChoice::ChildLangmuir),
        ("300B", LawChoice::ChildLangmuir),
    ];
    for name in TYPES {
        let point = kind(name).groups[0].points.iter().find(|p| p.gm.is_some() && p.ia.is_some()).unwrap();
        let (ia, gm) = (point.ia.as_ref().unwrap().value, point.gm.as_ref().unwrap().value);
        for law in LawChoice::ALL.into_iter().filter(|l| *l != LawChoice::Koren) {
            if published.contains(&(name, law)) {
                continue;
            }
            let form = typical(kind(name), law).unwrap()[0];
            assert_relative_eq!(form.current(point.va, point.vg), ia, max_relative = 2e-4);
            assert_relative_eq!(form.slopes(point.va, point.vg).0, gm, max_relative = 2e-4);
        }
    }
}

#[test]
fn published_sets_are_as_near_the_handbook_as_their_reference_says() {
    // Reference 1.1, 1.5 to 1.7 and 2.1. Leach's sets name no sheet; what they give was
    // computed there within a few per cent of the sheet.
    for (name, law, va, vg, milliamps, share) in [
        ("12AX7", LawChoice::ChildLangmuir, 250.0, -2.0, 1.2, 0.03),
        ("12AU7", LawChoice::ChildLangmuir, 250.0, -8.5, 10.5, 0.06),
        ("6SN7GTB", LawChoice::ChildLangmuir, 250.0, -8.0, 9.0, 0.06),
        ("300B", LawChoice::ChildLangmuir, 300.0, -61.0, 60.0, 0.06),
        ("6922", LawChoice::Rydel, 90.0, -1.3, 15.0, 0.20),
        ("6CG7", LawChoice::Rydel, 250.0, -8.0, 9.0, 0.20),
        // Computed there for the third specimen of Dempwolf & Zölzer.
        ("12AX7", LawChoice::Dempwolf, 100.0, -1.0, 0.27, 0.02),
    ] {
        let form = typical(kind(name), law).unwrap()[0];
        let ia = 1e3 * form.current(va, vg);
        assert!((ia / milliamps - 1.0).abs() < share, "{name} {}: {ia}", law.name());
    }
}

#[test]
fn at_constant_current_the_plate_moves_minus_mu_times_the_grid() {
    for name in ["12AX7", "6SN7GTB", "6DJ8", "300B"] {
        for law in LawChoice::ALL {
            let form = typical(kind(name), law).unwrap()[0];
            let (va, vg) = (200.0, -0.3 * 200.0 / form.mu());
            let (gm, gp) = form.slopes(va, vg);
            let ia = form.current(va, vg);
            let dv = 1e-3;
            let moved = maths::root(va - 10.0, va + 10.0, |v| form.current(v, vg + dv) - ia);
            assert_relative_eq!(-(moved - va) / dv, gm / gp, max_relative = 2e-3);
        }
    }
}

#[test]
fn nothing_in_a_tail_is_steeper_than_a_hot_cathode() {
    // Reference 4.3 item 10: |dlnI/dVg| ≤ 12/V. Koren's form steepens below 100 V, which
    // is a fault of that form and no cathode's.
    for name in TYPES {
        for law in LawChoice::ALL {
            let form = typical(kind(name), law).unwrap()[0];
            for va in [100.0, 250.0] {
                for k in 1..60 {
                    let vg = -f64::from(k) / 20.0 * va / form.mu();
                    let i = form.current(va, vg);
                    if i > 1e-9 {
                        let steep = form.slopes(va, vg).0 / i;
                        assert!(steep < 12.0, "{name} {} {va}/{vg}: {steep}", law.name());
                    }
                }
            }
        }
    }
}

#[test]
fn sound_grids_draw_electrons_from_about_minus_half_a_volt() {
    for name in TYPES {
        for seed in 0..20 {
            let t = specimen(kind(name), LawChoice::Strips, seed).unwrap();
            let ig = |vs| t.sections[0].leads(&Drive { va: 100.0, vs, ..Drive::default() }).ig;
            assert!(ig(-1.5) < 20e-9, "{name} {seed}: {}", ig(-1.5));
            assert!(ig(0.0) > 0.3e-6, "{name} {seed}: {}", ig(0.0));
        }
    }
}

#[test]
fn sound_specimens_stay_within_their_type() {
    for name in TYPES {
        let kind = kind(name);
        let mut factors = Vec::new();
        for seed in 0..60 {
            let t = specimen(kind, LawChoice::Strips, seed).unwrap();
            let point = &kind.groups[0].points[0];
            let mean = typical(kind, LawChoice::Strips).unwrap()[0];
            let share = t.sections[0].form.current(point.va, point.vg) / mean.current(point.va, point.vg);
            assert!((0.69..1.31).contains(&share), "{name} {seed}: {share}");
            if let Some(m) = mismatch(kind, &t) {
                assert!(m <= 0.06, "{name} {seed}: {m}");
            }
            factors.push(share);
        }
        let least = factors.iter().copied().fold(f64::INFINITY, f64::min);
        let most = factors.iter().copied().fold(0.0, f64::max);
        assert!(least < 0.9 && most > 1.1, "{name}: {least} to {most}");
    }
}

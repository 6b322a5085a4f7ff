//! The circuit of one section against the closed forms of reference 4.

use approx::assert_relative_eq;

use super::super::defects::ionisation;
use super::super::*;
use super::*;

#[test]
fn past_cutoff_floors_are_the_leaks_to_the_last_digit() {
    let mut t = tube("6SN7GTB", LawChoice::Koren);
    t.sections[0].defects.plate_cathode = Some(1e6);
    t.sections[1].defects.plate_grid = Some(1e6);
    for s in &mut t.sections {
        s.defects.dead = true;
    }
    let at = |s: usize, va, vs| t.sections[s].leads(&Drive { va, vs, ..Drive::default() });
    // physics.md, "The floor, worked": 300 µA, and 340 µA at −40 V.
    assert_eq!(at(0, 300.0, -40.0).ia, 300e-6);
    assert_eq!(at(0, 300.0, 0.0).ia, 300e-6);
    assert_eq!(at(0, 300.0, -40.0).ig, 0.0);
    assert_eq!(at(1, 300.0, 0.0).ia, 300e-6);
    assert_relative_eq!(at(1, 300.0, -40.0).ia, 340e-6, max_relative = 1e-15);
    assert_eq!(at(1, 300.0, -40.0).ig, -at(1, 300.0, -40.0).ia);
    assert_eq!(at(1, 300.0, -40.0).ik, 0.0);
}

#[test]
fn linear_leaks_shift_the_grid_as_the_closed_form_says() {
    // Reference 4.1, with Ig_tube = 0.
    let mut t = tube("12AX7", LawChoice::Strips);
    let d = &mut t.sections[0].defects;
    (d.plate_grid, d.grid_cathode, d.grid_heater, d.dead) = (Some(10e6), Some(3e6), Some(5e6), true);
    for (va, vs, rs, vh) in [(300.0, -4.0, 100e3, 0.0), (100.0, -1.0, 1e6, 30.0), (250.0, -8.0, 47e3, -20.0)] {
        let leads = t.sections[0].leads(&Drive { va, vs, rs, vh, ..Drive::default() });
        let closed = (vs + rs * (va / 10e6 + vh / 5e6)) / (1.0 + rs * (1.0 / 3e6 + 1.0 / 10e6 + 1.0 / 5e6));
        assert_relative_eq!(leads.vg, closed, max_relative = 1e-14);
        assert_relative_eq!(vs - rs * leads.ig, leads.vg, max_relative = 1e-12);
    }
}

#[test]
fn a_grid_cathode_leak_through_a_resistor_scales_mu_and_gm_alike() {
    // Reference 4.3 item 1.
    let mut t = tube("12AT7", LawChoice::Strips);
    t.sections[0].defects.grid_cathode = Some(1e6);
    let sound = &tube("12AT7", LawChoice::Strips).sections[0];
    let (rs, vs, va) = (250e3, -2.5, 250.0);
    let ia = |vs: f64| t.sections[0].leads(&Drive { va, vs, rs, ..Drive::default() }).ia;
    let gm = (ia(vs + 1e-3) - ia(vs - 1e-3)) / 2e-3;
    let true_ia = |vg: f64| sound.leads(&Drive { va, vs: vg, ..Drive::default() }).ia;
    let gm0 = (true_ia(-2.0 + 1e-3) - true_ia(-2.0 - 1e-3)) / 2e-3;
    assert_relative_eq!(gm / gm0, 0.8, max_relative = 1e-4);
}

#[test]
fn gas_through_a_resistor_raises_gm_by_its_loop_gain() {
    // Reference 4.3 item 4: gm/(1 − k·gm·Rs).
    let mut t = tube("6DJ8", LawChoice::ChildLangmuir);
    t.sections[0].defects.gas = Some(2e-3);
    let sound = &tube("6DJ8", LawChoice::ChildLangmuir).sections[0];
    let (va, rs) = (100.0, 10e3);
    let at = |vs: f64| t.sections[0].leads(&Drive { va, vs, rs, ..Drive::default() });
    let here = at(-2.5);
    assert!(here.ig < 0.0 && here.vg > -2.5);
    assert_relative_eq!(here.vg, -2.5 - rs * here.ig, max_relative = 1e-12);
    // Electrons to the plate alone, ions not counted.
    let plate = |vg: f64| sound.leads(&Drive { va, vs: vg, ..Drive::default() }).ia;
    let slope = |f: &dyn Fn(f64) -> f64, x: f64| (f(x + 1e-4) - f(x - 1e-4)) / 2e-4;
    let gm0 = slope(&plate, here.vg);
    let ions = 1.0 + 2e-3 * ionisation(va);
    let gm = slope(&|vs| at(vs).ia, -2.5) / ions;
    // Electron grid current, tiny here, is in the loop as well.
    assert_relative_eq!(gm, gm0 / (1.0 - gas_loop(gm0, rs, 2e-3, va)), max_relative = 2e-3);
    assert!(gas_loop(gm0, rs, 2e-3, va) > 0.03);
}

#[test]
fn gas_follows_the_plate_current_and_dies_at_cutoff() {
    let mut t = tube("6SN7GTB", LawChoice::Koren);
    t.sections[0].defects.gas = Some(1e-3);
    let at = |va, vs| t.sections[0].leads(&Drive { va, vs, ..Drive::default() });
    for vs in [-6.0, -4.0] {
        let l = at(200.0, vs);
        assert_relative_eq!(
            -l.ig / l.ia,
            1e-3 * ionisation(200.0) / (1.0 + 1e-3 * ionisation(200.0)),
            max_relative = 1e-6
        );
    }
    assert!(at(200.0, -28.0).ig.abs() < 1e-12);
    assert_eq!(ionisation(12.0), 0.0);
    assert!((2.0..4.0).contains(&(ionisation(250.0) / ionisation(50.0))));
}

#[test]
fn interface_resistance_adds_to_the_reciprocal_of_gm_and_leaves_mu() {
    // Reference 4.3 item 7: 1/gm' = 1/gm + Ri·(1+1/mu), rp' = rp + Ri·(1+mu).
    let mut t = tube("6SN7GTB", LawChoice::Koren);
    let ri = 150.0;
    t.sections[0].defects.interface = Some(ri);
    let sound = &tube("6SN7GTB", LawChoice::Koren).sections[0];
    let (va, vs) = (250.0, -6.0);
    let ia = |s: &VirtualSection, va: f64, vs: f64| s.leads(&Drive { va, vs, ..Drive::default() }).ia;
    let slopes = |s: &VirtualSection, va: f64, vs: f64| {
        ((ia(s, va, vs + 1e-3) - ia(s, va, vs - 1e-3)) / 2e-3, (ia(s, va + 1e-2, vs) - ia(s, va - 1e-2, vs)) / 2e-2)
    };
    let here = ia(&t.sections[0], va, vs);
    let (gm1, gp1) = slopes(&t.sections[0], va, vs);
    let (gm0, gp0) = slopes(sound, va - ri * here, vs - ri * here);
    let mu = gm0 / gp0;
    assert_relative_eq!(ia(sound, va - ri * here, vs - ri * here), here, max_relative = 1e-9);
    assert_relative_eq!(1.0 / gm1, 1.0 / gm0 + ri * (1.0 + 1.0 / mu), max_relative = 1e-5);
    assert_relative_eq!(1.0 / gp1, 1.0 / gp0 + ri * (1.0 + mu), max_relative = 1e-5);
}

#[test]
fn emission_ceilings_bend_the_top_only_and_fall_with_the_heater() {
    let sound = tube("12AU7", LawChoice::Koren);
    let mut worn = sound.clone();
    worn.sections[0].defects.ceiling = Some(Ceiling { current: 8e-3, sharpness: 4.0, schottky: 0.01 });
    let ia = |t: &VirtualTube, va, vs, heater| t.sections[0].leads(&Drive { va, vs, heater, ..Drive::default() }).ia;
    assert!(ia(&worn, 200.0, 0.0, 1.0) < 9.5e-3);
    let low = ia(&sound, 200.0, -12.0, 1.0);
    assert!(low < 2e-3, "{low}");
    assert_relative_eq!(ia(&worn, 200.0, -12.0, 1.0), low, max_relative = 1e-3);
    // Ten per cent less heater: reference 3.3.
    let keeps = |t| ia(t, 200.0, -4.0, 0.9) / ia(t, 200.0, -4.0, 1.0);
    assert!((0.96..1.0).contains(&keeps(&sound)), "{}", keeps(&sound));
    assert!(keeps(&worn) < 0.7, "{}", keeps(&worn));
}

#[test]
fn grid_emission_is_flat_and_stays_at_cutoff() {
    let mut t = tube("12AX7", LawChoice::Strips);
    t.sections[0].defects.grid_emission = Some(GridEmission { current: 2e-6, to_plate: 0.0, growth: 0.0 });
    let ig = |va, vs| t.sections[0].leads(&Drive { va, vs, ..Drive::default() }).ig;
    for (va, vs) in [(100.0, -1.5), (300.0, -1.5), (300.0, -6.0)] {
        assert_relative_eq!(ig(va, vs), -2e-6, max_relative = 1e-3);
    }
}

#[test]
fn a_tied_grid_loads_its_supply_and_an_open_one_floats() {
    let mut t = tube("6SN7GTB", LawChoice::Koren);
    t.sections[0].defects.grid = GridState::Tied(2.0);
    t.sections[1].defects.grid = GridState::Open { rest: -0.4, wander: 0.0 };
    let at = |s: usize, vs, rs| t.sections[s].leads(&Drive { va: 100.0, vs, rs, grid_limit: 0.01, ..Drive::default() });
    assert_relative_eq!(at(0, -10.0, 0.0).ig, -0.01, max_relative = 1e-9);
    // Electrons of the section itself flow in the grid lead too.
    assert_relative_eq!(at(0, -10.0, 0.0).vg, -0.02, max_relative = 2e-2);
    assert_relative_eq!(at(0, -10.0, 10e3).ig, -1e-3, max_relative = 1e-3);
    assert_eq!(at(1, -10.0, 0.0).ia, at(1, 0.0, 0.0).ia);
    assert_eq!(at(1, -10.0, 0.0).ig, 0.0);
}

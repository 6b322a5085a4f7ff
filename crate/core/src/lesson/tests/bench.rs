//! The bench: order, supplies, meters, and the table that comes of it.

use approx::assert_relative_eq;

use super::super::*;
use super::*;
use crate::sweep::MeterPlace;

#[test]
fn the_meters_place_decides_which_leaks_are_seen() {
    // Reference 4.2.
    let mut t = tube("6SN7GTB", LawChoice::Koren);
    let d = &mut t.sections[0].defects;
    (d.dead, d.plate_grid, d.heater_cathode, d.plate_heater) = (true, Some(5e6), Some(2e6), Some(20e6));
    let drive = Drive { va: 200.0, vs: -10.0, vh: 40.0, ..Drive::default() };
    let l = t.sections[0].leads(&drive);
    assert_relative_eq!(l.ia, 210.0 / 5e6 + 160.0 / 20e6, max_relative = 1e-12);
    assert_relative_eq!(l.ik, 40.0 / 2e6, max_relative = 1e-9);
    let bench = VirtualBench {
        plan: vec![Family::Transfer { plates: vec![200.0], grid: Range { from: -10.0, to: -8.0, step: 1.0 } }],
        meter: MeterPlace::CathodeLead,
        heater_bias: 40.0,
        ..ideal()
    };
    let read = measure(&t, &bench, 1);
    assert_relative_eq!(read.sections[0].points.ia[0], 40.0 / 2e6, max_relative = 1e-9);
}

#[test]
fn supplies_sag_and_limit_as_circuits_do() {
    let t = tube("12AU7", LawChoice::Koren);
    let plan = vec![Family::Transfer { plates: vec![250.0], grid: Range { from: -2.0, to: 0.0, step: 1.0 } }];
    let sag =
        measure(&t, &VirtualBench { plan: plan.clone(), plate_sag: 1000.0, reads_plate_voltage: true, ..ideal() }, 1);
    let p = &sag.sections[0].points;
    for i in 0..p.len() {
        assert!((p.va[i] - (250.0 - 1000.0 * p.ia[i])).abs() <= 0.0051);
    }
    let limit = measure(&t, &VirtualBench { plan, current_limit: Some(10e-3), ..ideal() }, 1);
    assert!(limit.sections[0].points.ia.iter().all(|&i| i == 10e-3));
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let kind = kind("6DJ8");
    let bench =
        VirtualBench { grid_meter: Some(Meter { noise: 5e-9, ..Meter::IDEAL }), ..VirtualBench::usual(kind).unwrap() };
    let once = || {
        let mut t = specimen(kind, LawChoice::Strips, 5).unwrap();
        t.sections[0].defects.intermittent = Some(Intermittent { share: 0.1, run: 2.0, factor: 0.0 });
        crate::intake::write(&measure(&t, &bench, 6))
    };
    assert_eq!(once(), once());
    let other = crate::intake::write(&measure(&specimen(kind, LawChoice::Strips, 5).unwrap(), &bench, 7));
    assert_ne!(once(), other);
}

#[test]
fn a_measured_tube_survives_the_table() {
    for (i, name) in TYPES.iter().enumerate() {
        let mut bench = VirtualBench::usual(kind(name)).unwrap();
        bench.grid_meter = Some(Meter { noise: 8e-9, resolution: Resolution::Step(5e-9), ..Meter::IDEAL });
        bench.plate_meter.resolution =
            if i % 2 == 0 { Resolution::Step(5e-7) } else { Resolution::Counts { counts: 20_000.0, least: 2e-4 } };
        let before = measure(&tube(name, LawChoice::CohenHelie), &bench, 9);
        let after = crate::intake::read("x.csv", crate::intake::write(&before).as_bytes()).unwrap().remove(0);
        assert_eq!(after.bench, before.bench);
        assert_eq!(after.sections, before.sections, "{name}");
    }
}

#[test]
fn warm_up_rises_and_intermittents_hit_their_share() {
    let kind = kind("12AU7");
    let usual = VirtualBench::usual(kind).unwrap();
    let sound = specimen(kind, LawChoice::Koren, 1).unwrap();
    let quiet = VirtualBench { plate_meter: Meter::IDEAL, ..usual };
    let cold =
        VirtualBench { warm_up: Some(WarmUp { deficit: 0.3, points: 20.0, each_section: false }), ..quiet.clone() };
    let (a, b) = (measure(&sound, &quiet, 1), measure(&sound, &cold, 1));
    let share = |s: usize, i: usize| b.sections[s].points.ia[i] / a.sections[s].points.ia[i];
    let last = a.sections[0].points.len() - 1;
    assert!((share(0, 0) - 0.7).abs() < 0.01 && share(0, last) > 0.98 && share(1, 0) > 0.98);

    let mut shaky = sound.clone();
    shaky.sections[0].defects.intermittent = Some(Intermittent { share: 0.1, run: 2.0, factor: 0.0 });
    let mut hits = 0;
    let mut all = 0;
    for seed in 0..40 {
        let c = measure(&shaky, &quiet, seed);
        let p = &c.sections[0].points;
        all += p.len();
        hits += (0..p.len()).filter(|&i| p.ia[i] == 0.0 && a.sections[0].points.ia[i] > 0.0).count();
    }
    let share = hits as f64 / all as f64;
    assert!((0.08..0.12).contains(&share), "{share}");
}

#[test]
fn meters_read_in_their_steps() {
    let mut dice = Dice::new(1, "meter");
    let step = Meter { resolution: Resolution::Step(5e-7), ..Meter::IDEAL };
    assert_eq!(step.read(1.23456e-3, 1e3, &mut dice), 1.2345 / 1e3);
    let auto = Meter { resolution: Resolution::Counts { counts: 2000.0, least: 2e-4 }, ..Meter::IDEAL };
    assert_eq!(auto.read(1.23456e-3, 1e3, &mut dice), 1.235 / 1e3);
    assert_eq!(auto.read(12.3456e-3, 1e3, &mut dice), 12.35 / 1e3);
    let offset = Meter { offset: 1e-4, gain: 1.02, range: 1e-2, ..Meter::IDEAL };
    assert_relative_eq!(offset.read(5e-3, 1e3, &mut dice), 5.2e-3);
    assert_eq!(offset.read(50e-3, 1e3, &mut dice), 1e-2);
}

#[test]
fn orders_take_the_same_points() {
    let plan = vec![
        Family::Transfer { plates: vec![100.0, 200.0], grid: Range { from: -3.0, to: 0.0, step: 0.5 } },
        Family::Plate { grids: vec![-1.0], plate: Range { from: 0.0, to: 100.0, step: 20.0 } },
    ];
    let visits = |order| VirtualBench { plan: plan.clone(), order, ..ideal() }.visits();
    assert_eq!(visits(Order::AsPlanned).len(), 20);
    assert_eq!(visits(Order::Backwards)[0].vg, 0.0);
    assert_eq!(visits(Order::LastFirst)[0], Visit { va: 0.0, vg: -1.0, repeat: 1 });
    assert_eq!(visits(Order::ThereAndBack).len(), 40);
    assert_eq!(visits(Order::ThereAndBack)[7], Visit { va: 100.0, vg: 0.0, repeat: 2 });
    assert_eq!(Range { from: -0.3, to: 0.0, step: 0.1 }.values(), [-0.3, -0.2, -0.1, 0.0]);
}

//! The current source.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::sound;
use crate::sums::source::Device;
use crate::sums::{CurrentSource, Spread};

const TYPE: CurrentSource = CurrentSource {
    current: 5e-3,
    spread: Spread { pinch_off: (1.5, 3.0), idss: (8e-3, 20e-3) },
    voltage: 100.0,
    fall: 0.05,
};

#[test]
fn a_quarter_of_the_saturation_current_wants_half_the_pinch_off_voltage() {
    let one = CurrentSource { spread: Spread { pinch_off: (2.0, 2.0), idss: (20e-3, 20e-3) }, ..TYPE };
    let w = one.worked().unwrap();
    // √(1/4) = 1/2: |Vgs| = 1 V at 5 mA.
    assert_relative_eq!(w.resistor.0, 200.0, max_relative = 1e-12);
    assert_relative_eq!(w.resistor.1, 200.0, max_relative = 1e-12);
    assert_eq!(w.saturated, 2.0);
    assert_relative_eq!(w.device_saturated.1, 1.0, max_relative = 1e-12);
    assert_relative_eq!(w.device_power, 99.0 * 5e-3, max_relative = 1e-12);
    assert_relative_eq!(w.resistor_power, 5e-3, max_relative = 1e-12);
    // 0.95 of 200 ohm is 190, the E24 value below 180; 20 ohm and a fifth more: 50.
    assert_eq!((w.fixed, w.trimmer, w.some_cannot), (180.0, 50.0, false));
    sound(&one.answer().unwrap());
}

#[test]
fn devices_that_cannot_are_told_and_none_is_refused() {
    let weak = CurrentSource { current: 10e-3, ..TYPE };
    let w = weak.worked().unwrap();
    assert_eq!((w.some_cannot, w.resistor.0, w.fixed), (true, 0.0, 0.0));
    let said = weak.answer().unwrap().cautions.join(" ");
    assert!(said.contains("saturation current below 10.0 mA cannot") && said.contains("ask for 8.00 mA"), "{said}");
    let none = CurrentSource { current: 25e-3, ..TYPE }.worked().unwrap_err();
    assert!(none.field == "current" && none.what.contains("20.0 mA"), "{none}");
}

#[test]
fn too_little_voltage_is_told() {
    let said = CurrentSource { voltage: 2.5, ..TYPE }.answer().unwrap().cautions.join(" ");
    assert!(said.contains("At 2.50 V not every device is saturated: the source needs 3.00 V"), "{said}");
}

#[test]
fn what_is_no_device_is_refused_with_a_mend() {
    let spread = |pinch_off, idss| CurrentSource { spread: Spread { pinch_off, idss }, ..TYPE };
    for (bad, field) in [
        (spread((3.0, 1.5), (8e-3, 20e-3)), "pinch-off-max"),
        (spread((1.5, 3.0), (20e-3, 8e-3)), "idss-max"),
        (spread((0.0, 3.0), (8e-3, 20e-3)), "pinch-off-min"),
        (spread((1.5, f64::NAN), (8e-3, 20e-3)), "pinch-off-max"),
        (spread((1.5, 3.0), (-8e-3, 20e-3)), "idss-min"),
        (CurrentSource { current: 0.0, ..TYPE }, "current"),
        (CurrentSource { voltage: 0.0, ..TYPE }, "voltage"),
        (CurrentSource { fall: 1.0, ..TYPE }, "fall"),
    ] {
        let wrong = bad.worked().unwrap_err();
        assert!(wrong.field == field && !wrong.mend.is_empty(), "{wrong}");
    }
}

proptest! {
    #[test]
    fn the_trimmer_sets_every_device_of_the_spread(
        vp in (0.3..3.0_f64, 1.0..4.0_f64), idss in (1e-3..20e-3_f64, 1.0..5.0_f64), share in 0.05..0.95_f64,
        at in (0.0..1.0_f64, 0.0..1.0_f64),
    ) {
        let spread = Spread { pinch_off: (vp.0, vp.0 * vp.1), idss: (idss.0, idss.0 * idss.1) };
        let of = CurrentSource { current: share * spread.idss.1, spread, ..TYPE };
        let w = of.worked().unwrap();
        let device = Device {
            pinch_off: vp.0 * (1.0 + at.0 * (vp.1 - 1.0)),
            idss: idss.0 * (1.0 + at.1 * (idss.1 - 1.0)),
        };
        let Some(ohm) = device.resistor(of.current) else {
            prop_assert!(w.some_cannot && device.idss < of.current);
            return Ok(());
        };
        prop_assert!(ohm >= w.resistor.0 * (1.0 - 1e-9) && ohm <= w.resistor.1 * (1.0 + 1e-9));
        prop_assert!(w.fixed <= ohm && w.fixed + 0.8 * w.trimmer >= ohm * (1.0 - 1e-9));
        prop_assert!((device.current(ohm) / of.current - 1.0).abs() < 1e-9);
        // The square law itself, both ways.
        let vgs = of.current * ohm;
        let saturated = device.idss * (1.0 - vgs / device.pinch_off).powi(2);
        prop_assert!((saturated / of.current - 1.0).abs() < 1e-9);
        let own = device.pinch_off - vgs;
        prop_assert!(own >= w.device_saturated.0 * (1.0 - 1e-9) && own <= w.device_saturated.1 * (1.0 + 1e-9));
        // The fall, put back into the law below saturation.
        let fallen = device.falls_by(of.fall, ohm);
        let less = 0.95 * of.current;
        let (over, vds) = (device.pinch_off - less * ohm, fallen - less * ohm);
        let beta = device.idss / device.pinch_off.powi(2);
        prop_assert!((beta * (2.0 * over - vds) * vds / less - 1.0).abs() < 1e-6);
        prop_assert!(fallen <= w.fallen * (1.0 + 1e-9) && fallen < device.pinch_off);
        sound(&of.answer().unwrap());
    }

    #[test]
    fn more_resistance_is_less_current(vp in 0.3..8.0_f64, idss in 1e-3..0.1_f64, ohm in 0.0..10e3_f64, more in 1.0..1e3_f64) {
        let device = Device { pinch_off: vp, idss };
        prop_assert!(device.current(ohm + more) < device.current(ohm));
        prop_assert!(device.current(0.0) == idss);
    }
}

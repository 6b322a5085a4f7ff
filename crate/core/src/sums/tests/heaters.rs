//! Heaters in a chain.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::sound;
use crate::sums::{Chain, Heater};

fn heater(voltage: f64, current: f64) -> Heater {
    Heater { name: format!("{voltage}V"), voltage, current, rating_from: None }
}

fn chain(supply: f64, heaters: &[(f64, f64)]) -> Chain {
    Chain { supply, heaters: heaters.iter().map(|(v, i)| heater(*v, *i)).collect(), current: None, shunted: false }
}

#[test]
fn equal_currents_are_ohms_law() {
    let of = chain(117.0, &[(12.6, 0.15), (12.6, 0.15), (35.0, 0.15)]);
    let w = of.worked().unwrap();
    assert_relative_eq!(w.resistor, (117.0 - 60.2) / 0.15, max_relative = 1e-12);
    assert_relative_eq!(w.power, 56.8 * 0.15, max_relative = 1e-12);
    assert_relative_eq!(w.each[2].voltage, 35.0, max_relative = 1e-12);
    for (cold, ratio) in [(w.inrush.0, 5.0), (w.inrush.1, 10.0)] {
        assert_relative_eq!(cold, 117.0 / (w.resistor + 60.2 / 0.15 / ratio), max_relative = 1e-12);
    }
    let answer = of.answer().unwrap();
    sound(&answer);
    // Twice 8.52 W is 17.04 W, the next that is sold 20 W.
    assert_eq!(answer.value("rating to buy"), Some(20.0));
    assert!(answer.figures.iter().any(|f| f.name == "heater 3: 35V" && f.says.contains("100 % of its 35.0 V")));
    assert!(!answer.cautions.iter().any(|c| c.contains("equal currents")));
}

#[test]
fn without_a_resistor_the_inrush_is_the_ratio_itself() {
    let w = chain(12.6, &[(6.3, 0.3), (6.3, 0.3)]).worked().unwrap();
    assert_eq!((w.resistor, w.power), (0.0, 0.0));
    assert_relative_eq!(w.inrush.0, 1.5, max_relative = 1e-12);
    assert_relative_eq!(w.inrush.1, 3.0, max_relative = 1e-12);
    sound(&chain(12.6, &[(6.3, 0.3), (6.3, 0.3)]).answer().unwrap());
}

#[test]
fn a_heater_of_another_current_is_named_with_its_share() {
    let of = chain(48.0, &[(6.3, 0.3), (12.6, 0.27)]);
    let w = of.worked().unwrap();
    assert_eq!(w.current, 0.27);
    assert_relative_eq!(w.each[0].voltage, 6.3 * libm::pow(0.9, 13.0 / 7.0), max_relative = 1e-12);
    let said = of.answer().unwrap().cautions.join(" ");
    assert!(
        said.contains(
            "heater 1 (6.3V) runs under its rating, 10 % off in current and 18 % off in voltage, more than the ±10 %"
        ),
        "{said}"
    );
    let over = Chain { current: Some(0.3), ..of }.answer().unwrap().cautions.join(" ");
    assert!(over.contains("heater 2 (12.6V) runs over its rating, 11 % off in current and 22 % off"), "{over}");
}

#[test]
fn a_shunt_takes_the_difference() {
    let of = Chain { shunted: true, ..chain(48.0, &[(6.3, 0.3), (12.6, 0.15)]) };
    let w = of.worked().unwrap();
    assert_eq!((w.current, w.each[0].shunt), (0.3, None));
    assert_relative_eq!(w.each[1].shunt.unwrap(), 84.0, max_relative = 1e-12);
    assert_relative_eq!(w.each[1].voltage, 12.6, max_relative = 1e-9);
    assert_relative_eq!(w.each[1].current, 0.15, max_relative = 1e-9);
    assert_relative_eq!(w.resistor, (48.0 - 18.9) / 0.3, max_relative = 1e-9);
    let answer = of.answer().unwrap();
    sound(&answer);
    assert_relative_eq!(answer.value("shunt of heater 2").unwrap(), 84.0, max_relative = 1e-12);
}

#[test]
fn the_warm_up_goes_from_the_cold_current_to_the_running_one() {
    let w = chain(117.0, &[(35.0, 0.15), (50.0, 0.15)]).worked().unwrap();
    let (first, last) = (w.warm_up[0], w.warm_up[w.warm_up.len() - 1]);
    assert!(first[1] > w.inrush.0 && first[1] < w.inrush.1);
    assert_relative_eq!(last[1], 0.15, max_relative = 0.02);
    assert!(w.warm_up.is_sorted_by(|a, b| a[1] >= b[1] - 1e-12));
    let settles = w.settles.unwrap();
    assert!((1.0..60.0).contains(&settles), "{settles}");
    // A chain with hardly a resistor is warm sooner than one with a large one: so says the test
    // of warm-up too, which has a resistor.
    let slow = chain(340.0, &[(35.0, 0.15), (50.0, 0.15)]).worked().unwrap().settles;
    assert!(w.settles.is_some_and(|w| w < 60.0) && slow.is_some());
}

#[test]
fn what_is_no_chain_is_refused_with_a_mend() {
    let few = chain(10.0, &[(6.3, 0.3), (6.3, 0.3)]).worked().unwrap_err();
    assert_eq!(few.field, "supply");
    assert!(few.mend.contains("12.6 V"), "{few}");
    for (bad, field) in [
        (chain(117.0, &[]), "heaters"),
        (chain(117.0, &[(6.3, 0.3); 41]), "heaters"),
        (chain(117.0, &[(0.0, 0.3)]), "heaters"),
        (chain(117.0, &[(6.3, f64::NAN)]), "heaters"),
        (chain(f64::INFINITY, &[(6.3, 0.3)]), "supply"),
        (chain(-5.0, &[(6.3, 0.3)]), "supply"),
        (Chain { current: Some(0.0), ..chain(117.0, &[(6.3, 0.3)]) }, "current"),
    ] {
        let wrong = bad.worked().unwrap_err();
        assert!(wrong.field == field && !wrong.mend.is_empty(), "{wrong}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn the_voltages_add_up_and_more_supply_wants_more_resistance(
        supply in 50.0..300.0_f64, more in 1.0..100.0_f64, shunted: bool,
        heaters in prop::collection::vec((3.0..15.0_f64, 0.1..0.6_f64), 1..5),
    ) {
        let of = Chain { shunted, ..chain(supply, &heaters) };
        if let Ok(w) = of.worked() {
            let all: f64 = w.each.iter().map(|e| e.voltage).sum();
            prop_assert!((all + w.current * w.resistor - supply).abs() < 1e-6 * supply);
            for (e, h) in w.each.iter().zip(&heaters) {
                let shunt = e.shunt.map_or(0.0, |s| e.voltage / s);
                prop_assert!((e.current + shunt - w.current).abs() < 1e-9);
                prop_assert!(e.of_rated_when_off.0 < e.voltage / h.0 && e.of_rated_when_off.1 > e.voltage / h.0);
            }
            prop_assert!(w.inrush.0 > w.current && w.inrush.1 > w.inrush.0);
            let next = Chain { supply: supply + more, ..of.clone() }.worked().unwrap();
            prop_assert!(next.resistor > w.resistor);
            sound(&of.answer().unwrap());
        }
    }
}

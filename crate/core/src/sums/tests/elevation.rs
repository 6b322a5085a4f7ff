//! Heater elevation.

use approx::assert_relative_eq;
use proptest::prelude::*;

use super::sound;
use crate::sums::{Cathode, Divider, Elevation, HeaterFeed};

fn cathode(voltage: f64, limit: f64) -> Cathode {
    Cathode { name: format!("at {voltage} V"), voltage, swing: 0.0, limit, limit_from: None }
}

const WANTED: Divider = Divider::Wanted { elevation: None, supply: None, current: 2e-3 };

fn of(cathodes: &[(f64, f64)], divider: Divider) -> Elevation {
    let cathodes = cathodes.iter().map(|(v, l)| cathode(*v, *l)).collect();
    Elevation { heater: 6.3, feed: HeaterFeed::AcMiddle, cathodes, divider }
}

#[test]
fn the_range_is_what_every_cathode_allows() {
    let peak = 6.3 / 2f64.sqrt();
    let two = of(&[(2.0, 90.0), (150.0, 90.0)], WANTED);
    let w = two.worked().unwrap();
    let (low, high) = w.range.unwrap();
    assert_relative_eq!(low, 150.0 - (90.0 - peak), max_relative = 1e-12);
    assert_relative_eq!(high, 2.0 + (90.0 - peak), max_relative = 1e-12);
    assert_relative_eq!(w.elevation.unwrap(), 76.0, max_relative = 1e-12);
    for at in &w.each {
        assert_relative_eq!(at.of_limit, (74.0 + peak) / 90.0, max_relative = 1e-12);
    }
    let answer = two.answer().unwrap();
    sound(&answer);
    assert_relative_eq!(answer.value("cathode 2: at 150 V").unwrap(), 74.0 + peak, max_relative = 1e-12);
    // At its bound a cathode has just its limit.
    let bound =
        of(&[(2.0, 90.0), (150.0, 90.0)], Divider::Wanted { elevation: Some(low), supply: None, current: 2e-3 });
    assert_relative_eq!(bound.worked().unwrap().each[1].of_limit, 1.0, max_relative = 1e-12);
}

#[test]
fn an_end_swings_by_the_whole_peak_and_dc_to_one_side() {
    let one = of(&[(0.0, 90.0)], Divider::Wanted { elevation: Some(50.0), supply: None, current: 2e-3 });
    for (feed, above) in [(HeaterFeed::AcEnd, 50.0 + 6.3 * 2f64.sqrt()), (HeaterFeed::Dc, 56.3)] {
        assert_relative_eq!(
            Elevation { feed, ..one.clone() }.worked().unwrap().each[0].above,
            above,
            max_relative = 1e-12
        );
    }
    let mut swings = one;
    swings.cathodes[0].swing = 30.0;
    let w = swings.worked().unwrap();
    assert_relative_eq!(w.each[0].above, 80.0 + 6.3 / 2f64.sqrt(), max_relative = 1e-12);
}

#[test]
fn cathodes_too_far_apart_have_no_elevation_and_are_named() {
    let far = of(&[(2.0, 90.0), (90.0, 90.0), (250.0, 90.0)], WANTED);
    let w = far.worked().unwrap();
    assert_eq!((w.range, w.elevation, w.each.len()), (None, None, 0));
    // No figure is left but there is an answer that says so.
    let said = far.answer().unwrap().cautions.join(" ");
    assert!(said.contains("at 250 V and at 2 V stand too far apart"), "{said}");
    let alone = of(&[(2.0, 3.0)], WANTED).answer().unwrap().cautions.join(" ");
    assert!(alone.contains("No elevation suits at 2 V"), "{alone}");
}

#[test]
fn dividers_give_their_voltage_current_and_power() {
    let by = |divider| of(&[(2.0, 90.0)], divider);
    let w = by(Divider::Resistors { supply: 300.0, upper: 240e3, lower: 60e3 }).worked().unwrap();
    assert_relative_eq!(w.elevation.unwrap(), 60.0, max_relative = 1e-12);
    let (current, upper, lower) = w.divider.unwrap();
    assert_relative_eq!(current, 1e-3, max_relative = 1e-12);
    assert_relative_eq!(upper, 0.24, max_relative = 1e-12);
    assert_relative_eq!(lower, 0.06, max_relative = 1e-12);
    let wanted = by(Divider::Wanted { elevation: Some(60.0), supply: Some(300.0), current: 2e-3 });
    let (upper, lower) = wanted.worked().unwrap().resistors.unwrap();
    assert_relative_eq!(upper, 120e3, max_relative = 1e-12);
    assert_relative_eq!(lower, 30e3, max_relative = 1e-12);
    let answer = wanted.answer().unwrap();
    sound(&answer);
    // 120 k and 30 k are sold.
    assert_relative_eq!(answer.value("elevation with the nearest resistors").unwrap(), 60.0, max_relative = 1e-9);
    let said = answer.cautions.join(" ");
    assert!(said.contains("More than 200 V") && said.contains("20 kΩ"), "{said}");
}

#[test]
fn a_cold_cathode_is_told_of() {
    let cold = of(&[(150.0, 90.0)], Divider::Wanted { elevation: Some(120.0), supply: None, current: 2e-3 });
    let w = cold.worked().unwrap();
    assert!(w.each[0].of_limit < 1.0 && w.each[0].of_limit_cold > 1.0);
    let said = cold.answer().unwrap().cautions.join(" ");
    assert!(said.contains("beyond its limit until its cathode has warmed up"), "{said}");
}

#[test]
fn what_cannot_be_is_refused_with_a_mend() {
    let wanted = |elevation, supply| Divider::Wanted { elevation, supply, current: 2e-3 };
    for (bad, field) in [
        (of(&[], WANTED), "cathodes"),
        (of(&[(f64::NAN, 90.0)], WANTED), "cathodes"),
        (of(&[(2.0, 0.0)], WANTED), "limit"),
        (of(&[(2.0, 90.0)], wanted(Some(400.0), Some(300.0))), "elevation"),
        (of(&[(2.0, 90.0)], wanted(Some(1e9), None)), "elevation"),
        (of(&[(2.0, 90.0)], wanted(None, Some(0.0))), "supply"),
        (of(&[(2.0, 90.0)], Divider::Wanted { elevation: None, supply: None, current: 0.0 }), "divider-current"),
        (of(&[(2.0, 90.0)], Divider::Resistors { supply: 300.0, upper: 0.0, lower: 1e3 }), "upper"),
        (Elevation { heater: -6.3, ..of(&[(2.0, 90.0)], WANTED) }, "heater"),
    ] {
        let wrong = bad.worked().unwrap_err();
        assert!(wrong.field == field && !wrong.mend.is_empty(), "{wrong}");
    }
}

proptest! {
    #[test]
    fn inside_the_range_every_cathode_is_within_and_outside_one_is_not(
        cathodes in prop::collection::vec((-20.0..200.0_f64, 50.0..250.0_f64), 1..6), feed in 0_usize..3, at in -1.5..1.5_f64,
    ) {
        let feed = [HeaterFeed::AcMiddle, HeaterFeed::AcEnd, HeaterFeed::Dc][feed];
        let of = Elevation { feed, ..of(&cathodes, WANTED) };
        let w = of.worked().unwrap();
        let Some((low, high)) = w.range else {
            prop_assert!(w.elevation.is_none());
            return Ok(());
        };
        prop_assert!(w.each.iter().all(|e| e.of_limit <= 1.0 + 1e-12));
        let elevation = 0.5 * (low + high) + at * 0.5 * (high - low);
        let chosen = Divider::Wanted { elevation: Some(elevation), supply: None, current: 2e-3 };
        let each = Elevation { divider: chosen, ..of }.worked().unwrap().each;
        let within = each.iter().all(|e| e.of_limit <= 1.0);
        prop_assert!(within == (at.abs() <= 1.0) || (at.abs() - 1.0).abs() < 1e-9);
    }
}

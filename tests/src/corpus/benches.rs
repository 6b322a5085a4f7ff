//! Benches as different as people's are.

use sweepbook_core::handbook::Type;
use sweepbook_core::lesson::{Dice, Family, Form, LawChoice, Meter, Order, Range, Resolution, VirtualBench, typical};
use sweepbook_core::sweep::MeterPlace;

use super::Choice;

/// Grid source resistances, ohm, and how often each is met: most benches drive the grid
/// directly or through a stopper.
const RS: [(f64, f64); 5] = [(0.0, 0.42), (1e3, 0.30), (10e3, 0.14), (47e3, 0.07), (100e3, 0.07)];
/// Share of plate families where both layouts are allowed.
const PLATE_FAMILIES: f64 = 0.3;
/// Share of benches with the meter in the cathode lead.
const CATHODE_LEAD: f64 = 0.12;
/// Share of benches that leave out points of too much plate dissipation.
const SPARES_PLATE: f64 = 0.2;
/// Plate noise of a good and of a poor bench for a section of 20 mA, A.
const PLATE_NOISE: (f64, f64) = (0.1e-6, 3e-6);
/// Noise of the grid meter of a good and of a poor bench, A.
const GRID_NOISE: (f64, f64) = (2e-9, 20e-9);
/// Noise in proportion to the reading.
const RELATIVE: (f64, f64) = (2e-4, 3e-3);

/// What a corpus asks of its benches.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Whether grid current is measured.
    pub grid_current: Choice,
    /// Whether plate families are taken.
    pub plate_families: Choice,
}

/// A bench for sweeping a type with this label.
pub fn draw(kind: &Type, wanted: Wanted, dice: &mut Dice) -> Option<VirtualBench> {
    let usual = VirtualBench::usual(kind)?;
    let form = *typical(kind, LawChoice::Strips)?.first()?;
    let top_plate = match usual.plan.first()? {
        Family::Transfer { plates, .. } => *plates.last()?,
        Family::Plate { plate, .. } => plate.to,
    };
    let top_current = form.current(top_plate, 0.0);
    let plate_families = wanted.plate_families.toss(PLATE_FAMILIES, dice);
    let plan = if plate_families { plate_family(&form, top_plate, dice) } else { transfer(&form, top_plate, dice) };

    let scale = (top_current / 20e-3).max(1.0);
    let noise = scale * dice.ratio(PLATE_NOISE.0, PLATE_NOISE.1);
    let resolution = if dice.chance(0.25) {
        let counts = if dice.chance(0.6) { 20_000.0 } else { 2_000.0 };
        Resolution::Counts { counts, least: 2e-4 }
    } else {
        Resolution::Step(step_near(noise * dice.ratio(0.2, 3.0)))
    };
    let plate_meter = Meter {
        noise,
        relative: dice.ratio(RELATIVE.0, RELATIVE.1),
        resolution,
        offset: 0.3 * noise * dice.normal_within(2.0),
        gain: 1.0 + 0.003 * dice.normal_within(2.0),
        range: f64::INFINITY,
    };
    let grid_noise = dice.ratio(GRID_NOISE.0, GRID_NOISE.1);
    let grid_meter = wanted.grid_current.toss(0.5, dice).then(|| Meter {
        noise: grid_noise,
        relative: dice.ratio(RELATIVE.0, RELATIVE.1),
        resolution: Resolution::Step(step_near(grid_noise * dice.ratio(0.3, 2.0))),
        offset: 0.3 * grid_noise * dice.normal_within(2.0),
        gain: 1.0,
        range: 20e-3,
    });
    let mut pick = dice.unit();
    let mut rs = 0.0;
    for (ohm, share) in RS {
        rs = ohm;
        pick -= share;
        if pick < 0.0 {
            break;
        }
    }
    let order = match dice.below(10) {
        0 => Order::Backwards,
        1 => Order::LastFirst,
        2 if !plate_families => Order::ThereAndBack,
        _ => Order::AsPlanned,
    };
    let mut bench = VirtualBench {
        plan,
        order,
        grid_source_resistance: rs,
        meter: if dice.chance(CATHODE_LEAD) { MeterPlace::CathodeLead } else { MeterPlace::PlateLead },
        plate_meter,
        grid_meter,
        grid_gain: 1.0 + 0.001 * dice.normal_within(2.0),
        grid_offset: 0.003 * dice.normal_within(2.0),
        ..usual
    };
    let rated = kind.section(0).and_then(|s| s.ratings.plate_dissipation.as_ref()).map(|v| v.value);
    if dice.chance(SPARES_PLATE) {
        bench.most_watts = rated.map(|w| w * dice.between(1.5, 3.0));
    }
    bench.states.resolution = dice.chance(0.2);
    bench.states.meter = bench.meter == MeterPlace::CathodeLead || dice.chance(0.9);
    bench.states.grid_source_resistance = rs > 0.0 || dice.chance(0.85);
    bench.states.heater = dice.chance(0.9);
    Some(bench)
}

/// The step of 1, 2 or 5 times a power of ten nearest to `x`, A.
pub fn step_near(x: f64) -> f64 {
    let mut best = 1e-9;
    for exponent in -10..-2 {
        for lead in [1.0, 2.0, 5.0] {
            // Parsed, so that it is the decimal's own double.
            let step: f64 = format!("{lead}e{exponent}").parse().unwrap_or(1e-9);
            if (step / x).ln().abs() < (best / x).ln().abs() {
                best = step;
            }
        }
    }
    best
}

/// The next 1, 2, 2.5 or 5 times a power of ten at or above `x`.
fn round_step(x: f64) -> f64 {
    let decade = 10_f64.powf(x.log10().floor());
    let lead = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().find(|m| m * decade >= x * (1.0 - 1e-9)).unwrap_or(10.0);
    format!("{}e{}", lead, decade.log10().round()).parse().unwrap_or(x)
}

fn transfer(form: &Form, top: f64, dice: &mut Dice) -> Vec<Family> {
    let count = *dice.one(&[2, 3, 3, 3, 4, 4, 5, 6]).unwrap_or(&3);
    let lowest = dice.between(0.25, 0.5);
    let marks = if top > 120.0 { 10.0 } else { 5.0 };
    let mut plates: Vec<f64> = (0..count)
        .map(|i| top * (lowest + (1.0 - lowest) * f64::from(i) / f64::from(count - 1)))
        .map(|v| (v / marks).round() * marks)
        .collect();
    plates.dedup();
    // From well past the grid voltage that leaves a ten-thousandth.
    let cutoff = -form.grid_at_share(top, 1e-4);
    let deepest = cutoff * dice.between(1.1, 1.8);
    let step = round_step(deepest / dice.between(18.0, 90.0));
    let from = -(deepest / step).ceil() * step;
    let to = if dice.chance(0.1) { (0.5 / step).floor() * step } else { 0.0 };
    vec![Family::Transfer { plates, grid: Range { from, to, step } }]
}

fn plate_family(form: &Form, top: f64, dice: &mut Dice) -> Vec<Family> {
    let cutoff = -form.grid_at_share(top, 1e-4);
    let deepest = cutoff * dice.between(1.15, 1.6);
    let step = round_step(deepest / dice.between(5.0, 11.0));
    let count = (deepest / step).ceil();
    let grids = Range { from: 0.0, to: -count * step, step }.values();
    let plate_step = round_step(top / dice.between(14.0, 45.0));
    let from = if dice.chance(0.6) { 0.0 } else { plate_step };
    vec![Family::Plate { grids, plate: Range { from, to: top, step: plate_step } }]
}

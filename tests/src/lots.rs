//! Simulated lots, tube by tube through the whole way: law, bench, table, intake, fit.

use rayon::prelude::*;
use sweepbook_core::kin::lot::Member;
use sweepbook_core::lesson::{
    Dice, LawChoice, Meter, Resolution, VirtualBench, VirtualTube, measure, specimen, trace_impurities, typical,
};
use sweepbook_core::{handbook, intake, member_among};

/// Standard deviation within one production run: those between sections of one tube on the
/// virtual bench (`lesson::specimen`), of ln perveance, ln mu and the contact potential in V.
/// What the sections of one tube differ by is a third of it.
pub const RUN: [f64; 3] = [0.02, 0.008, 0.012];
/// See [`RUN`].
pub const BETWEEN_SECTIONS: f64 = 0.3;

/// The type of the lots.
pub const KIND: &str = "6SN7GTB";

/// A lot as tables: a tube for each of `makes`, whose mu and perveance are that many times the
/// type's. `None` only if the handbook lost the type.
pub fn tables(makes: &[f64], choice: LawChoice, seed: u64) -> Option<Vec<String>> {
    let kind = handbook::find(KIND)?;
    let means = typical(kind, choice)?;
    let bench = VirtualBench {
        plate_meter: Meter { noise: 0.5e-6, relative: 5e-4, resolution: Resolution::Step(1e-6), ..Meter::IDEAL },
        ..VirtualBench::usual(kind)?
    };
    let mut dice = Dice::new(seed, "lot");
    let mut tube = |place: usize, make: f64| -> Option<VirtualTube> {
        let own = seed.wrapping_mul(10_007).wrapping_add(place as u64);
        let mut tube = specimen(kind, choice, own)?;
        tube.name = format!("T-{place:02}");
        let run = RUN.map(|sd| sd * dice.normal());
        for (section, mean) in tube.sections.iter_mut().zip(&means) {
            let [p, mu, v] = [0, 1, 2].map(|k| run[k] + BETWEEN_SECTIONS * RUN[k] * dice.normal());
            section.form =
                mean.with_mu_times(make * mu.exp()).with_current_times(make * p.exp()).with_contact_higher(v);
        }
        trace_impurities(&mut tube, &mut Dice::new(own, "lot"));
        Some(tube)
    };
    let table = |(place, make): (usize, &f64)| {
        let tube = tube(place, *make)?;
        Some(intake::write(&measure(&tube, &bench, seed.wrapping_add(place as u64))))
    };
    makes.iter().enumerate().map(table).collect()
}

/// What is compared of such a lot's tubes, read back from the tables.
pub fn members(makes: &[f64], choice: LawChoice, seed: u64) -> Option<Vec<Member>> {
    let member = |(place, text): (usize, &String)| {
        let tube = intake::read(&format!("{place}.csv"), text.as_bytes()).ok()?.pop()?;
        Some(member_among(&tube, &[]))
    };
    tables(makes, choice, seed)?.par_iter().enumerate().map(member).collect()
}

/// Which of two makes each tube is of: 0 for the type's own.
pub fn truth(makes: &[f64]) -> Vec<usize> {
    makes.iter().map(|make| usize::from(*make > 1.0)).collect()
}

/// Forty tubes, every other one of a make whose mu and perveance are 6 % larger.
pub fn two_makes() -> Vec<f64> {
    (0..40).map(|i| if i % 2 == 0 { 1.0 } else { 1.06 }).collect()
}

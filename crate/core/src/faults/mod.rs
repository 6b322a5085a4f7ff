//! The faults, one file each, and what they share.
//!
//! A fault's file holds its explanation (the doc comment of its type, under the
//! fixed [`HEADINGS`]), its thresholds with their source, its rule and its
//! smallest detectable size. Those of the bench are looked at first: a bench
//! that is wrong explains more than a tube that is.

mod explanation;
mod next;
#[cfg(test)]
mod proof;
mod shared;

pub mod bench;

mod cathode_interface;
mod electrode_short;
mod gas;
mod grid_cathode_leakage;
mod grid_emission;
mod heater_cathode_leakage;
mod intermittent;
mod low_emission;
mod no_conduction;
mod no_grid_control;
mod plate_cathode_leakage;
mod plate_grid_leakage;
mod section_mismatch;
mod type_mismatch;
mod uneven_grid;

pub(crate) use cathode_interface::is_severe as interface_is_severe;
pub(crate) use low_emission::below_working as ceiling_is_below_working;
pub(crate) use section_mismatch::BALANCE;
pub(crate) use shared::{INSULATION, SHORT, WORKING_OF_TOP};

pub use cathode_interface::CathodeInterface;
pub use electrode_short::ElectrodeShort;
pub use explanation::{Explanation, HEADINGS, Part};
pub use gas::Gas;
pub use grid_cathode_leakage::GridCathodeLeakage;
pub use grid_emission::GridEmission;
pub use heater_cathode_leakage::HeaterCathodeLeakage;
pub use intermittent::Intermittent;
pub use low_emission::LowEmission;
pub use no_conduction::NoConduction;
pub use no_grid_control::NoGridControl;
pub use plate_cathode_leakage::PlateCathodeLeakage;
pub use plate_grid_leakage::PlateGridLeakage;
pub use section_mismatch::SectionMismatch;
pub use type_mismatch::TypeMismatch;
pub use uneven_grid::UnevenGrid;

use crate::evidence::{Connection, Evidence};
use crate::lesson::{Scene, Sizes};
use crate::numerics::logistic;
use crate::report::{Blind, Finding, Limit, Value};
use crate::sorting::sort_by;

/// What every fault's file declares about itself; made by the macro `fault!`.
pub trait Described {
    /// Name in the report contract, such as `gas`.
    fn name(&self) -> &'static str;
    /// Name in plain words.
    fn title(&self) -> &'static str;
    /// Whether it is the bench's and not the tube's.
    fn is_bench(&self) -> bool;
    /// The doc comment, line by line.
    fn doc(&self) -> &'static [&'static str];
}

/// Under test every fault has to come with its proofs; see `proof.rs`.
#[cfg(not(test))]
pub trait Proved {}
#[cfg(not(test))]
impl<F: Described> Proved for F {}
#[cfg(test)]
use proof::Proved;

/// A fault: how it is recognised and what would be missed of it.
pub trait Fault: Described + Proved + Sync {
    /// Looks for the fault. `found` is what faults before it in the list have
    /// found: evidence that they explain is not counted again.
    fn look(&self, evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Finding>;

    /// The smallest size that this sweep would have shown in every section;
    /// `None` for a fault without a size, or one it would show at no size.
    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value>;

    /// What this sweep cannot show of it; `None` where it would show at any
    /// size that matters.
    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind>;

    /// Builds the fault into a virtual tube on its bench, for lessons, corpora and
    /// tests. `section` counts from 0: one that the tube has not is left alone, and
    /// a fault of the bench takes no notice of it. `size` is in the unit of the
    /// finding's value; a fault without a size takes no notice of it. A bench that
    /// cannot show the fault is not changed into one that can.
    fn inject(&self, scene: &mut Scene, section: usize, size: f64);

    /// The size, in the unit of [`Fault::inject`], of a fault that is so many times as large
    /// as one of `smallest` (an estimate of [`Fault::smallest`]).
    fn times(&self, smallest: f64, times: f64) -> f64 {
        smallest * times
    }

    /// The size that is as large as this one and lies on the side on which limits are stated: of
    /// sizes that a fault may have on either side of none.
    fn on_the_limits_side(&self, size: f64) -> f64 {
        size
    }

    /// The sizes that suit this tube and bench; `None` for a fault without a size.
    fn sizes(&self, scene: &Scene) -> Option<Sizes>;
}

/// Declares a fault's type with its explanation, name and title.
macro_rules! fault {
    ($(#[doc = $doc:literal])+ $kind:ident $name:ident = $contract:literal, $title:literal;) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
        pub struct $name;

        impl $crate::faults::Described for $name {
            fn name(&self) -> &'static str {
                $contract
            }
            fn title(&self) -> &'static str {
                $title
            }
            fn is_bench(&self) -> bool {
                fault!(@is_bench $kind)
            }
            fn doc(&self) -> &'static [&'static str] {
                &[$($doc),+]
            }
        }
    };
    (@is_bench bench) => { true };
    (@is_bench tube) => { false };
}
use fault;

/// Every fault, in the order in which they are looked for: the bench's first,
/// then what leaves no curve to measure, then paths, then the cathode, and last
/// what only compares.
pub const ALL: [&dyn Fault; 23] = [
    &bench::SwappedColumns,
    &bench::CurrentLimit,
    &bench::SupplySag,
    &bench::WarmUpDrift,
    &bench::CoarseResolution,
    &bench::Oscillation,
    &bench::ZeroOffset,
    &bench::ShortRange,
    &NoConduction,
    &ElectrodeShort,
    &NoGridControl,
    &Intermittent,
    &PlateGridLeakage,
    &PlateCathodeLeakage,
    &GridCathodeLeakage,
    &Gas,
    &GridEmission,
    &HeaterCathodeLeakage,
    &LowEmission,
    &CathodeInterface,
    &UnevenGrid,
    &TypeMismatch,
    &SectionMismatch,
];

/// Faults that speak of the tube as a whole; others name a section or are the bench's.
pub(crate) const OF_THE_TUBE: [&str; 3] = ["section-mismatch", "type-mismatch", "heater-cathode-leakage"];

/// Faults of a grid: a diode has none.
const OF_A_GRID: [&str; 8] = [
    "plate-grid-leakage",
    "grid-cathode-leakage",
    "gas",
    "grid-emission",
    "no-grid-control",
    "uneven-grid",
    "type-mismatch",
    "oscillation",
];

/// The faults that the tube at hand can have.
fn possible<'e>(evidence: &'e Evidence<'_>) -> impl Iterator<Item = &'static dyn Fault> + 'e {
    let diode =
        !evidence.sections.is_empty() && evidence.sections.iter().all(|s| s.drive.connection == Connection::Diode);
    ALL.into_iter().filter(move |f| !(diode && OF_A_GRID.contains(&f.name())))
}

/// Looks for every fault; surest finding first.
pub fn look(evidence: &Evidence<'_>) -> Vec<Finding> {
    /// Findings less likely than this are not worth a reader's time.
    const LEAST: f64 = 0.05;
    let mut found: Vec<Finding> = Vec::new();
    for fault in possible(evidence) {
        let new = fault.look(evidence, &found);
        found.extend(new.into_iter().filter(|f| f.confidence >= LEAST));
        // A table that says something else than was measured shows nothing more.
        if found.iter().any(|f| f.fault == "swapped-columns" && f.confidence > 0.5) {
            break;
        }
    }
    sort_by(&mut found, |a, b| b.confidence.total_cmp(&a.confidence));
    for f in &mut found {
        f.confidence = stated(f.confidence);
    }
    found
}

/// A probability among the causes that were weighed as it is stated: calibrated, in whole
/// percent, as no calibration bears out more, and never nearer to certainty than what
/// nobody thought of allows.
fn stated(probability: f64) -> f64 {
    /// Log-odds by which the weighing is too sure of itself. Of 1600 development tubes
    /// under four laws that are not fitted, findings of 0.50 to 0.60 are true in 39 of 100,
    /// of 0.40 to 0.50 in 25 (seeds 5000 and 6000 of the cross-check, see DEVELOPERS.md).
    const TOO_SURE: f64 = 0.2;
    /// Most that a sweep alone makes sure.
    const MOST: f64 = 0.98;
    let p = probability.clamp(1e-9, 1.0 - 1e-9);
    let calibrated = logistic(libm::log(p / (1.0 - p)) - TOO_SURE);
    (100.0 * calibrated.min(MOST)).round() / 100.0
}

/// What the sweep cannot show, leaving out what was found.
pub fn blind(evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Blind> {
    let known = |name: &str| found.iter().any(|f| f.fault == name && f.confidence >= 0.5);
    possible(evidence).filter(|f| !known(f.name())).filter_map(|f| f.blind(evidence)).collect()
}

/// The smallest size of each fault that this sweep would have shown, leaving out
/// what was found.
pub fn limits(evidence: &Evidence<'_>, found: &[Finding]) -> Vec<Limit> {
    let known = |name: &str| found.iter().any(|f| f.fault == name && f.confidence >= 0.5);
    let limit = |f: &'static dyn Fault| Some(Limit { fault: f.name().into(), smallest: f.smallest(evidence)? });
    possible(evidence).filter(|f| !known(f.name())).filter_map(limit).collect()
}

/// The explanation of every fault, in the order in which they are looked for.
pub fn explanations() -> Vec<Explanation> {
    ALL.iter().map(|f| Explanation::from_doc(f.name(), f.title(), f.is_bench(), f.doc())).collect()
}

/// A fault by its name in the contract.
pub fn named(name: &str) -> Option<&'static dyn Fault> {
    ALL.iter().copied().find(|f| f.name() == name)
}

/// The explanation of one fault by its name in the contract.
pub fn explain(name: &str) -> Option<Explanation> {
    explanations().into_iter().find(|e| e.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_explanation_has_its_parts_in_order_and_each_says_something() {
        for e in explanations() {
            let headings: Vec<&str> = e.parts.iter().map(|p| p.heading.as_str()).collect();
            assert_eq!(headings, HEADINGS, "{}", e.name);
            for part in &e.parts {
                assert!(part.paragraphs.iter().map(String::len).sum::<usize>() > 20, "{}: {}", e.name, part.heading);
            }
        }
    }

    #[test]
    fn names_are_those_of_the_contract_and_unique() {
        let names: std::collections::BTreeSet<&str> = ALL.iter().map(|f| f.name()).collect();
        assert_eq!(names.len(), ALL.len());
        assert!(names.iter().all(|n| n.chars().all(|c| c.is_ascii_lowercase() || c == '-')));
    }

    #[test]
    fn bench_faults_come_first() {
        let first_tube = ALL.iter().position(|f| !f.is_bench()).unwrap();
        assert!(ALL[first_tube..].iter().all(|f| !f.is_bench()));
    }
}

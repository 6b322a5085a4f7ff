//! What a check at one operating point reads of a virtual tube: current and slope at the
//! handbook's typical point, as a quick tester takes them.

use serde::Serialize;

use super::circuit::Drive;
use super::scene::Scene;
use crate::handbook;

/// How far plate current and transconductance may be from the sheet and still pass: the
/// spread of consumer types is ±30 % in current (H. M. Knoll, radiomuseum.org forum, thread
/// 383722), and makers' end of life is at 65 to 80 % of the sheet's slope (from memory).
const CURRENT: f64 = 0.30;
const SLOPE: f64 = 0.20;
/// Grid swing for the slope, as a share of Ia/gm: small enough to be one.
const SWING: f64 = 0.02;
/// Points after which everything is warm.
const WARM: f64 = 100.0;

/// What is read of one section.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OnePoint {
    /// The section's name.
    pub section: String,
    /// Plate and grid voltage, V.
    pub at: (f64, f64),
    /// Plate current, A, and over the sheet's.
    pub ia: (f64, f64),
    /// Transconductance, S, and over the sheet's.
    pub gm: (f64, f64),
    /// Whether both are within the usual window.
    pub passes: bool,
}

/// The check of each section, with sound meters of its own and the grid driven directly;
/// empty where the handbook has no complete point of the type.
pub fn one_point(scene: &Scene) -> Vec<OnePoint> {
    let Some(kind) = handbook::find(&scene.tube.really) else { return Vec::new() };
    let of = |(i, section): (usize, &super::tube::VirtualSection)| {
        let points = &kind.section(i)?.points;
        let point = points.iter().find(|p| p.ia.is_some() && p.gm.is_some() && p.vg2.is_none())?;
        let (ia, gm) = (point.ia.as_ref()?.value, point.gm.as_ref()?.value);
        let at = |vs: f64| {
            section.leads(&Drive { va: point.va, vs, points: WARM, heater: scene.bench.heater, ..Drive::default() }).ia
        };
        let swing = SWING * ia / gm;
        let read = (at(point.vg), (at(point.vg + swing) - at(point.vg - swing)) / (2.0 * swing));
        let (of_ia, of_gm) = (read.0 / ia, read.1 / gm);
        Some(OnePoint {
            section: section.name.clone(),
            at: (point.va, point.vg),
            ia: (read.0, of_ia),
            gm: (read.1, of_gm),
            passes: (of_ia - 1.0).abs() <= CURRENT && (of_gm - 1.0).abs() <= SLOPE,
        })
    };
    scene.tube.sections.iter().enumerate().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::{Fault, LowEmission, PlateCathodeLeakage};
    use crate::lesson::LawChoice;

    #[test]
    fn a_leak_passes_where_the_curves_show_it_and_a_gross_loss_does_not() {
        let kind = handbook::find("12AU7").unwrap();
        let sound = Scene::usual(kind, LawChoice::Dempwolf, 3).unwrap();
        let read = one_point(&sound);
        assert_eq!(read.len(), 2);
        let mut leaky = sound.clone();
        PlateCathodeLeakage.inject(&mut leaky, 0, 2e6);
        assert!((one_point(&leaky)[0].ia.0 - read[0].ia.0 - 250.0 / 2e6).abs() < 1e-6);
        let mut worn = sound.clone();
        LowEmission.inject(&mut worn, 1, 0.3 * read[1].ia.0);
        let check = one_point(&worn);
        assert_eq!((check[0].passes, check[1].passes), (read[0].passes, false));
    }
}

//! Faults that are sized by something else than what the bench sees: the difference of two
//! sections, the share of disturbed readings, how unlike two types are.

use serde_json::json;
use sweepbook_core::handbook::{self, Type};
use sweepbook_core::lesson::{Dice, Intermittent, VirtualTube, measure, mismatch};

use super::kinds::{Built, Level, Work, set};

/// Sections that differ by perveance, amplification factor or contact potential, by 15 to
/// 60 % of the plate current in the working region: 10 % is matched (reference 3.6).
pub(super) fn section_mismatch(level: Level, work: &mut Work, section: usize, dice: &mut Dice) -> Option<Built> {
    if work.scene.tube.sections.len() < 2 {
        return None;
    }
    let (low, high) = level.of([(0.45, 0.6), (0.26, 0.36), (0.15, 0.2)]);
    let wanted = dice.between(low, high);
    let way = dice.below(10);
    let put = |w: &mut Work, amount: f64| {
        set(w, section, |d| match way {
            0..=6 => d.perveance = Some(1.0 - amount),
            7 | 8 => d.contact = -4.0 * amount,
            _ => d.mu = Some(1.0 + amount),
        });
    };
    let (mut low, mut high) = (0.0, 0.8);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        let mut tried = work.clone();
        put(&mut tried, middle);
        if mismatch(work.kind, &tried.scene.tube)? < wanted { low = middle } else { high = middle }
    }
    put(work, high);
    let reached = mismatch(work.kind, &work.scene.tube)?;
    if (reached / wanted - 1.0).abs() > 0.1 {
        return None;
    }
    let value = match way {
        0..=6 => json!({ "factor": 1.0 - high }),
        7 | 8 => json!({ "volt": -4.0 * high }),
        _ => json!({ "mu_factor": 1.0 + high }),
    };
    Some(Built { section: Some(section), value })
}

/// Fewest readings that have to be disturbed visibly.
const DISTURBED: usize = 3;

pub(super) fn intermittent(level: Level, work: &mut Work, section: usize, dice: &mut Dice) -> Option<Built> {
    let (low, high) = level.of([(0.09, 0.14), (0.05, 0.08), (0.025, 0.035)]);
    let share = dice.between(low, high);
    let factor = match dice.below(10) {
        0..=5 => 0.0,
        6 | 7 => dice.between(0.3, 0.7),
        _ => dice.between(1.4, 2.5),
    };
    let run = dice.between(1.0, 3.0);
    set(work, section, |d| d.intermittent = Some(Intermittent { share, run, factor }));
    for _ in 0..20 {
        let loud = measure(&work.scene.tube, &work.scene.bench, work.seed);
        let still = measure(&quiet_tube(&work.scene.tube, section), &work.scene.bench, work.seed);
        let (a, b) = (&loud.sections.get(section)?.points, &still.sections.get(section)?.points);
        if a.len() == b.len() {
            let meter = &work.scene.bench.plate_meter;
            let clear = |i: &usize| {
                let unknown = 10.0 * meter.noise + 0.05 * b.ia[*i].abs() + meter.step_at(b.ia[*i]).unwrap_or(0.0);
                (a.ia[*i] - b.ia[*i]).abs() > unknown
            };
            if (0..a.len()).filter(clear).count() >= DISTURBED {
                return Some(Built { section: Some(section), value: json!({ "share": share }) });
            }
        }
        work.seed = dice.seed();
    }
    None
}

fn quiet_tube(tube: &VirtualTube, section: usize) -> VirtualTube {
    let mut quiet = tube.clone();
    if let Some(s) = quiet.sections.get_mut(section) {
        s.defects.intermittent = None;
    }
    quiet
}

/// Two types that fit the same socket, of which one is sold or mistaken for the other:
/// the one it is, given the one on the label; by level, how unlike they are.
pub fn mistaken_for(label: &Type, level: Level, dice: &mut Dice) -> Option<&'static Type> {
    const SOCKETS: [&[&str]; 3] =
        [&["12AX7", "12AT7", "12AU7", "12AY7", "5751", "12BH7A"], &["6SN7GTB", "6SL7GT"], &["6DJ8", "6N1P", "6CG7"]];
    let mu = |t: &Type| t.section(0)?.points.iter().find_map(|p| p.mu.as_ref().map(|v| v.value));
    let own = mu(label)?;
    let (low, high) = level.of([(1.9, 20.0), (1.5, 3.0), (1.3, 1.9)]);
    let socket = SOCKETS.iter().find(|s| s.contains(&label.name.as_str()))?;
    let fits: Vec<&'static Type> = socket
        .iter()
        .filter_map(|name| handbook::find(name))
        .filter(|t| mu(t).is_some_and(|m| (low..high).contains(&(m / own).max(own / m))))
        .collect();
    dice.one(&fits).copied()
}

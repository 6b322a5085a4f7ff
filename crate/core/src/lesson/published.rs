//! The mean law of a type, in each form: a published set where there is one, else the
//! form brought to the type's handbook point.

use serde::{Deserialize, Serialize};

use super::form::{Form, THERMAL};
use super::maths::root;
use crate::handbook;

/// Which form a virtual tube obeys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LawChoice {
    /// Koren 1996 with a contact potential.
    Koren,
    /// Cohen & Hélie 2010.
    CohenHelie,
    /// Dempwolf & Zölzer 2011.
    Dempwolf,
    /// Rydel 1995.
    Rydel,
    /// Child & Langmuir's 3/2 power with an exponential tail.
    ChildLangmuir,
    /// 3/2 powers of many strips under an uneven grid.
    Strips,
}

impl LawChoice {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Koren, Self::CohenHelie, Self::Dempwolf, Self::Rydel, Self::ChildLangmuir, Self::Strips];

    /// Its name in truth files and on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Koren => "koren",
            Self::CohenHelie => "cohen-helie",
            Self::Dempwolf => "dempwolf",
            Self::Rydel => "rydel",
            Self::ChildLangmuir => "child-langmuir",
            Self::Strips => "strips",
        }
    }

    /// The form of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|l| l.name() == name)
    }
}

/// Dempwolf & Zölzer's three 12AX7 specimens (DAFx-11; constants as published circuit
/// models have them; for the third these differ and the majority is taken).
pub(super) const DEMPWOLF_12AX7: [Form; 3] = [
    Form::Dempwolf { mu: 103.2, g: 2.242e-3, gamma: 1.26, c: 3.40, phi: 0.0 },
    Form::Dempwolf { mu: 100.2, g: 2.173e-3, gamma: 1.28, c: 3.19, phi: 0.0 },
    Form::Dempwolf { mu: 86.9, g: 1.371e-3, gamma: 1.349, c: 4.56, phi: 0.0 },
];

/// A published set of this form and type, other than those of the handbook.
fn published(kind: &str, choice: LawChoice) -> Option<Form> {
    // Leach's form is K·(Va + mu·Vg + V0)^1.5; sets as seen in openly circulated libraries.
    let leach = |mu: f64, k: f64, v0: f64| Form::ChildLangmuir {
        mu,
        p: k * mu * mu.sqrt(),
        phi: v0 / mu,
        tail: (TAIL_SHARE * 250.0 / mu).max(THERMAL),
    };
    Some(match (choice, kind) {
        // Cohen & Hélie 2010, as in openly licensed code (BSD).
        (LawChoice::CohenHelie, "12AX7") => {
            Form::Koren { mu: 105.0, ex: 1.277, kg: 1335.0, kp: 578.2, kvb: 50.0, kvb2: 18.8, vct: 0.378 }
        }
        (LawChoice::Dempwolf, "12AX7") => DEMPWOLF_12AX7[0],
        // Rydel's sets, as seen in the model library of his program (EXCEM).
        (LawChoice::Rydel, "E88CC" | "6922") => Form::Rydel { mu: 29.3, g: 4.6e-3, b: 34.9, vc: 11.8, k: 6.3 },
        (LawChoice::Rydel, "6CG7") => Form::Rydel { mu: 16.8, g: 0.687e-3, b: 34.0, vc: 7.0, k: 0.0 },
        (LawChoice::ChildLangmuir, "12AX7") => leach(95.43, 1.147e-6, 45.0),
        (LawChoice::ChildLangmuir, "12AU7") => leach(18.28, 10.88e-6, 0.0),
        (LawChoice::ChildLangmuir, "6SN7GTB") => leach(20.43, 10.89e-6, 0.0),
        (LawChoice::ChildLangmuir, "300B") => leach(3.87, 119.5e-6, 0.0),
        _ => return None,
    })
}

/// Share of Va/mu that is one e-fold of the tail in a Child–Langmuir law: makes the tail
/// index (Va/mu)·dlnI/dVg 10, in the middle of what published fits give (3 to 28,
/// reference 1.2).
const TAIL_SHARE: f64 = 0.1;
/// Exponent of the laws that have one free, in the middle of published fits (1.2 to 1.6).
const EXPONENT: f64 = 1.35;
/// Spread of ln(1/mu) over the cathode of the mean tube: gives tail indices of 5 to 15.
/// Our own choice, no source.
const SPREAD: f64 = 0.10;
/// Largest ex·kp of a Koren set, V: at 100 V its tail then falls as steeply as a hot
/// cathode allows, 1/0.088 V. Published sets are not fitted to tails, and the 6SL7GT's would be
/// twice as steep; the working region does not notice.
const SHARPEST: f64 = 100.0 / THERMAL;
/// Rydel's bend over the cutoff at the handbook point's plate voltage: 4.0 in his 6922 (at
/// 250 V) and 2.3 in his 6CG7.
const RYDEL_BEND: f64 = 3.0;

/// The form that is brought to a handbook point at plate voltage `va`.
fn template(choice: LawChoice, va: f64, mu: f64) -> Form {
    let base = va / mu;
    match choice {
        // The tail index ex·kp/mu is 8: between the 3 to 13 of most published sets.
        LawChoice::Koren => {
            Form::Koren { mu, ex: EXPONENT, kg: 1e3, kp: 8.0 * mu / EXPONENT, kvb: 300.0, kvb2: 0.0, vct: 0.3 }
        }
        LawChoice::CohenHelie => {
            Form::Koren { mu, ex: 1.277, kg: 1e3, kp: 8.0 * mu / 1.277, kvb: 50.0, kvb2: 18.8, vct: 0.378 }
        }
        LawChoice::Dempwolf => Form::Dempwolf { mu, g: 1e-3, gamma: EXPONENT, c: 8.0 / (base * EXPONENT), phi: 0.3 },
        LawChoice::Rydel => Form::Rydel { mu, g: 1e-3, b: RYDEL_BEND * base, vc: 0.3 * mu, k: 5.0 },
        LawChoice::ChildLangmuir => {
            Form::ChildLangmuir { mu, p: 1e-3, phi: 0.3, tail: (TAIL_SHARE * base).max(THERMAL) }
        }
        LawChoice::Strips => Form::Strips { mu, p: 1e-3, phi: 0.3, spread: SPREAD },
    }
}

/// The mean law of a triode section of a type, in the form chosen; `None` where the
/// handbook has neither a set nor a complete point.
pub(super) fn mean_law(kind: &str, section: &handbook::Section, choice: LawChoice) -> Option<Form> {
    if let Some(form) = published(kind, choice) {
        return Some(form);
    }
    if choice == LawChoice::Koren
        && let Some(handbook::Form::Triode { mu, ex, kg1, kp, kvb, vct }) = section.law.as_ref().map(|l| l.form)
    {
        let kp = kp.min(SHARPEST / ex);
        return Some(Form::Koren { mu, ex, kg: kg1, kp, kvb, kvb2: 0.0, vct });
    }
    section.points.iter().find_map(Target::of).and_then(|t| t.reach(template(choice, t.va, t.mu)))
}

/// An operating point to go through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Target {
    pub(super) va: f64,
    pub(super) vg: f64,
    pub(super) ia: f64,
    pub(super) gm: f64,
    pub(super) mu: f64,
}

/// Rounds of adjusting mu, contact potential and perveance in turn.
const ROUNDS: usize = 25;
/// How close a law has to come to its point.
const CLOSE: f64 = 1e-4;

impl Target {
    pub(super) fn of(point: &handbook::Point) -> Option<Self> {
        let (ia, gm) = (point.ia.as_ref()?.value, point.gm.as_ref()?.value);
        let mu = match (&point.mu, &point.rp) {
            (Some(mu), _) => mu.value,
            (None, Some(rp)) => gm * rp.value,
            (None, None) => return None,
        };
        let whole = point.vg2.is_none() && ia > 0.0 && gm > 0.0 && mu > 1.0;
        whole.then_some(Self { va: point.va, vg: point.vg, ia, gm, mu })
    }

    /// `form` with mu, contact potential and perveance such that it goes through this
    /// point with its transconductance and amplification factor.
    fn reach(&self, mut form: Form) -> Option<Form> {
        for _ in 0..ROUNDS {
            let (gm, gp) = form.slopes(self.va, self.vg);
            if !(gm > 0.0 && gp > 0.0) {
                form = form.with_contact_higher(0.5);
                continue;
            }
            form = form.with_mu_times(self.mu / (gm / gp));
            // The relative slope falls as the contact potential rises.
            let steepness = |shift: f64| {
                let f = form.with_contact_higher(shift);
                f.slopes(self.va, self.vg).0 / f.current(self.va, self.vg) - self.gm / self.ia
            };
            let reach = 0.5 * self.ia / self.gm + 0.05 * self.va / self.mu;
            form = form.with_contact_higher(root(-reach, 2.0 * reach, steepness));
            form = form.with_current_times(self.ia / form.current(self.va, self.vg));
        }
        let (gm, gp) = form.slopes(self.va, self.vg);
        let off = |have: f64, want: f64| (have / want - 1.0).abs();
        let close = off(form.current(self.va, self.vg), self.ia) < CLOSE
            && off(gm, self.gm) < CLOSE
            && off(gm / gp, self.mu) < CLOSE;
        close.then_some(form)
    }
}

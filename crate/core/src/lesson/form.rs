//! Space-charge laws of healthy sections, in the forms that were published.
//!
//! The diagnosis fits a law of its own ([`crate::law`]), wide enough to hold some of these
//! but not all: a sweep made here is not, as a rule, explained perfectly by it. References
//! are to the published papers; the formulas were read in openly licensed code (MIT, BSD)
//! and model files, as [`crate::handbook`] says of its sets.

use serde::Serialize;

use super::maths::{exp, pow, softplus};

/// Volt for one e-fold of a retarded current, kT/e at 1020 K: the temperature of oxide
/// cathodes (Metson, Proc. IEE 105 C (1958) 374). Nothing thermal is steeper.
pub const THERMAL: f64 = 0.088;
/// Plate voltage below which the contact potential of a law of ours stops lifting the
/// plate current, V: Koren's √KVB is 17 V in most published sets.
const CONTACT_HOLD: f64 = 20.0;
/// Plate voltage that collects all but 1/e of the electrons, V. Below a few volts the
/// plate turns electrons back; a law without this would pass current at 0 V. The size is
/// ours, no source.
const COLLECT: f64 = 2.0;
/// Smallest current factor that Rydel's first bracket may fall to; it would change sign
/// below a grid voltage of −B.
const RYDEL_LEAST: f64 = 0.02;

/// Nodes and weights of Gauss and Hermite's rule for the mean over a standard normal
/// variable, 9 points (computed with numpy 1.x `hermegauss`, weights normalised).
const NORMAL: [(f64, f64); 9] = [
    (-4.512745863399783, 2.2345844007746607e-5),
    (-3.20542900285647, 0.0027891413212317692),
    (-2.07684797867783, 0.04991640676521782),
    (-1.0232556637891326, 0.24409750289493953),
    (0.0, 0.406_349_206_349_206_35),
    (1.0232556637891326, 0.24409750289493953),
    (2.07684797867783, 0.04991640676521782),
    (3.20542900285647, 0.0027891413212317692),
    (4.512745863399783, 2.2345844007746607e-5),
];

/// A published form with its constants. Volt and ampere.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// N. Koren, Glass Audio 8/5 (1996) 18, with the contact potential of its later
    /// revision: `E = (Va/kp)·ln(1 + exp(kp·(1/mu + (Vg+vct)/√(kvb+Va²))))`, `I = 2·E^ex/kg`.
    Koren {
        /// Amplification factor.
        mu: f64,
        /// Exponent.
        ex: f64,
        /// Inverse perveance, V^ex/A.
        kg: f64,
        /// Sharpness of the knee.
        kp: f64,
        /// Softening at low plate voltage, V².
        kvb: f64,
        /// The same in proportion to the plate voltage, V: Cohen & Hélie, AES 129th
        /// Convention (2010) and DAFx-10, who put `kvb + kvb2·Va + Va²` under the root.
        kvb2: f64,
        /// Contact potential, V.
        vct: f64,
    },
    /// K. Dempwolf & U. Zölzer, DAFx-11 (2011) 257: the cathode current is
    /// `I = g·(ln(1 + exp(c·(Va/mu + Vg + phi)))/c)^gamma`; `phi` is 0 in the paper.
    Dempwolf {
        /// Amplification factor.
        mu: f64,
        /// Perveance, A/V^gamma.
        g: f64,
        /// Exponent.
        gamma: f64,
        /// Sharpness of the knee, 1/V.
        c: f64,
        /// Contact potential, V; 0 in the paper.
        phi: f64,
    },
    /// C. Rydel (AES 98th Convention, 1995; from memory):
    /// `I = g·(1 + Vg/(b − Vg/1000))·(Vg + (Va+vc)/mu)^1.5 · Va/(Va+k)`. It ends sharply;
    /// the retarded current at [`THERMAL`] below is ours.
    Rydel {
        /// Amplification factor.
        mu: f64,
        /// Perveance, A/V^1.5.
        g: f64,
        /// Grid voltage scale of the bend, V.
        b: f64,
        /// Contact potential at the plate, V.
        vc: f64,
        /// Plate voltage of half collection, V; 0 in the first form.
        k: f64,
    },
    /// Child and Langmuir's 3/2 power with a contact potential (the form of W. M. Leach,
    /// JAES 43 (1995) 117; volume and page from memory), joined with equal slope to an
    /// exponential tail of `tail` volt an e-fold.
    ChildLangmuir {
        /// Amplification factor.
        mu: f64,
        /// Perveance, A/V^1.5, against grid volts.
        p: f64,
        /// Contact potential, V.
        phi: f64,
        /// Volt an e-fold in the tail.
        tail: f64,
    },
    /// A law of this project: no grid is perfectly even, so the 3/2 powers of many strips
    /// of cathode add up, each with its own amplification factor, 1/mu spread log-normally
    /// by `spread` (its tail is on the coarse side), and each ending in the retarded
    /// current of a hot cathode ([`THERMAL`]).
    Strips {
        /// Median amplification factor.
        mu: f64,
        /// Perveance, A/V^1.5, against grid volts.
        p: f64,
        /// Contact potential, V.
        phi: f64,
        /// Standard deviation of ln(1/mu) over the cathode.
        spread: f64,
    },
}

impl Form {
    /// Current in ampere at these voltages against the cathode; 0 with no plate voltage.
    pub fn current(&self, va: f64, vg: f64) -> f64 {
        if va <= 0.0 {
            return 0.0;
        }
        match *self {
            Self::Koren { mu, ex, kg, kp, kvb, kvb2, vct } => {
                let root = libm::sqrt(kvb + kvb2 * va + va * va);
                let e = va / kp * softplus(kp * (1.0 / mu + (vg + vct) / root));
                2.0 * pow(e, ex) / kg
            }
            Self::Dempwolf { mu, g, gamma, c, phi } => {
                collected(va) * g * pow(softplus(c * (va / mu + vg + held(phi, va))) / c, gamma)
            }
            Self::Rydel { mu, g, b, vc, k } => {
                let bend = (1.0 + vg / (b - vg / 1000.0)).max(RYDEL_LEAST);
                let e = vg + (va + held(vc, va)) / mu;
                collected(va) * g * bend * three_halves(e, THERMAL) * va / (va + k)
            }
            Self::ChildLangmuir { mu, p, phi, tail } => {
                collected(va) * p * three_halves(vg + va / mu + held(phi, va), tail)
            }
            Self::Strips { mu, p, phi, spread } => {
                let phi = held(phi, va);
                let strip =
                    |&(z, weight): &(f64, f64)| weight * three_halves(vg + va / mu * exp(spread * z) + phi, THERMAL);
                collected(va) * p * NORMAL.iter().map(strip).sum::<f64>()
            }
        }
    }

    /// Whether the current is the cathode's, of which the grid takes its part, and not
    /// the plate's alone.
    pub fn is_cathode_current(&self) -> bool {
        matches!(self, Self::Dempwolf { .. } | Self::ChildLangmuir { .. } | Self::Strips { .. })
    }

    /// Transconductance, S, and plate conductance 1/rp, S, by central differences.
    pub fn slopes(&self, va: f64, vg: f64) -> (f64, f64) {
        let (hg, ha) = (1e-4 * vg.abs().max(0.1), 1e-5 * va.abs().max(1.0));
        (
            (self.current(va, vg + hg) - self.current(va, vg - hg)) / (2.0 * hg),
            (self.current(va + ha, vg) - self.current(va - ha, vg)) / (2.0 * ha),
        )
    }

    /// Grid voltage at which a section at `va` carries `share` of what it does at 0 V, V.
    pub fn grid_at_share(&self, va: f64, share: f64) -> f64 {
        let target = share * self.current(va, 0.0);
        let (mut low, mut high) = (-6.0 * va / self.mu(), 0.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if self.current(va, middle) < target { low = middle } else { high = middle }
        }
        high
    }

    /// The constant that stands for the amplification factor.
    pub fn mu(&self) -> f64 {
        match *self {
            Self::Koren { mu, .. }
            | Self::Dempwolf { mu, .. }
            | Self::Rydel { mu, .. }
            | Self::ChildLangmuir { mu, .. }
            | Self::Strips { mu, .. } => mu,
        }
    }

    /// The same law with its amplification factor times `factor`.
    #[must_use]
    pub fn with_mu_times(mut self, factor: f64) -> Self {
        match &mut self {
            Self::Koren { mu, .. }
            | Self::Dempwolf { mu, .. }
            | Self::Rydel { mu, .. }
            | Self::ChildLangmuir { mu, .. }
            | Self::Strips { mu, .. } => *mu *= factor,
        }
        self
    }

    /// The same law with its current times `factor`.
    #[must_use]
    pub fn with_current_times(mut self, factor: f64) -> Self {
        match &mut self {
            Self::Koren { kg, .. } => *kg /= factor,
            Self::Dempwolf { g, .. } | Self::Rydel { g, .. } => *g *= factor,
            Self::ChildLangmuir { p, .. } | Self::Strips { p, .. } => *p *= factor,
        }
        self
    }

    /// The same law with its contact potential higher by `volt` (grid volts).
    #[must_use]
    pub fn with_contact_higher(mut self, volt: f64) -> Self {
        match &mut self {
            Self::Koren { vct, .. } => *vct += volt,
            Self::Dempwolf { phi, .. } | Self::ChildLangmuir { phi, .. } | Self::Strips { phi, .. } => *phi += volt,
            Self::Rydel { vc, mu, .. } => *vc += volt * *mu,
        }
        self
    }

    /// The same law with its bend at cutoff wider by `factor`. Rydel's has no such constant.
    #[must_use]
    pub fn with_tail_times(mut self, factor: f64) -> Self {
        match &mut self {
            Self::Koren { kp, .. } => *kp /= factor,
            Self::Dempwolf { c, .. } => *c /= factor,
            Self::Rydel { .. } => {}
            Self::ChildLangmuir { tail, .. } => *tail = (*tail * factor).max(THERMAL),
            Self::Strips { spread, .. } => *spread *= factor,
        }
        self
    }
}

/// The 3/2 power, below 1.5·`tail` joined with equal slope to e^(E/`tail`).
fn three_halves(e: f64, tail: f64) -> f64 {
    let joint = 1.5 * tail;
    if e >= joint { e * libm::sqrt(e) } else { joint * libm::sqrt(joint) * exp((e - joint) / tail) }
}

/// A contact potential as far as a plate at `va` lets it lift the current. One that
/// lowers the current does so everywhere.
fn held(phi: f64, va: f64) -> f64 {
    if phi <= 0.0 { phi } else { phi * va / libm::hypot(va, CONTACT_HOLD) }
}

/// Share of the electrons that a plate at `va` collects.
fn collected(va: f64) -> f64 {
    1.0 - exp(-va / COLLECT)
}

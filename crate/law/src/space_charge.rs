//! One law wide enough to hold the published ones.
//!
//! ```text
//! Ia = P · E^x,   E = w · ln(1 + exp(u/w)),   u = Vg' + φ + Va/mu
//! w  = w0 + w1·Va,   Vg' = Vg · Va/√(Va² + L·Va + K)
//! ```
//!
//! With w0 = 0 and L = 0 it is Koren's triode of 1996 (there kP = 1/w1, kVB = K),
//! with L Cohen's and Hélie's of 2010 but for a detail of E (there kVB2 = L), with
//! w1 = 0 and K = 0 the cathode current of Dempwolf and Zölzer (DAFx-11; there
//! C = 1/w0), with w → 0 the law of Child and Langmuir with a contact potential
//! (reference sections 1.1, 1.2, 1.6). It is this project's own combination; what
//! it is good for was measured (DEVELOPERS.md).

use fearless_simd::{Simd, dispatch, prelude::*};
use serde::{Deserialize, Serialize};

use super::lanes::{Lanes, at_least, exp, level, ln, ln_1p_of_share};

/// The law's parameters.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SpaceCharge {
    /// ln of the perveance P, P in A/Vˣ.
    pub ln_p: f64,
    /// Amplification factor of the ideal grid.
    pub mu: f64,
    /// Contact potential and initial velocities together, V, added to the grid voltage.
    pub phi: f64,
    /// Exponent.
    pub x: f64,
    /// Width of the bend at cutoff that does not depend on the plate voltage, V.
    pub w0: f64,
    /// Width of the bend at cutoff per volt of plate voltage: an uneven grid.
    pub w1: f64,
    /// Square of the plate voltage below which the grid loses its hold, V².
    pub kvb: f64,
    /// The same in proportion to the plate voltage, V.
    pub kvl: f64,
}

/// Current and slopes at a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slopes {
    /// Plate current, A.
    pub ia: f64,
    /// Transconductance dIa/dVg, S.
    pub gm: f64,
    /// Plate conductance dIa/dVa = 1/rp, S.
    pub gp: f64,
}

impl Slopes {
    /// Amplification factor gm·rp.
    pub fn mu(&self) -> f64 {
        self.gm / self.gp
    }
}

/// What depends on the plate voltage alone, at a pack of points.
#[derive(Clone, Copy)]
pub(super) struct AtPlate<S: Simd> {
    /// Va/√(Va² + L·Va + K).
    pub(super) hold: Lanes<S>,
    /// 1/√(Va² + L·Va + K), cubed, 1/V³.
    pub(super) thin_cubed: Lanes<S>,
    /// φ + Va/mu, V.
    pull: Lanes<S>,
    /// Width of the bend, V, and its reciprocal.
    w: Lanes<S>,
    per_w: Lanes<S>,
}

/// What the derivatives are built from, at a pack of points.
#[derive(Clone, Copy)]
pub(super) struct Inner<S: Simd> {
    /// Current, A.
    pub(super) i: Lanes<S>,
    /// ln E.
    pub(super) ln_e: Lanes<S>,
    /// dI/du, S.
    pub(super) du: Lanes<S>,
    /// dI/dw, S; 0 where the width is at its least and no longer depends on what it is made of.
    pub(super) dw: Lanes<S>,
    /// On the way there: the drive over the width of the bend, exp(−|z|), 1/(1 + e), and
    /// ln(1 + exp z).
    z: Lanes<S>,
    e: Lanes<S>,
    upper: Lanes<S>,
    bend: Lanes<S>,
}

impl<S: Simd> Inner<S> {
    #[inline(always)]
    pub(super) fn nothing(simd: S) -> Self {
        let zero = Lanes::splat(simd, 0.0);
        Self { i: zero, ln_e: zero, du: zero, dw: zero, z: zero, e: zero, upper: zero, bend: zero }
    }
}

impl<S: Simd> AtPlate<S> {
    #[inline(always)]
    pub(super) fn nothing(simd: S) -> Self {
        let zero = Lanes::splat(simd, 0.0);
        Self { hold: zero, thin_cubed: zero, pull: zero, w: zero, per_w: zero }
    }
}

/// Smallest width of the bend, V: below, the law is a sharp corner and its
/// derivatives say nothing more (kT/e of a cold cathode would be 0.025 V).
pub(super) const NARROWEST: f64 = 1e-3;

/// Widths of the bend below cutoff from which on nothing more changes: e⁻⁶⁹⁰ is a current beyond
/// all that is measured, and e⁻⁷⁰⁸ the last that a double holds at full precision.
const DEEPEST: f64 = -690.0;

/// The law's parameters, each as often as a pack has points, with what is computed from them alone.
#[derive(Clone, Copy)]
pub(super) struct LawLanes<S: Simd> {
    ln_p: Lanes<S>,
    pub(super) per_mu: Lanes<S>,
    phi: Lanes<S>,
    pub(super) x: Lanes<S>,
    w0: Lanes<S>,
    pub(super) w1: Lanes<S>,
    pub(super) kvb: Lanes<S>,
    pub(super) kvl: Lanes<S>,
}

impl<S: Simd> LawLanes<S> {
    #[inline(always)]
    pub(super) fn of(simd: S, law: &SpaceCharge) -> Self {
        let all = |value| Lanes::splat(simd, value);
        Self {
            ln_p: all(law.ln_p),
            per_mu: all(1.0 / law.mu),
            phi: all(law.phi),
            x: all(law.x),
            w0: all(law.w0),
            w1: all(law.w1),
            kvb: all(law.kvb),
            kvl: all(law.kvl),
        }
    }

    /// What is the same along a curve of one plate voltage.
    #[inline(always)]
    pub(super) fn at_plate(&self, va: Lanes<S>) -> AtPlate<S> {
        let square = va * va;
        // √(Va² + L·Va + K), kept real and off zero.
        let root = at_least(at_least(square + self.kvl * va + self.kvb, 0.25 * square), 1e-12).sqrt();
        let thin = 1.0 / root;
        let w = at_least(self.w0 + self.w1 * va, NARROWEST);
        AtPlate {
            hold: va * thin,
            thin_cubed: thin * thin * thin,
            pull: self.phi + va * self.per_mu,
            w,
            per_w: 1.0 / w,
        }
    }

    /// At packs of points, stage by stage; `at` gives the grid voltage of
    /// each, V, and what its plate voltage fixes. Without `SLOPES` the derivatives are left as
    /// they are.
    #[inline(always)]
    pub(super) fn inner<'p, const SLOPES: bool>(
        &self,
        at: impl Fn(usize) -> (Lanes<S>, &'p AtPlate<S>),
        out: &mut [Inner<S>],
    ) where
        S: 'p,
    {
        for (k, out) in out.iter_mut().enumerate() {
            let (vg, plate) = at(k);
            out.z = at_least((vg * plate.hold + plate.pull) * plate.per_w, DEEPEST);
            // One exponential serves the bend and its slope.
            out.e = exp(-out.z.abs());
        }
        for out in out.iter_mut() {
            let (ln_1p, upper) = ln_1p_of_share(out.e);
            out.upper = upper;
            out.bend = at_least(out.z, 0.0) + ln_1p;
        }
        for (k, out) in out.iter_mut().enumerate() {
            out.ln_e = ln(at(k).1.w * out.bend);
        }
        for (k, out) in out.iter_mut().enumerate() {
            out.i = exp(self.ln_p + self.x * out.ln_e);
            if SLOPES {
                let w = at(k).1.w;
                let de_du = out.z.simd_ge(0.0).select(out.upper, out.e * out.upper);
                let di_de = out.i * self.x / (w * out.bend);
                out.du = di_de * de_du;
                let by_w = di_de * (out.bend - out.z * de_du);
                out.dw = w.simd_gt(NARROWEST).select(by_w, Lanes::splat(w.simd, 0.0));
            }
        }
    }

    /// The same at one pack.
    #[inline(always)]
    fn inner_at(&self, plate: &AtPlate<S>, vg: Lanes<S>) -> Inner<S> {
        let mut out = [Inner::nothing(vg.simd)];
        self.inner::<true>(|_| (vg, plate), &mut out);
        out[0]
    }

    /// dVg'/dVa over Vg: how the hold of the grid changes with the plate voltage, 1/V.
    #[inline(always)]
    pub(super) fn hold_slope(&self, plate: &AtPlate<S>, va: Lanes<S>) -> Lanes<S> {
        (self.kvb + 0.5 * self.kvl * va) * plate.thin_cubed
    }
}

impl SpaceCharge {
    /// One of a middling triode, for tests.
    #[cfg(test)]
    pub(crate) const MADE: Self =
        Self { ln_p: -6.2, mu: 20.0, phi: 0.2, x: 1.4, w0: 0.05, w1: 0.006, kvb: 300.0, kvl: 0.0 };

    /// Plate current, A.
    pub fn current(&self, va: f64, vg: f64) -> f64 {
        dispatch!(level(), simd => {
            let law = LawLanes::of(simd, self);
            law.inner_at(&law.at_plate(Lanes::splat(simd, va)), Lanes::splat(simd, vg)).i[0]
        })
    }

    /// Plate current with its slopes.
    pub fn slopes(&self, va: f64, vg: f64) -> Slopes {
        dispatch!(level(), simd => {
            let law = LawLanes::of(simd, self);
            let (va, vg) = (Lanes::splat(simd, va), Lanes::splat(simd, vg));
            let plate = law.at_plate(va);
            let k = law.inner_at(&plate, vg);
            let gp = k.du * (law.per_mu + vg * law.hold_slope(&plate, va)) + k.dw * law.w1;
            Slopes { ia: k.i[0], gm: (k.du * plate.hold)[0], gp: gp[0] }
        })
    }

    /// The grid voltage at which the straight part would meet zero current, V.
    pub fn cutoff(&self, va: f64) -> f64 {
        -(self.phi + va / self.mu)
    }

    /// Grid voltage at which the law gives `ia` at plate voltage `va`, V; `None`
    /// where that lies outside ±`reach`.
    pub fn grid_for(&self, va: f64, ia: f64, reach: f64) -> Option<f64> {
        let (mut low, mut high) = (-reach, reach);
        if !(self.current(va, low) <= ia && ia <= self.current(va, high)) {
            return None;
        }
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.current(va, middle) < ia {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(0.5 * (low + high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn koren(mu: f64, ex: f64, kg1: f64, kp: f64, kvb: f64) -> SpaceCharge {
        // Ia = 2·E1^ex/kG1 with E1 = Va/kP·softplus(kP(1/mu + Vg/√(kVB+Va²))).
        SpaceCharge { ln_p: libm::log(2.0 / kg1), mu, phi: 0.0, x: ex, w0: 0.0, w1: 1.0 / kp, kvb, kvl: 0.0 }
    }

    #[test]
    fn koren_1996_is_a_member() {
        // Koren's equations computed apart (reference 1.2), 12AU7 set 21.5/1.3/1180/84/300 of sources.md.
        let law = koren(21.5, 1.3, 1180.0, 84.0, 300.0);
        let (va, vg) = (250.0f64, -8.5f64);
        let e1 = va / 84.0 * libm::log(1.0 + libm::exp(84.0 * (1.0 / 21.5 + vg / (300.0 + va * va).sqrt())));
        assert_relative_eq!(law.current(va, vg), 2.0 * libm::pow(e1, 1.3) / 1180.0, max_relative = 1e-12);
        // reference 1.4 computes 10.4 mA there.
        assert_relative_eq!(law.current(va, vg), 10.4e-3, max_relative = 0.01);
    }

    #[test]
    fn dempwolf_and_zoelzer_2011_is_a_member() {
        // RSD-1 of table 1 (sources.md): G 2.242e-3, mu 103.2, gamma 1.26, C 3.40.
        let law = SpaceCharge {
            ln_p: libm::log(2.242e-3),
            mu: 103.2,
            phi: 0.0,
            x: 1.26,
            w0: 1.0 / 3.4,
            w1: 0.0,
            kvb: 0.0,
            kvl: 0.0,
        };
        let ik = 2.242e-3 * libm::pow(libm::log(1.0 + libm::exp(3.4f64 * (250.0 / 103.2 - 2.0))) / 3.4, 1.26);
        assert_relative_eq!(law.current(250.0, -2.0), ik, max_relative = 1e-12);
    }

    #[test]
    fn the_worked_example_of_the_school_book() {
        // H. C. Verma, Concepts of Physics, thermionics (memory of the book; physics.md):
        // ip = 41·(vp + 7·vg)^1.41 µA at 250 V, −20 V: 30 mA, rp 2.53 kΩ, gm 2.77 mS, mu 7.
        let law = SpaceCharge {
            ln_p: libm::log(41e-6) + 1.41 * libm::log(7.0),
            mu: 7.0,
            phi: 0.0,
            x: 1.41,
            w0: NARROWEST,
            w1: 0.0,
            kvb: 0.0,
            kvl: 0.0,
        };
        let s = law.slopes(250.0, -20.0);
        // The book rounds 30.98 mA to "about 30".
        assert_relative_eq!(s.ia, 30e-3, max_relative = 0.04);
        assert_relative_eq!(1.0 / s.gp, 2530.0, max_relative = 0.02);
        assert_relative_eq!(s.gm, 2.77e-3, max_relative = 0.02);
        assert_relative_eq!(s.mu(), 7.0, max_relative = 1e-9);
    }

    proptest! {
        #[test]
        fn slopes_are_the_derivatives(
            mu in 3.0..120.0f64, x in 1.1..1.7f64, phi in -0.5..0.8f64, w1 in 1e-4..0.02f64,
            w0 in 0.0..0.4f64, kvb in 0.0..1600.0f64, kvl in 0.0..20.0f64, va in 30.0..400.0f64, depth in -1.0..1.2f64,
        ) {
            let law = SpaceCharge { ln_p: -6.0, mu, phi, x, w0, w1, kvb, kvl };
            let vg = -depth * va / mu;
            let s = law.slopes(va, vg);
            let (hg, ha) = (1e-5 * va / mu, 1e-5 * va);
            let gm = (law.current(va, vg + hg) - law.current(va, vg - hg)) / (2.0 * hg);
            let gp = (law.current(va + ha, vg) - law.current(va - ha, vg)) / (2.0 * ha);
            prop_assert!((s.gm - gm).abs() <= 1e-4 * gm.abs() + 1e-12);
            prop_assert!((s.gp - gp).abs() <= 1e-4 * gp.abs() + 1e-13);
        }

        #[test]
        fn a_bend_too_narrow_to_see_is_a_corner(va in 50.0..400.0f64, beyond in 0.01..20.0f64) {
            let law = SpaceCharge { ln_p: -6.0, mu: 20.0, phi: 0.0, x: 1.5, w0: -1.0, w1: 0.0, kvb: 0.0, kvl: 0.0 };
            let s = law.slopes(va, beyond - va / 20.0);
            let ia = libm::exp(-6.0) * libm::pow(beyond, 1.5);
            prop_assert!((s.ia / ia - 1.0).abs() < 1e-4 && (s.gm / (1.5 * ia / beyond) - 1.0).abs() < 1e-4);
            prop_assert!(law.current(va, -beyond - va / 20.0) < 1e-4 * ia.max(1e-3));
        }

        #[test]
        fn nothing_overflows(va in -50.0..2000.0f64, vg in -300.0..300.0f64, w1 in 0.0..0.05f64) {
            let law = SpaceCharge { ln_p: -6.0, mu: 100.0, phi: 0.0, x: 1.4, w0: 0.0, w1, kvb: 300.0, kvl: 5.0 };
            let s = law.slopes(va, vg);
            prop_assert!(s.ia.is_finite() && s.gm.is_finite() && s.gp.is_finite());
        }
    }
}

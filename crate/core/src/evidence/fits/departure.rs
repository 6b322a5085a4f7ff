//! Departures from the healthy law that a fit can describe.

use crate::law::{Par, Params};

/// A departure from the healthy law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Departure {
    /// The current bends towards a ceiling.
    Ceiling,
    /// A resistance in the cathode lead.
    Degeneration,
    /// Part of the cathode lies under a coarser grid.
    Unevenness,
    /// The first points of each section lack current: the tube was still warming.
    WarmUp,
    /// The same, but once: later sections went on where the one before ended.
    WarmUpOnce,
}

/// Where a departure acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Seat {
    /// In one fitted section (its index among the fitted).
    Section(usize),
    /// In all of them alike.
    All,
}

impl Departure {
    /// Those of a single section, in the order in which they are tried.
    pub const OF_SECTION: [Self; 3] = [Self::Ceiling, Self::Degeneration, Self::Unevenness];

    /// Whether it is a warm-up of either kind.
    pub fn is_warm_up(self) -> bool {
        matches!(self, Self::WarmUp | Self::WarmUpOnce)
    }

    /// The contract's name of the fault that it is the mark of.
    pub fn fault_name(self) -> &'static str {
        match self {
            Self::Ceiling => "low-emission",
            Self::Degeneration => "cathode-interface",
            Self::Unevenness => "uneven-grid",
            Self::WarmUp | Self::WarmUpOnce => "warm-up-drift",
        }
    }

    pub(super) fn pars(self) -> &'static [Par] {
        match self {
            Self::Ceiling => &[Par::Ceiling, Par::LnSharp],
            Self::Degeneration => &[Par::Ri],
            Self::Unevenness => &[Par::Share, Par::LnRatio],
            Self::WarmUp | Self::WarmUpOnce => &[Par::Deficit, Par::LnTau],
        }
    }

    /// The parameter that is zero where the departure is not there.
    pub(super) fn size(self) -> Par {
        match self {
            Self::Ceiling => Par::Ceiling,
            Self::Degeneration => Par::Ri,
            Self::Unevenness => Par::Share,
            Self::WarmUp | Self::WarmUpOnce => Par::Deficit,
        }
    }

    /// Where the fit starts from: an effect that is felt.
    pub(super) fn begin(self, params: &mut Params, section: &About) {
        match self {
            Self::Ceiling => params.set(Par::Ceiling, 1.0 / (1.3 * section.top)),
            Self::Degeneration => {
                let law = params.law();
                let gm = law.slopes(section.plate, -0.3 * section.plate / law.mu).gm;
                params.set(Par::Ri, 0.1 / gm.max(1e-6));
            }
            Self::Unevenness => {
                params.set(Par::Share, 0.1);
                params.set(Par::LnRatio, libm::log(0.45));
            }
            Self::WarmUp | Self::WarmUpOnce => {
                params.set(Par::Continued, f64::from(u8::from(self == Self::WarmUpOnce)));
                params.set(Par::Deficit, 0.15);
                params.set(Par::LnTau, libm::log((TAU_SHARE * section.points).max(1.0)));
            }
        }
    }

    /// Probes of each departure: see [`Departure::probe`].
    pub(super) const PROBES: usize = 3;

    /// One of a few sizes and shapes of it that together stand for all that it may do to the
    /// readings: where it begins, and one on either side within its prior.
    pub(super) fn probe(self, number: usize, params: &Params, section: &About) -> Params {
        let mut with = *params;
        self.begin(&mut with, section);
        let side = [0.0, -1.0, 1.0][number % Self::PROBES];
        let size = with.get(self.size());
        match self {
            Self::Ceiling => {
                with.set(Par::Ceiling, size * libm::exp(0.25 * side));
                with.set(Par::LnSharp, 1.25 + 0.4 * side);
            }
            // It has a size and no shape.
            Self::Degeneration => with.set(Par::Ri, size * RESISTANCES[number % Self::PROBES]),
            Self::Unevenness => with.set(Par::LnRatio, with.get(Par::LnRatio) + 0.45 * side),
            Self::WarmUp | Self::WarmUpOnce => with.set(Par::LnTau, with.get(Par::LnTau) + side),
        }
        with
    }

    /// Puts it into a section's parameters as another's have it, so that it does so many times as
    /// much.
    pub(super) fn put(self, like: &Params, times: f64, params: &mut Params) {
        for &par in self.pars().iter().chain(self.is_warm_up().then_some(&Par::Continued)) {
            params.set(par, like.get(par));
        }
        let factor = match self {
            // What a ceiling takes grows with its exponent, nearly.
            Self::Ceiling => libm::pow(times, libm::exp(-like.get(Par::LnSharp))),
            _ => times,
        };
        let size = factor * like.get(self.size());
        params.set(
            self.size(),
            match self {
                Self::Unevenness => size.min(MOST_SHARE),
                Self::WarmUp | Self::WarmUpOnce => size.min(MOST_DEFICIT),
                Self::Ceiling | Self::Degeneration => size,
            },
        );
    }

    /// Whether the fitted size makes sense.
    pub(super) fn sensible(self, params: &Params, section: &About) -> bool {
        match self {
            // Ceilings far above anything measured are no finding, nor are those far below it.
            Self::Ceiling => (FAR_CEILING..LOW_CEILING).contains(&(params.get(Par::Ceiling) * section.top)),
            // A resistance cannot take the place of the space charge: with it the law is still one.
            Self::Degeneration => {
                params.get(Par::Ri) > 0.0
                    && params.get(Par::X) > LEAST_EXPONENT
                    && params.get(Par::LnMu) < libm::log(FINEST_GRID)
            }
            Self::Unevenness => {
                (0.0..=MOST_SHARE).contains(&params.get(Par::Share)) && params.get(Par::LnRatio) < libm::log(COARSER)
            }
            Self::WarmUp | Self::WarmUpOnce => {
                (0.0..1.0).contains(&params.get(Par::Deficit))
                    && params.get(Par::LnTau) < libm::log((LONGEST_TAU * section.points).max(2.0))
            }
        }
    }
}

/// Exponent below which a law is none of space charge: published fits have 1.2 to 1.6
/// (physics.md), the power laws behind them 1.5, and an error of the law takes some off.
const LEAST_EXPONENT: f64 = 1.0;
/// Amplification that no grid has: nine times the 106 of the finest that the handbook knows. Where the
/// points leave it open a fit may go beyond, and what it then says of a resistance means nothing.
const FINEST_GRID: f64 = 1000.0;
/// A ceiling above this multiple (its reciprocal) of the top is not felt.
const FAR_CEILING: f64 = 0.05;
/// Under a ceiling below this multiple (its reciprocal) of the top the cathode's current is less than
/// the law is off at the top (1 %, `law_error.rs`): what was read is something else.
const LOW_CEILING: f64 = 100.0;
/// Resistances that are probed, over the one at which a search begins.
pub(super) const RESISTANCES: [f64; Departure::PROBES] = [1.0, 0.4, 2.5];
/// Above half, the two parts of the cathode swap their roles.
const MOST_SHARE: f64 = 0.5;
/// A tube that lacks more than this in the beginning does not begin.
const MOST_DEFICIT: f64 = 0.9;
/// A part whose mu is less than this lower is the ordinary spread of a grid,
/// which the law's own bend describes.
const COARSER: f64 = 0.75;
/// A warm-up is first taken to last this share of a section's points.
const TAU_SHARE: f64 = 0.25;
/// A drift slower than this many sweeps is a change of scale, not a drift.
const LONGEST_TAU: f64 = 1.5;

/// What a departure needs to know of a section to begin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct About {
    /// Largest current fitted, A.
    pub(super) top: f64,
    /// Highest plate voltage, V.
    pub(super) plate: f64,
    /// Points in the section.
    pub(super) points: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ceiling_is_one_near_what_was_read() {
        let section = About { top: 3e-3, plate: 250.0, points: 60.0 };
        let sensible = |ceiling: f64| {
            let mut params = Params([0.0; crate::law::PARS]);
            params.set(Par::Ceiling, 1.0 / ceiling);
            Departure::Ceiling.sensible(&params, &section)
        };
        assert!(sensible(4e-3) && sensible(1e-3) && sensible(1e-4));
        assert!(!sensible(1.0) && !sensible(1e-5) && !sensible(-4e-3) && !sensible(1.6e-118));
    }
}

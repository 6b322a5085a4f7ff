//! A heater that warms up: a tungsten wire that loses its heat by radiation.
//!
//! With T the wire's temperature over its rated one, the resistance goes as T^1.2 (tungsten,
//! H. A. Jones, Phys. Rev. 28 (1926) 202; exponent from memory) and the lost power as T^4
//! (Stefan and Boltzmann). At rest a heater at x times its rated current therefore has
//! x^(13/7) times its rated voltage: 10 % more volts are 5 % more current. The heat that is
//! stored is one time constant, the same for all heaters, taken from the usual warm-up test.

use super::answer::rising_root;

/// Exponent of tungsten's resistance over temperature (from memory, see above).
const RESISTANCE: f64 = 1.2;
/// Exponent of radiated power over temperature (Stefan and Boltzmann).
const RADIATION: i32 = 4;
/// Exponent of voltage over current at rest: 1 + 2·1.2/(4 − 1.2) (by construction).
pub(super) const VOLTS_OVER_AMPERES: f64 = 13.0 / 7.0;
/// Hot over cold resistance of heaters: a heater's resistance increases by a factor of 5 to
/// 10 from a cold start (J. J. Gano and G. F. Sandy, IRE Trans. Electronic Computers EC-7,
/// March 1958, p. 61; abstract read).
pub(super) const HOT_OVER_COLD: (f64, f64) = (5.0, 10.0);
/// The usual warm-up test: a heater in series with 3 times its hot resistance at 4 times its
/// voltage reaches 0.8 of its voltage after 11 s on average (American; 14.5 s European; a
/// glossary read for reference notes 3.8).
const TEST: Test = Test { series: 3.0, supply: 4.0, reached: 0.8, seconds: 11.0 };
/// Intervals of the integral over that test (by construction: a thousandth of a second).
const INTERVALS: usize = 400;

struct Test {
    series: f64,
    supply: f64,
    reached: f64,
    seconds: f64,
}

/// Hot over cold resistance that the warm-up is drawn for: the middle of the range by ratio.
pub(super) fn middle_ratio() -> f64 {
    (HOT_OVER_COLD.0 * HOT_OVER_COLD.1).sqrt()
}

/// The model of a wire, for one ratio of hot to cold resistance.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wire {
    /// Room temperature over rated temperature.
    pub(super) cold: f64,
    /// Time constant of the stored heat, s.
    tau: f64,
}

impl Wire {
    pub(super) fn new(hot_over_cold: f64) -> Self {
        let mut wire = Self { cold: libm::pow(hot_over_cold, -1.0 / RESISTANCE), tau: 1.0 };
        wire.tau = TEST.seconds / wire.time_of_test();
        wire
    }

    /// Resistance over the hot one at a temperature over the rated one.
    pub(super) fn resistance(self, temperature: f64) -> f64 {
        libm::pow(temperature, RESISTANCE)
    }

    /// How fast the temperature rises, 1/s, at a current over the rated one.
    pub(super) fn rises(self, temperature: f64, current: f64) -> f64 {
        (current * current * self.resistance(temperature) - self.lost(temperature)) / self.tau
    }

    /// Lost power over the rated one, less what comes back from the room.
    fn lost(self, temperature: f64) -> f64 {
        let cold = self.cold.powi(RADIATION);
        (temperature.powi(RADIATION) - cold) / (1.0 - cold)
    }

    /// How long the test takes, in time constants: the integral of dT over its speed.
    fn time_of_test(self) -> f64 {
        let current = |t: f64| TEST.supply / (TEST.series + self.resistance(t));
        let end = rising_root(self.cold, 1.0, |t| current(t) * self.resistance(t) - TEST.reached);
        let step = (end - self.cold) / INTERVALS as f64;
        (0..INTERVALS)
            .map(|i| {
                let t = self.cold + (i as f64 + 0.5) * step;
                step / (self.rises(t, current(t)) * self.tau)
            })
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heater_in_the_test_takes_the_time_of_the_test() {
        for ratio in [5.0, middle_ratio(), 10.0] {
            let wire = Wire::new(ratio);
            let (mut t, mut temperature) = (0.0_f64, wire.cold);
            let current = |t: f64| 4.0 / (3.0 + wire.resistance(t));
            while current(temperature) * wire.resistance(temperature) < 0.8 {
                temperature += 1e-3 * wire.rises(temperature, current(temperature));
                t += 1e-3;
            }
            assert!((t - 11.0).abs() < 0.05, "{ratio}: {t} s");
            assert!((wire.resistance(wire.cold) * ratio - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn at_rest_voltage_goes_with_the_stated_power_of_the_current() {
        // With the room's share left out, which is a thousandth.
        let wire = Wire::new(10.0);
        for current in [0.9, 1.0, 1.1] {
            let at_rest = rising_root(0.3, 2.0, |t| -wire.rises(t, current));
            let volts = current * wire.resistance(at_rest);
            assert!((volts / libm::pow(current, VOLTS_OVER_AMPERES) - 1.0).abs() < 1e-3, "{current}: {volts}");
        }
    }
}

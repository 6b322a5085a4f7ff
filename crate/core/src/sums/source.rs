//! The trim range of a current source: a JFET or depletion-mode MOSFET with a resistor in its
//! source lead and the gate at the resistor's other end.
//!
//! Formula: Id = Idss·(1 − |Vgs|/|Vp|)² and |Vgs| = Id·R, so R = |Vp|·(1 − √(Id/Idss))/Id: more
//! with more |Vp| and with more Idss. Saturated from |Vp| − |Vgs| across the device on, which
//! with the resistor's |Vgs| is |Vp| across the whole source. Below: Id = β·(2·Vov − Vds)·Vds
//! with β = Idss/Vp² and Vov = |Vp| − Id·R, which gives the voltage for any lower current.
//!
//! Source: the square law of textbooks (Shichman and Hodges, IEEE J. Solid-State Circuits 3
//! (1968) 285; from memory). Parts: common practice, no source.
//!
//! Limits: a real device departs from the square law near pinch-off by some per cent; the slope
//! of the saturated current, temperature and breakdown are not in it.
//!
//! Cautions: heat; sheets give Idss pulsed; a MOSFET's gate is held within its limit.

use serde::Serialize;

use super::answer::{Answer, Curve, Figure, Wrong, percent, shown, within};
use super::standard::{not_above, rating, trimmer};

/// Currents the sum is made for, A (by construction).
const CURRENTS: (f64, f64) = (1e-7, 10.0);
/// Pinch-off voltages it is made for, V (by construction).
const PINCH_OFFS: (f64, f64) = (0.05, 50.0);
/// Voltages across the source it is made for, V (by construction).
const VOLTAGES: (f64, f64) = (0.1, 2000.0);
/// Falls of the current it is made for, a share (by construction).
const FALLS: (f64, f64) = (1e-3, 0.5);
/// The fixed part over the least resistance wanted: resistors are 5 % parts at worst (common
/// practice, no source).
const FIXED_PART: f64 = 0.95;
/// What a trimmer has at least of its printed value (±20 % parts, from memory).
const TRIMMER_HAS: f64 = 0.8;
/// Points of the curve (by construction).
const POINTS: usize = 100;

/// One device.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Device {
    /// Size of the pinch-off voltage, V.
    pub pinch_off: f64,
    /// Saturation current at zero gate voltage, A.
    pub idss: f64,
}

impl Device {
    /// The resistor that sets a current, ohm; `None` where the device does not reach it.
    pub fn resistor(&self, current: f64) -> Option<f64> {
        (self.idss >= current).then(|| self.pinch_off * (1.0 - (current / self.idss).sqrt()) / current)
    }

    /// The saturated current with a resistor, A.
    pub fn current(&self, resistor: f64) -> f64 {
        // With u = √(Id/Idss): R·Idss·u² + Vp·u − Vp = 0, its root without a difference.
        let vp = self.pinch_off;
        let u = 2.0 * vp / (vp + (vp * vp + 4.0 * resistor * self.idss * vp).sqrt());
        self.idss * u * u
    }

    /// Voltage across device and resistor at which the current is `share` below the saturated
    /// one, V.
    pub fn falls_by(&self, share: f64, resistor: f64) -> f64 {
        let current = self.current(resistor) * (1.0 - share);
        let over = self.pinch_off - current * resistor;
        let beta = self.idss / (self.pinch_off * self.pinch_off);
        over - (over * over - current / beta).max(0.0).sqrt() + current * resistor
    }
}

/// The spread of a type.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Least and most of the pinch-off voltage's size, V.
    pub pinch_off: (f64, f64),
    /// Least and most of the saturation current, A.
    pub idss: (f64, f64),
}

/// A current source to be trimmed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurrentSource {
    /// The wanted current, A.
    pub current: f64,
    /// The devices it may be built with.
    pub spread: Spread,
    /// Voltage across device and resistor, V.
    pub voltage: f64,
    /// Fall of the current by which the lowest voltage is told, a share.
    pub fall: f64,
}

/// What it takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceWorked {
    /// Least and most source resistor over the spread, ohm.
    pub resistor: (f64, f64),
    /// Fixed part to buy, ohm; 0 for none.
    pub fixed: f64,
    /// Trimmer to buy, ohm.
    pub trimmer: f64,
    /// Whether there are devices in the spread that do not reach the current.
    pub some_cannot: bool,
    /// Voltage from which every device of the spread is saturated, V.
    pub saturated: f64,
    /// Least and most voltage across the device itself at saturation, V.
    pub device_saturated: (f64, f64),
    /// Voltage at which the current of the worst device has fallen by `fall`, V.
    pub fallen: f64,
    /// Most that the device dissipates, W.
    pub device_power: f64,
    /// Most that its resistor does, W.
    pub resistor_power: f64,
    /// Current against the trimmer's resistance, for the device in the middle, ohm and A.
    pub setting: Vec<[f64; 2]>,
}

impl CurrentSource {
    /// The numbers.
    ///
    /// # Errors
    /// A value out of bounds, a spread from more to less, or a current that no device reaches.
    pub fn worked(&self) -> Result<SourceWorked, Wrong> {
        let Spread { pinch_off: (vp_least, vp_most), idss: (idss_least, idss_most) } = self.spread;
        let current = within("current", self.current, CURRENTS, "A")?;
        within("pinch-off-min", vp_least, PINCH_OFFS, "V")?;
        within("pinch-off-max", vp_most, PINCH_OFFS, "V")?;
        within("idss-min", idss_least, CURRENTS, "A")?;
        within("idss-max", idss_most, CURRENTS, "A")?;
        within("voltage", self.voltage, VOLTAGES, "V")?;
        within("fall", self.fall, FALLS, "1")?;
        for (field, least, most) in [("pinch-off-max", vp_least, vp_most), ("idss-max", idss_least, idss_most)] {
            if least > most {
                return Err(Wrong::new(
                    field,
                    "the most is less than the least",
                    "Exchange the two, by size without sign.",
                ));
            }
        }
        let strongest = Device { pinch_off: vp_most, idss: idss_most };
        let Some(most) = strongest.resistor(current) else {
            let what = format!(
                "no device reaches {}: the largest saturation current is {}",
                shown(current, "A"),
                shown(idss_most, "A")
            );
            return Err(Wrong::new("current", what, "Ask for less, take another type, or put devices side by side."));
        };
        let some_cannot = idss_least < current;
        let least = Device { pinch_off: vp_least, idss: idss_least }.resistor(current).unwrap_or(0.0);
        let fixed = not_above(FIXED_PART * least);
        let trimmer = trimmer((most - fixed).max(0.0) / TRIMMER_HAS);
        // |Vgs| is least, and the device's own share of |Vp| most, with the weakest that can.
        let weakest = idss_least.max(current);
        let own = |vp: f64, idss: f64| vp * (current / idss).sqrt();
        let drop = most * current;
        let slowest = [idss_least.max(current), idss_most].map(|idss| {
            let device = Device { pinch_off: vp_most, idss };
            device.falls_by(self.fall, device.resistor(current).unwrap_or(0.0))
        });
        let middle = self.middle();
        Ok(SourceWorked {
            resistor: (least, most),
            fixed,
            trimmer,
            some_cannot,
            saturated: vp_most,
            device_saturated: (own(vp_least, idss_most), own(vp_most, weakest)),
            fallen: slowest[0].max(slowest[1]),
            device_power: (self.voltage - least * current).max(0.0) * current,
            resistor_power: drop * current,
            setting: (0..=POINTS)
                .map(|i| {
                    let ohm = trimmer * i as f64 / POINTS as f64;
                    [ohm, middle.current(fixed + ohm)]
                })
                .collect(),
        })
    }

    /// The device in the middle of the spread by ratio, among those that reach the current.
    fn middle(&self) -> Device {
        let Spread { pinch_off, idss } = self.spread;
        let middle = |(a, b): (f64, f64)| (a * b).sqrt();
        Device { pinch_off: middle(pinch_off), idss: middle((idss.0.max(self.current), idss.1)) }
    }

    /// The numbers as figures.
    ///
    /// # Errors
    /// As for [`CurrentSource::worked`].
    pub fn answer(&self) -> Result<Answer, Wrong> {
        let w = self.worked()?;
        let current = shown(self.current, "A");
        let least_says = if w.some_cannot {
            "for the weakest device that still reaches the current".to_owned()
        } else {
            "for the least pinch-off voltage with the least saturation current".to_owned()
        };
        let fixed_says = if w.fixed > 0.0 {
            "the E24 value at 0.95 of the least or below (common practice, no source)"
        } else {
            "none: the trimmer alone, since some devices want next to nothing"
        };
        let ends = self.middle();
        let span = format!(
            "reaches the most also where it is 20 % short; with the middle device it sets {} to {}",
            shown(ends.current(w.fixed + w.trimmer), "A"),
            shown(ends.current(w.fixed), "A"),
        );
        let (device, whole) = (w.device_power, self.voltage * self.current);
        let figures = vec![
            Figure::new("least source resistor", w.resistor.0, "ohm", least_says),
            Figure::new(
                "most source resistor",
                w.resistor.1,
                "ohm",
                "for the most pinch-off voltage with the most saturation current",
            ),
            Figure::new("fixed part", w.fixed, "ohm", fixed_says),
            Figure::new("trimmer", w.trimmer, "ohm", span),
            Figure::new(
                "dissipation of the device",
                device,
                "W",
                format!(
                    "at most, with {} across the whole source; {} in all",
                    shown(self.voltage, "V"),
                    shown(whole, "W")
                ),
            ),
            Figure::new(
                "dissipation of the resistors",
                w.resistor_power,
                "W",
                format!("at most: buy {}", shown(rating(w.resistor_power), "W")),
            ),
            Figure::new(
                "least voltage across the source",
                w.saturated,
                "V",
                "from here on every device is saturated: |Vp| − |Vgs| across the device and as much as |Vgs| across its resistor",
            ),
            Figure::new(
                "of it across the device, least",
                w.device_saturated.0,
                "V",
                "|Vp| − |Vgs|, least pinch-off voltage and most saturation current",
            ),
            Figure::new(
                "of it across the device, most",
                w.device_saturated.1,
                "V",
                "|Vp| − |Vgs|, most pinch-off voltage and weakest device that reaches the current",
            ),
            Figure::new(
                "voltage at which the current has fallen",
                w.fallen,
                "V",
                format!("by {}, with the worst device", percent(self.fall)),
            ),
        ];
        Ok(Answer {
            figures,
            formula: "Resistor = |Vp|·(1 − √(I/Idss))/I, from I = Idss·(1 − |Vgs|/|Vp|)² and |Vgs| = I·resistor. \
                Saturated from |Vp| − |Vgs| across the device on; with the resistor's voltage that is |Vp|. Below, I = \
                Idss/Vp²·(2·(|Vp| − |Vgs|) − Vds)·Vds. Power of the device = (voltage − I·resistor)·I."
                .into(),
            source:
                "The square law of textbooks (Shichman and Hodges, IEEE J. Solid-State Circuits 3 (1968) 285, from \
                memory); choice of parts: common practice, no source."
                    .into(),
            leaves_out: "The slope of the saturated current, temperature (the current drifts by some tenths of a per \
                cent per kelvin), breakdown, and that pinch-off voltage and saturation current go together in real \
                devices, which makes the true range narrower. Spreads of sheets are at one temperature."
                .into(),
            cautions: self.cautions(&w, &current),
            curve: Some(Curve {
                x_name: "trimmer setting",
                x_unit: "ohm",
                y_name: "current of the middle device",
                y_unit: "A",
                points: w.setting,
            }),
        })
    }

    fn cautions(&self, w: &SourceWorked, current: &str) -> Vec<String> {
        let mut cautions = Vec::new();
        if w.some_cannot {
            cautions.push(format!(
                "Devices with a saturation current below {current} cannot: they stay below it at any setting. Sort them out, or ask for {} or less.",
                shown(self.spread.idss.0, "A")
            ));
        }
        if self.voltage < w.saturated {
            cautions.push(format!(
                "At {} not every device is saturated: the source needs {} at the lowest point of the signal.",
                shown(self.voltage, "V"),
                shown(w.saturated, "V")
            ));
        }
        cautions.push("Sheets give the saturation current in short pulses; hold the heat against the device's rating with its cooling, at the highest voltage of the signal.".into());
        cautions.push("Put a resistor of some hundred ohms at the gate against oscillation, and a Zener diode from gate to source of a MOSFET (common practice, no source).".into());
        cautions.push("Turn the trimmer to its most before you switch on, and tie its free end to the wiper: if the wiper lifts, the current falls to that of the whole trimmer (common practice, no source).".into());
        cautions.push(super::KILLS.into());
        cautions
    }
}

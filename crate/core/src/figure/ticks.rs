//! Where the figures stand on an axis, and the ruling between them.

use super::scale::{Axis, Spread};
use super::words::minus;
use crate::report::engineering;

/// The figures and the ruling of one axis.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ticks {
    /// Values with their figures.
    pub figures: Vec<(f64, String)>,
    /// Values of the finer ruling.
    pub fine: Vec<f64>,
}

impl Ticks {
    /// With another decimal mark than the point.
    pub fn set_decimal_mark(&mut self, mark: char) {
        for (_, figure) in &mut self.figures {
            *figure = figure.replace('.', mark.encode_utf8(&mut [0; 4]));
        }
    }
}

/// Figures closer than this touch each other, CSS pixels (by construction).
const CLOSEST: f64 = 17.0;
/// Finer ruling closer than this is a grey tone, CSS pixels (by construction).
const FINEST: f64 = 5.0;

/// Evenly spaced round values, about one every `every` pixels, labelled in `unit`.
pub fn linear(axis: &Axis, unit: f64, length: f64, every: f64) -> Ticks {
    let (low, high) = axis.range();
    let step = round_step((high - low) / unit, (length / every).max(2.0));
    let decimals = usize::try_from((-libm::log10(step).floor()).max(0.0) as i64).unwrap_or(0);
    let multiples = |step: f64| {
        let first = (low / unit / step - 1e-6).ceil() as i64;
        let last = (high / unit / step + 1e-6).floor() as i64;
        (first..=last).map(move |k| k as f64 * step)
    };
    let figures = multiples(step).map(|v| (v * unit, minus(&format!("{:.decimals$}", v + 0.0)))).collect();
    let parts = if leading_digit(step) == 2 { 4.0 } else { 5.0 };
    let fine_step = step / parts;
    let pixels = length * fine_step * unit / (high - low);
    let fine = if pixels < FINEST { Vec::new() } else { multiples(fine_step).map(|v| v * unit).collect() };
    Ticks { figures, fine }
}

/// Zero and the powers of ten of an axis spread by decades.
pub fn decades(axis: &Axis) -> Ticks {
    let Spread::Decades { knee } = axis.spread() else { return Ticks::default() };
    let (low, high) = axis.range();
    let mut ticks = Ticks::default();
    let mut taken: Vec<f64> = Vec::new();
    let mut place = |value: f64, ticks: &mut Ticks| {
        let pixel = axis.pixel(value);
        if (low..=high).contains(&value) && taken.iter().all(|p: &f64| (p - pixel).abs() >= CLOSEST) {
            taken.push(pixel);
            ticks.figures.push((value, round_current(value)));
        }
    };
    place(0.0, &mut ticks);
    let mut power = 10f64.powi(libm::log10(knee).round() as i32);
    while power <= high.max(-low) {
        place(power, &mut ticks);
        place(-power, &mut ticks);
        let room = (axis.pixel(power) - axis.pixel(2.0 * power)).abs();
        if power >= 10.0 * knee && room > FINEST {
            for k in 2..=9 {
                for value in [f64::from(k) * power, -f64::from(k) * power] {
                    if (low..=high).contains(&value) {
                        ticks.fine.push(value);
                    }
                }
            }
        }
        power *= 10.0;
    }
    ticks
}

/// A power of ten as `10 µA`: no figures behind the point.
fn round_current(value: f64) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let text = engineering(value, "A");
    match text.split_once(' ') {
        Some((number, unit)) => {
            let number = if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number };
            minus(&format!("{number} {unit}"))
        }
        None => minus(&text),
    }
}

/// 1, 2 or 5 times a power of ten such that about `wanted` steps fit.
fn round_step(span: f64, wanted: f64) -> f64 {
    let raw = span / wanted;
    let power = libm::pow(10f64, libm::log10(raw).floor());
    let step = match raw / power {
        m if m <= 1.0 => 1.0,
        m if m <= 2.0 => 2.0,
        m if m <= 5.0 => 5.0,
        _ => 10.0,
    };
    step * power
}

fn leading_digit(step: f64) -> u32 {
    (step / libm::pow(10f64, (libm::log10(step) + 1e-9).floor())).round() as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(ticks: &Ticks) -> Vec<&str> {
        ticks.figures.iter().map(|(_, text)| text.as_str()).collect()
    }

    #[test]
    fn volts_are_round_and_carry_a_minus() {
        let axis = Axis::new(Spread::Linear, (-28.0, 0.0), (0.0, 600.0));
        let ticks = linear(&axis, 1.0, 600.0, 80.0);
        assert_eq!(figures(&ticks), ["−25", "−20", "−15", "−10", "−5", "0"]);
        assert!(ticks.fine.contains(&-1.0));
    }

    #[test]
    fn small_steps_keep_their_decimals() {
        let axis = Axis::new(Spread::Linear, (-0.1e-3, 0.52e-3), (300.0, 0.0));
        assert_eq!(figures(&linear(&axis, 1e-3, 300.0, 60.0)), ["0.0", "0.2", "0.4"]);
        let axis = Axis::new(Spread::Linear, (0.0, 250.0), (0.0, 300.0));
        assert_eq!(figures(&linear(&axis, 1.0, 300.0, 60.0)), ["0", "50", "100", "150", "200", "250"]);
    }

    #[test]
    fn decades_read_as_currents_and_never_touch() {
        let axis = Axis::new(Spread::Decades { knee: 1e-6 }, (-1e-6, 20e-3), (400.0, 0.0));
        let ticks = decades(&axis);
        assert_eq!(figures(&ticks), ["0", "1 µA", "−1 µA", "10 µA", "100 µA", "1 mA", "10 mA"]);
        for (i, (a, _)) in ticks.figures.iter().enumerate() {
            for (b, _) in &ticks.figures[i + 1..] {
                assert!((axis.pixel(*a) - axis.pixel(*b)).abs() >= CLOSEST);
            }
        }
    }

    #[test]
    fn every_range_gives_a_bounded_number_of_figures() {
        for span in [1e-12, 1e-6, 0.3, 7.0, 1e4] {
            let axis = Axis::new(Spread::Linear, (-span, span), (0.0, 500.0));
            let count = linear(&axis, 1.0, 500.0, 60.0).figures.len();
            assert!((2..=12).contains(&count), "{count} figures for {span}");
        }
    }
}

//! Values that parts are sold in.

/// Resistors of the E24 series, IEC 60063 (from memory).
const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2,
    9.1,
];
/// Steps of trimmers in a decade (common practice, no source).
const TRIMMERS: [f64; 3] = [1.0, 2.0, 5.0];
/// Decades that are looked through, powers of ten of ohm (by construction).
const DECADES: std::ops::RangeInclusive<i32> = -2..=9;
/// Power ratings that resistors are sold in, W (common practice, no source).
const RATINGS: [f64; 16] =
    [0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 50.0, 75.0, 100.0, 200.0, 300.0];
/// How many times the dissipated power a resistor's rating is to be (common practice, no
/// source: it runs at a bearable temperature then, and a closed chassis is hot).
pub(super) const POWER_MARGIN: f64 = 2.0;

fn values(steps: &'static [f64]) -> impl Iterator<Item = f64> {
    DECADES.flat_map(move |decade| {
        let power = libm::exp10(f64::from(decade));
        // Divided where it is a fraction: a tenth is no exact number.
        steps.iter().map(move |step| if decade < 0 { step / libm::exp10(f64::from(-decade)) } else { step * power })
    })
}

/// The E24 value nearest to a resistance by ratio, ohm.
pub(super) fn nearest(ohm: f64) -> f64 {
    let off = |v: f64| libm::log(v / ohm).abs();
    values(&E24).min_by(|a, b| off(*a).total_cmp(&off(*b))).unwrap_or(ohm)
}

/// The largest E24 value that is not above a resistance, ohm; 0 where there is none.
pub(super) fn not_above(ohm: f64) -> f64 {
    values(&E24).filter(|v| *v <= ohm * (1.0 + 1e-9)).last().unwrap_or(0.0)
}

/// The smallest usual trimmer that is not below a resistance, ohm.
pub(super) fn trimmer(ohm: f64) -> f64 {
    values(&TRIMMERS).find(|v| *v >= ohm * (1.0 - 1e-9)).unwrap_or(ohm)
}

/// The rating to buy for a power, W: with [`POWER_MARGIN`], and the next that is sold; above
/// those, the power with its margin.
pub(super) fn rating(watt: f64) -> f64 {
    let wanted = POWER_MARGIN * watt;
    RATINGS.into_iter().find(|r| *r >= wanted * (1.0 - 1e-9)).unwrap_or(wanted)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_those_that_are_sold() {
        assert_eq!((nearest(68.3), nearest(1000.0), nearest(0.047)), (68.0, 1000.0, 0.047));
        assert_eq!((not_above(99.0), not_above(100.0), not_above(0.001)), (91.0, 100.0, 0.0));
        assert_eq!((trimmer(201.0), trimmer(200.0), trimmer(0.3)), (500.0, 200.0, 0.5));
        assert_eq!((rating(0.1), rating(3.0), rating(400.0)), (0.25, 7.0, 800.0));
    }
}

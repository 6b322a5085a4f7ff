//! Data to pixels and back. Pixels are CSS pixels: y grows downwards, and a
//! fraction of one is a place too.

/// How a quantity is spread along an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Evenly.
    Linear,
    /// By decades above [`knee`](Spread::Decades::knee), straight through zero below it, so that
    /// readings that scatter around zero keep their sign and their place.
    Decades {
        /// Size at which the decades begin, in the unit of the data.
        knee: f64,
    },
}

impl Spread {
    /// From data to the evenly spread axis variable.
    fn forth(self, value: f64) -> f64 {
        match self {
            Self::Linear => value,
            // Far above the knee this is log10(value / knee).
            Self::Decades { knee } => libm::asinh(value / (2.0 * knee)) / std::f64::consts::LN_10,
        }
    }

    /// The inverse of [`forth`](Self::forth).
    fn back(self, spread: f64) -> f64 {
        match self {
            Self::Linear => spread,
            Self::Decades { knee } => 2.0 * knee * libm::sinh(spread * std::f64::consts::LN_10),
        }
    }
}

/// One axis: a range of data on a range of pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    spread: Spread,
    /// Data at `pixel.0` and at `pixel.1`.
    data: (f64, f64),
    pixel: (f64, f64),
}

impl Axis {
    /// An axis over `data` (low, high) on `pixel` (of low, of high).
    ///
    /// An empty or non-finite range is widened, so that every axis can be inverted.
    pub fn new(spread: Spread, data: (f64, f64), pixel: (f64, f64)) -> Self {
        let (mut low, mut high) = data;
        if !(low.is_finite() && high.is_finite()) {
            (low, high) = (0.0, 1.0);
        }
        if high - low <= f64::EPSILON * low.abs().max(high.abs()) {
            let half = if low == 0.0 { 0.5 } else { 0.5 * low.abs() };
            (low, high) = (low - half, high + half);
        }
        Self { spread, data: (low, high), pixel }
    }

    /// Pixel of a value. Values outside the range lie outside the pixels.
    pub fn pixel(&self, value: f64) -> f64 {
        let (low, high) = (self.spread.forth(self.data.0), self.spread.forth(self.data.1));
        let share = (self.spread.forth(value) - low) / (high - low);
        self.pixel.0 + share * (self.pixel.1 - self.pixel.0)
    }

    /// Value at a pixel.
    pub fn value(&self, pixel: f64) -> f64 {
        let (low, high) = (self.spread.forth(self.data.0), self.spread.forth(self.data.1));
        let share = (pixel - self.pixel.0) / (self.pixel.1 - self.pixel.0);
        self.spread.back(low + share * (high - low))
    }

    /// Lowest and highest value on the axis.
    pub fn range(&self) -> (f64, f64) {
        self.data
    }

    /// How the values are spread.
    pub fn spread(&self) -> Spread {
        self.spread
    }
}

/// A rectangle of CSS pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Lower edge.
    pub bottom: f64,
}

impl Frame {
    /// Whether a place is inside or on the edge.
    pub fn holds(&self, (x, y): (f64, f64)) -> bool {
        (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
    }

    /// The part of a straight line between two places that lies inside, if any
    /// (Liang and Barsky, ACM Transactions on Graphics 3 (1984) 1; from memory).
    pub fn clip(&self, from: (f64, f64), to: (f64, f64)) -> Option<((f64, f64), (f64, f64))> {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let edges = [
            (-dx, from.0 - self.left),
            (dx, self.right - from.0),
            (-dy, from.1 - self.top),
            (dy, self.bottom - from.1),
        ];
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        for (towards, distance) in edges {
            if towards == 0.0 {
                if distance < 0.0 {
                    return None;
                }
            } else if towards < 0.0 {
                enter = enter.max(distance / towards);
            } else {
                leave = leave.min(distance / towards);
            }
        }
        let at = |share: f64| (from.0 + share * dx, from.1 + share * dy);
        (enter <= leave).then(|| (at(enter), at(leave)))
    }
}

/// A panel's two axes and the frame they span.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The running voltage, V.
    pub x: Axis,
    /// The current, A.
    pub y: Axis,
    /// Where on the drawing.
    pub frame: Frame,
}

impl Scale {
    /// Pixel of a point (V, A).
    pub fn pixel(&self, x: f64, y: f64) -> (f64, f64) {
        (self.x.pixel(x), self.y.pixel(y))
    }

    /// Point (V, A) at a pixel.
    pub fn value(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (self.x.value(x), self.y.value(y))
    }
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn a_pixel_leads_back_to_its_value(
            low in -50.0..0.0_f64, span in 0.1..500.0_f64, share in -0.2..1.2_f64, knee in 1e-9..1e-3_f64, flip: bool,
        ) {
            let pixel = if flip { (400.0, 20.0) } else { (20.0, 400.0) };
            for (spread, data) in [
                (Spread::Linear, (low, low + span)),
                (Spread::Decades { knee }, (-3.0 * knee, 0.2)),
            ] {
                let axis = Axis::new(spread, data, pixel);
                let at = pixel.0 + share * (pixel.1 - pixel.0);
                prop_assert!((axis.pixel(axis.value(at)) - at).abs() < 1e-6);
                let value = data.0 + share * (data.1 - data.0);
                let back = axis.value(axis.pixel(value));
                prop_assert!((back - value).abs() < 1e-9 * (1.0 + value.abs()), "{value} came back as {back}");
            }
        }

        #[test]
        fn more_current_is_always_higher(a in -1e-4..0.1_f64, b in -1e-4..0.1_f64, knee in 1e-9..1e-4_f64) {
            let axis = Axis::new(Spread::Decades { knee }, (-1e-4, 0.1), (300.0, 0.0));
            prop_assert_eq!(a < b, axis.pixel(a) > axis.pixel(b));
        }

        #[test]
        fn what_is_clipped_lies_inside(x0 in -50.0..150.0_f64, y0 in -50.0..150.0_f64, x1 in -50.0..150.0_f64, y1 in -50.0..150.0_f64) {
            let frame = Frame { left: 0.0, top: 10.0, right: 100.0, bottom: 90.0 };
            let wide = Frame { left: -1e-6, top: 10.0 - 1e-6, right: 100.0 + 1e-6, bottom: 90.0 + 1e-6 };
            match frame.clip((x0, y0), (x1, y1)) {
                Some((a, b)) => prop_assert!(wide.holds(a) && wide.holds(b)),
                None => prop_assert!(!frame.holds((x0, y0)) && !frame.holds((x1, y1))),
            }
        }
    }

    #[test]
    fn far_above_the_knee_a_decade_is_a_decade() {
        let axis = Axis::new(Spread::Decades { knee: 1e-6 }, (0.0, 1e-2), (0.0, 400.0));
        let step = |a: f64, b: f64| axis.pixel(b) - axis.pixel(a);
        assert_relative_eq!(step(1e-4, 1e-3), step(1e-3, 1e-2), max_relative = 1e-3);
        assert_relative_eq!(axis.pixel(0.0), 0.0);
    }

    #[test]
    fn an_empty_range_is_widened() {
        for data in [(5.0, 5.0), (0.0, 0.0), (f64::NAN, 1.0)] {
            let axis = Axis::new(Spread::Linear, data, (0.0, 100.0));
            assert!(axis.value(50.0).is_finite() && axis.pixel(5.0).is_finite());
        }
    }
}

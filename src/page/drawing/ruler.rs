//! Round numbers on axes, grids and the scale bar.

/// The smallest of 1, 2, 5 times a power of ten that is not below `rough`; 1 for anything that is no positive number.
pub fn round_step(rough: f64) -> f64 {
    if !(rough.is_finite() && rough > 0.0) {
        return 1.0;
    }
    let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
    // The small allowance keeps a step of exactly 2 from becoming 5 by a rounding error.
    let mantissa = rough / power - 1e-9;
    let factor = [1.0, 2.0, 5.0].into_iter().find(|factor| mantissa <= *factor).unwrap_or(10.0);
    factor * power
}

/// The largest of 1, 2, 5 times a power of ten that is not above `most`: the length that a scale bar of limited width
/// can show. 1 for anything that is no positive number.
pub fn round_below(most: f64) -> f64 {
    if !(most.is_finite() && most > 0.0) {
        return 1.0;
    }
    let power = libm::pow(10.0, libm::floor(libm::log10(most) + 1e-12));
    let mantissa = most / power + 1e-9;
    let factor = [5.0, 2.0, 1.0].into_iter().find(|factor| *factor <= mantissa).unwrap_or(1.0);
    factor * power
}

/// The multiples of `step` from `least` to `most`, both ends included when they are multiples. No step, no ticks.
pub fn ticks(least: f64, most: f64, step: f64) -> Vec<f64> {
    if !(step > 0.0 && least.is_finite() && most.is_finite() && most >= least) {
        return Vec::new();
    }
    let first = (least / step - 1e-9).ceil();
    let last = (most / step + 1e-9).floor();
    let count = (last - first + 1.0).clamp(0.0, MOST_TICKS) as usize;
    (0..count).map(|index| (first + index as f64) * step + 0.0).collect()
}

/// No axis has more ticks than this, whatever it is asked for.
const MOST_TICKS: f64 = 200.0;

/// A straight scale: values from `least` to `most` lie between two places of the drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Value at `at_least`.
    pub least: f64,
    /// Value at `at_most`; above `least`.
    pub most: f64,
    /// Place of `least`, in pixels.
    pub at_least: f64,
    /// Place of `most`, in pixels.
    pub at_most: f64,
}

impl Scale {
    /// The place of a value; values outside the scale lie outside its places.
    pub fn place(&self, value: f64) -> f64 {
        let span = self.most - self.least;
        if span > 0.0 {
            self.at_least + (value - self.least) / span * (self.at_most - self.at_least)
        } else {
            self.at_least
        }
    }

    /// The place of a value, held within the scale's ends.
    pub fn place_within(&self, value: f64) -> f64 {
        self.place(value.clamp(self.least, self.most.max(self.least)))
    }

    /// The value at a place; the inverse of [`Scale::place`].
    pub fn value(&self, place: f64) -> f64 {
        let width = self.at_most - self.at_least;
        if width == 0.0 { self.least } else { self.least + (place - self.at_least) / width * (self.most - self.least) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_five() {
        for (rough, step) in [(0.9, 1.0), (1.0, 1.0), (1.1, 2.0), (2.0, 2.0), (3.0, 5.0), (7.0, 10.0), (0.03, 0.05)] {
            assert!((round_step(rough) - step).abs() < 1e-12 * step, "{rough}");
        }
        assert_eq!(round_step(f64::NAN), 1.0);
        assert_eq!(round_step(0.0), 1.0);
    }

    #[test]
    fn a_scale_bar_never_outgrows_its_room() {
        for tenths in 1..2000 {
            let most = f64::from(tenths) / 10.0;
            let length = round_below(most);
            assert!(length <= most + 1e-6 && length > most / 2.6, "{most} {length}");
        }
    }

    #[test]
    fn ticks_include_both_ends() {
        assert_eq!(ticks(-90.0, -60.0, 10.0), [-90.0, -80.0, -70.0, -60.0]);
        assert_eq!(ticks(-5.0, 5.0, 5.0), [-5.0, 0.0, 5.0]);
        assert_eq!(ticks(0.5, 0.9, 1.0), [0.0; 0]);
        assert_eq!(ticks(0.0, 1.0, 0.0), [0.0; 0]);
    }

    #[test]
    fn a_place_gives_its_value_back() {
        let scale = Scale { least: -95.0, most: -35.0, at_least: 200.0, at_most: 20.0 };
        for value in [-95.0, -71.3, -35.0, -20.0] {
            assert!((scale.value(scale.place(value)) - value).abs() < 1e-9);
        }
        assert_eq!(scale.place_within(-200.0), 200.0);
    }
}

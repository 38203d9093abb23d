//! Places in the small plot of the hand comparison, in the units of its view box.

/// Width of the view box.
const WIDTH: f64 = 420.0;
/// Height of the view box.
const HEIGHT: f64 = 172.0;
/// Where the lap begins.
pub const LEFT: f64 = 52.0;
/// Where it ends.
pub const RIGHT: f64 = 414.0;
const TOP: f64 = 8.0;
const BOTTOM: f64 = 144.0;

/// The view box.
pub fn view_box() -> String {
    format!("0 0 {WIDTH} {HEIGHT}")
}

/// Where a distance along a lap of this length lies; a lap without length lies at its beginning.
pub fn along(distance_m: f64, length_m: f64) -> String {
    let share = if length_m > 0.0 { (distance_m / length_m).clamp(0.0, 1.0) } else { 0.0 };
    tenth(LEFT + share * (RIGHT - LEFT))
}

/// The ruled shares, from bottom to top. Targets lie near one percent, so a linear scale would show nothing but a line
/// along the bottom.
pub const RULED: [f64; 5] = [1e-4, 1e-3, 1e-2, 1e-1, 1.0];

/// Where a share of the lost picture lies, by its logarithm; what is less than the lowest ruled share lies on it.
pub fn height(share: f64) -> String {
    let decades = libm::log10(share.clamp(RULED[0], 1.0)) - libm::log10(RULED[0]);
    tenth(BOTTOM - decades / -libm::log10(RULED[0]) * (BOTTOM - TOP))
}

/// A ruled share in percent.
pub fn ruled_label(share: f64) -> String {
    format!("{}\u{a0}%", share * 100.0)
}

/// Lower end of a gate's tick.
pub fn tick_end() -> String {
    tenth(BOTTOM + 5.0)
}

/// Baseline of a gate's number.
pub fn tick_label() -> String {
    tenth(BOTTOM + 20.0)
}

/// A line through the samples, as the points of a polyline.
pub fn points(distances_m: &[f64], shares: &[f64], length_m: f64) -> String {
    let point = |(distance, share): (&f64, &f64)| format!("{},{}", along(*distance, length_m), height(*share));
    distances_m.iter().zip(shares).map(point).collect::<Vec<_>>().join(" ")
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_corners_of_the_plot_are_where_they_belong() {
        assert_eq!(points(&[0.0, 100.0], &[0.0, 1.0], 100.0), "52.0,144.0 414.0,8.0");
        assert_eq!(points(&[0.0, 100.0], &[f64::from(-1), 2.0], 100.0), "52.0,144.0 414.0,8.0");
        assert_eq!(along(3.0, 0.0), "52.0");
    }

    #[test]
    fn ruled_shares_are_evenly_spaced_and_read_in_percent() {
        let heights = RULED.map(|share| height(share).parse::<f64>().unwrap());
        for pair in heights.windows(2) {
            assert!((pair[0] - pair[1] - (BOTTOM - TOP) / 4.0).abs() < 0.11, "{heights:?}");
        }
        assert_eq!(RULED.map(ruled_label), ["0.01\u{a0}%", "0.1\u{a0}%", "1\u{a0}%", "10\u{a0}%", "100\u{a0}%"]);
    }
}

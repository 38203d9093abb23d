//! Places in the small plot of the hand comparison, in the units of its view box.

/// Width of the view box.
const WIDTH: f64 = 420.0;
/// Height of the view box.
const HEIGHT: f64 = 132.0;
/// Where the lap begins.
pub const LEFT: f64 = 44.0;
/// Where it ends.
pub const RIGHT: f64 = 414.0;
const TOP: f64 = 8.0;
const BOTTOM: f64 = 104.0;

/// The view box.
pub fn view_box() -> String {
    format!("0 0 {WIDTH} {HEIGHT}")
}

/// Where a distance along a lap of this length lies; a lap without length lies at its beginning.
pub fn along(distance_m: f64, length_m: f64) -> String {
    let share = if length_m > 0.0 { (distance_m / length_m).clamp(0.0, 1.0) } else { 0.0 };
    tenth(LEFT + share * (RIGHT - LEFT))
}

/// Where a share lies: 0 at the bottom, 1 at the top.
pub fn height(share: f64) -> String {
    tenth(BOTTOM - share.clamp(0.0, 1.0) * (BOTTOM - TOP))
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
        assert_eq!(points(&[0.0, 100.0], &[0.0, 1.0], 100.0), "44.0,104.0 414.0,8.0");
        assert_eq!(points(&[0.0, 100.0], &[f64::from(-1), 2.0], 100.0), "44.0,104.0 414.0,8.0");
        assert_eq!(along(3.0, 0.0), "44.0");
    }
}

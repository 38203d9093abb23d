//! The wave between the two antennas, drawn as it travels: both ellipses, the field on its way, a wall beside it, and what
//! the receiver makes of it.

#[cfg(target_arch = "wasm32")]
pub(in crate::bench) mod dials;
pub mod scene;
#[cfg(target_arch = "wasm32")]
mod view;
pub mod words;

#[cfg(target_arch = "wasm32")]
pub use view::{WaveView, WaveViewProps};

use crate::link::pair::hearing::PairReport;
use crate::link::pair::number::PairNumber;
use crate::link::pair::{PairLink, Side, beside};
use crate::plan::presets::typical_antenna;
use crate::rf::material::Material;
use crate::rf::polarization::Ellipse;
use crate::rf::wave::{Meeting, SideWall, meet};
use crate::units::{Db, Degrees, Hertz};

/// What the drawing has to know of an antenna.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaveEnd {
    /// The ellipse of the wave that it sends (or would send) toward the other one; a line in an exact null, where there is
    /// no wave.
    pub ellipse: Ellipse,
    /// Axial ratio of its circular antenna, as it is set; `None` where none can be set: for a linear antenna, and for a
    /// measured one.
    pub axial_ratio: Option<Db>,
    /// Whether it is a measured one.
    pub is_measured: bool,
    /// Its turn about the line, clockwise for someone who looks from it to the other.
    pub turn: Degrees,
}

impl WaveEnd {
    /// One end of a link that has been heard.
    pub fn of(link: &PairLink, report: &PairReport, side: Side) -> Self {
        let (end, heard) = (link.end(side), report.end(side));
        let typical = typical_antenna(end.antenna.kind).axial_ratio_db;
        let axial_ratio = end.antenna.axial_ratio_db.or(typical.map(|typical| typical.value));
        Self {
            ellipse: heard.ellipse.unwrap_or(Ellipse::linear(Degrees(90.0))),
            axial_ratio: heard.hand.and(axial_ratio).filter(|_| end.antenna.table.is_none()).map(Db),
            is_measured: end.antenna.table.is_some(),
            turn: Degrees(end.turn_deg),
        }
    }
}

/// A dial that somebody has moved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Dialled {
    /// The axial ratio of an antenna.
    AxialRatio(Side, Db),
    /// The turn of an antenna about the line.
    Turn(Side, Degrees),
    /// The wall beside the line, of what and at what angle; or none.
    Wall(Option<(Material, Degrees)>),
}

impl Dialled {
    /// The link with the dial where it is now. A dial stays within what a link allows, and a number that is none changes
    /// nothing.
    pub fn on(self, link: &PairLink) -> PairLink {
        let mut changed = link.clone();
        let (field, value) = match self {
            Self::Wall(wall) => return beside::put(link, wall),
            Self::AxialRatio(Side::Transmitter, value) => (PairNumber::TransmitAxialRatio, value.0),
            Self::AxialRatio(Side::Receiver, value) => (PairNumber::ReceiveAxialRatio, value.0),
            Self::Turn(Side::Transmitter, value) => (PairNumber::TransmitTurn, value.0),
            Self::Turn(Side::Receiver, value) => (PairNumber::ReceiveTurn, value.0),
        };
        let range = field.range();
        if !value.is_nan() {
            // Within its range every number is taken.
            let _ = field.set(&mut changed, Some(value.clamp(range.min, range.max)));
        }
        changed
    }
}

/// What the walls that can be put in are made of, with their names.
pub const WALLS: [(Material, &str); 4] = [
    (Material::Metal, "Metal"),
    (Material::Concrete, "Concrete"),
    (Material::Brick, "Brick"),
    (Material::Glass, "Glass"),
];

/// The angle to the ray at which a wall is put in.
pub const USUAL_GRAZING: Degrees = Degrees(55.0);

/// What happens between the two antennas; without the wall where its material has no properties at this frequency.
pub fn meeting(sender: &WaveEnd, receiver: &WaveEnd, wall: Option<&SideWall>, frequency: Hertz) -> Meeting {
    let wall = wall.and_then(|wall| Some((wall.grazing, wall.coefficients(frequency).ok()?)));
    meet(&sender.ellipse, &receiver.ellipse, scene::SEPARATION, wall)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::pair::hearing::hear;

    #[test]
    fn dials_change_the_link_and_nothing_beyond_its_ranges() {
        let link = PairLink::default();
        let turned = Dialled::Turn(Side::Receiver, Degrees(33.0)).on(&link);
        assert_eq!(turned.receiver.turn_deg, 33.0);
        let round = Dialled::AxialRatio(Side::Transmitter, Db(3.0)).on(&turned);
        assert_eq!(round.transmitter.antenna.axial_ratio_db, Some(3.0));
        let far = Dialled::AxialRatio(Side::Transmitter, Db(1e9)).on(&link);
        assert_eq!(far.check(), Ok(()));
        assert_eq!(Dialled::Turn(Side::Receiver, Degrees(f64::NAN)).on(&link), link);
        let walled = Dialled::Wall(Some((Material::Brick, Degrees(40.0)))).on(&link);
        assert!((beside::wall(&walled).unwrap().grazing.0 - 40.0).abs() < 1e-9);
        assert_eq!(Dialled::Wall(None).on(&walled), link);
    }

    /// The drawing shows what the link has: the whole way from the kit to the ellipse.
    #[test]
    fn the_drawn_ellipses_are_those_of_the_antennas_fields() {
        let mut link = PairLink::default();
        link.transmitter.height_m = link.receiver.height_m;
        link.transmitter.antenna.axial_ratio_db = Some(3.0);
        let report = hear(&link).unwrap();
        let [sender, receiver] = Side::ALL.map(|side| WaveEnd::of(&link, &report, side));
        assert_eq!(sender.axial_ratio, Some(Db(3.0)));
        assert!((sender.ellipse.axial_ratio.0 - 3.0).abs() < 1e-6, "{sender:?}");
        let taken = meeting(&sender, &receiver, None, Hertz(5.8e9)).direct.taken.total().norm_sqr();
        assert!(taken > 0.9, "two right-hand antennas");
    }
}

//! A wall beside a link: the obstacle that stands along the line, seen as what a wave bounces off.

use super::{PairLink, PairObstacle, PairObstacleKind};
use crate::plan::presets::typical_thickness;
use crate::rf::material::Material;
use crate::rf::wave::SideWall;
use crate::units::{Degrees, Metres, Radians};

/// How far the obstacle may be turned out of the line and still counts as standing beside it, in degrees.
const SKEW: f64 = 5.0;
/// Height of a wall that is put in: above both ends of the usual link.
const HEIGHT: Metres = Metres(6.0);

/// The wall beside the line, if the obstacle is one: a wall turned along the line, on either side.
pub fn wall(link: &PairLink) -> Option<SideWall> {
    let obstacle = link.obstacle.as_ref()?;
    let is_along = (obstacle.turn_deg.abs() - 90.0).abs() <= SKEW;
    if obstacle.kind != PairObstacleKind::Wall || !is_along || obstacle.aside_m == 0.0 {
        return None;
    }
    // The wave meets the wall halfway, as far off the line as the wall is.
    let grazing = Radians(libm::atan2(2.0 * obstacle.aside_m.abs(), link.distance_m)).degrees();
    Some(SideWall { material: obstacle.material, thickness: Metres(obstacle.thickness_m), grazing })
}

/// The link with a wall of this material beside it, at this angle to the wave that bounces off; without any for `None`. It
/// stands halfway along, as long as the line, on the right.
pub fn put(link: &PairLink, wall: Option<(Material, Degrees)>) -> PairLink {
    let obstacle = wall.map(|(material, grazing)| PairObstacle {
        kind: PairObstacleKind::Wall,
        distance_m: 0.5 * link.distance_m,
        aside_m: 0.5 * link.distance_m * libm::tan(grazing.radians().0),
        width_m: link.distance_m,
        turn_deg: 90.0,
        height_m: HEIGHT.0,
        material,
        thickness_m: typical_thickness(material).value,
        ..PairObstacle::default()
    });
    PairLink { obstacle, ..link.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::pair::hearing::hear;

    #[test]
    fn a_wall_that_is_put_in_is_found_again_at_its_angle() {
        let link = PairLink::default();
        assert_eq!(wall(&link), None);
        for (material, grazing) in [(Material::Metal, 5.0), (Material::Brick, 33.0), (Material::Concrete, 70.0)] {
            let with = put(&link, Some((material, Degrees(grazing))));
            let found = wall(&with).unwrap();
            assert_eq!(found.material, material);
            assert!((found.grazing.0 - grazing).abs() < 1e-9);
            assert_eq!(with.check(), Ok(()));
            assert_eq!(put(&with, None), link);
        }
        let across = PairLink { obstacle: Some(PairObstacle::default()), ..link };
        assert_eq!(wall(&across), None, "an obstacle across the line is in the way");
    }

    #[test]
    fn the_link_hears_the_bounce() {
        // Without ground nothing bounces at all: one path less with it than with ground and wall.
        let link = PairLink::default();
        let paths = |link: &PairLink| hear(link).unwrap().explanation.paths.len();
        for grazing in [8.0, 30.0, 60.0] {
            assert_eq!(paths(&put(&link, Some((Material::Metal, Degrees(grazing))))), paths(&link) + 1, "{grazing}");
        }
    }
}

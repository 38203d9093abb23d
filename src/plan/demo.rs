//! The plan that the page opens with: an invented race at an invented fair.

use super::document::Plan;
use super::load;

/// The demo plan as text.
pub const TEXT: &str = include_str!("demo.json");

/// The demo plan.
///
/// # Panics
/// Never: its text is part of the build, and a test loads it.
pub fn demo() -> Plan {
    load::load(TEXT).expect("a test loads the text that was built in")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::document::ObstacleShape;
    use crate::plan::{convert, presets};
    use crate::rf::Vec3;
    use crate::site::Scene;
    use crate::units::Hertz;

    #[test]
    fn the_demo_loads_and_is_what_its_description_says() {
        let plan = load::load(TEXT).unwrap();
        assert_eq!(plan, demo());
        assert_eq!((plan.site.obstacles.len(), plan.course.gates.len(), plan.entries.len()), (12, 7, 4));
        let crowds = plan.site.obstacles.iter().filter(|obstacle| matches!(obstacle.shape, ObstacleShape::Crowd(_)));
        assert_eq!(crowds.count(), 1);
        assert!(plan.receivers.iter().all(|receiver| receiver.ports.len() == 2));
        let powers: Vec<f64> = plan.entries.iter().map(|entry| entry.radios[0].power_dbm).collect();
        assert_eq!(powers, [12.0, 12.0, 8.0, 12.0]);
    }

    #[test]
    fn the_demo_states_all_its_kit_and_nothing_of_it_is_too_good() {
        let plan = demo();
        let ports = plan.receivers.iter().flat_map(|receiver| &receiver.ports).map(|port| &port.antenna);
        let aircraft = plan.entries.iter().flat_map(|entry| &entry.radios).map(|radio| &radio.antenna);
        for kit in ports.chain(aircraft) {
            for hand in kit.hand.cases() {
                let resolved = presets::resolve_antenna(kit, *hand).unwrap();
                assert_eq!((resolved.assumed.len(), resolved.remarks.len()), (0, 0), "{resolved:?}");
            }
        }
        for receiver in &plan.receivers {
            assert_eq!(presets::resolve_receiver(&receiver.picture, &receiver.noise).assumed, []);
        }
    }

    #[test]
    fn the_demo_is_flown_as_a_club_flies() {
        let plan = demo();
        let lap = convert::lap(&plan.course).unwrap();
        assert_eq!(lap.caveats, []);
        assert!((100.0..120.0).contains(&lap.length.0), "{}", lap.length);
        assert!((380..420).contains(&lap.samples.len()), "{}", lap.samples.len());
        let mean = lap.length.0 / lap.duration.0;
        assert!((10.0..14.0).contains(&mean), "{mean}");
        let scene = Scene::new(&convert::site(&plan.site), Hertz(5.6e9)).unwrap();
        // How far the line keeps from the nearest obstacle's middle does not say much; that a ball of two metres round
        // the aircraft is free of walls does.
        let around: Vec<Vec3> = (0..8)
            .map(|eighth| {
                let (sine, cosine) = libm::sincos(f64::from(eighth) * std::f64::consts::FRAC_PI_4);
                Vec3::new(2.0 * cosine, 2.0 * sine, 0.0)
            })
            .collect();
        for sample in &lap.samples {
            assert!(sample.position.z > 1.0 && (sample.attitude * Vec3::z()).z > 0.2, "{sample:?}");
            for offset in &around {
                assert_eq!(scene.inside(&(sample.position + offset)), None, "{sample:?}");
            }
        }
        for seat in &plan.seats {
            assert_eq!(scene.inside(&convert::seat_position(seat)), None, "{}", seat.name);
        }
    }

    #[test]
    fn what_is_saved_is_the_demo_text_in_other_clothes() {
        assert_eq!(load::load(&load::save(&demo())).unwrap(), demo());
    }
}

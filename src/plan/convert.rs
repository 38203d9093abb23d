//! From the plan to the inputs of course and site, and the turns of antennas.
//!
//! A plan without problems converts; what only the lower layers can find out (a line that folds, say) is their error.
//! Every obstacle keeps its index.

use nalgebra::{Matrix3, Rotation3};

use super::document::{
    BlockShape, CoursePlan, Gate, GateFrame, Mounting, ObstacleShape, PacePlan, Pad, Plan, Port, Seat, SitePlan,
};
use crate::course::{
    self, AttitudeModel, CourseError, FlightLine, GatePose, Lap, Limits, Pace, Pose, heading_direction,
};
use crate::rf::Vec3;
use crate::rf::absorption;
use crate::site::{self, FABRIC_DRY, FABRIC_WET, Ground, Layer, Obstacle, PlanPoint, Site};
use crate::units::{Db, Degrees, Metres, MetresPerSecond, MetresPerSecondSquared, Radians, Seconds};

/// A gate as the course takes it.
pub fn gate_pose(gate: &Gate) -> GatePose {
    GatePose { centre: Vec3::new(gate.x_m, gate.y_m, gate.height_m), heading: Degrees(gate.heading_deg).radians() }
}

/// The pace as the course takes it.
pub fn pace(pace: &PacePlan) -> Pace {
    match *pace {
        PacePlan::LapTime { lap_time_s } => Pace::LapTime(Seconds(lap_time_s)),
        PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 } => Pace::Limits(Limits {
            top_speed: MetresPerSecond(top_speed_m_per_s),
            sideways_acceleration: MetresPerSecondSquared(sideways_m_per_s2),
            forward_acceleration: MetresPerSecondSquared(forward_m_per_s2),
        }),
    }
}

/// The flight line through the gates.
///
/// # Errors
/// What the course finds wrong with the gates together, a fold of the line above all.
pub fn flight_line(course: &CoursePlan) -> Result<FlightLine, CourseError> {
    let gates: Vec<GatePose> = course.gates.iter().map(gate_pose).collect();
    FlightLine::through(&gates)
}

/// The sampled lap that all entries fly.
///
/// # Errors
/// As [`flight_line`], and a step too short for the length of the line.
pub fn lap(course: &CoursePlan) -> Result<Lap, CourseError> {
    let attitude = AttitudeModel { drag_per_metre: course.drag_per_m };
    course::lap(&flight_line(course)?, pace(&course.pace), attitude, Metres(course.step_m))
}

/// The aircraft on the start pad: level, at the height of its antenna.
pub fn pad_pose(pad: &Pad) -> Pose {
    Pose::level(Vec3::new(pad.x_m, pad.y_m, pad.height_m), Degrees(pad.heading_deg).radians())
}

/// The place as the path tracer takes it; obstacles in the plan's order.
pub fn site(plan: &SitePlan) -> Site {
    Site {
        ground: Ground { material: plan.ground, roughness: Metres(plan.roughness_m) },
        obstacles: plan.obstacles.iter().map(|item| obstacle(&item.shape, plan.wet)).collect(),
    }
}

/// The place with the metal frames of the gates behind the plan's obstacles, in flight order: see [`frame`].
pub fn site_with_frames(plan: &Plan) -> Site {
    let mut site = site(&plan.site);
    site.obstacles.extend(plan.course.gates.iter().filter_map(frame).map(Obstacle::Frame));
    site
}

/// The frame of a gate as the path tracer takes it; none unless it is of metal. It stands across the heading, its bar above
/// the opening, whose middle is the gate's.
pub fn frame(gate: &Gate) -> Option<site::Frame> {
    let GateFrame { opening_m: [width, height], tube_m } = *gate.frame.as_ref()?;
    let across = heading_direction(Degrees(gate.heading_deg + 90.0).radians()).xy() * ((width + tube_m) / 2.0);
    let centre = PlanPoint::new(gate.x_m, gate.y_m);
    let top = gate.height_m + (height + tube_m) / 2.0;
    Some(site::Frame { from: centre - across, to: centre + across, top: Metres(top), tube: Metres(tube_m) })
}

fn obstacle(shape: &ObstacleShape, wet: bool) -> Obstacle {
    match shape {
        ObstacleShape::Barrier(barrier) => Obstacle::Barrier(site::Barrier {
            from: PlanPoint::from(barrier.from_m),
            to: PlanPoint::from(barrier.to_m),
            top: Metres(barrier.height_m),
            covered: barrier.covered_share,
        }),
        ObstacleShape::Wall(wall) => Obstacle::Wall(site::Wall {
            from: PlanPoint::from(wall.from_m),
            to: PlanPoint::from(wall.to_m),
            base: Metres(0.0),
            top: Metres(wall.height_m),
            layer: Layer { material: wall.material, thickness: Metres(wall.thickness_m) },
        }),
        ObstacleShape::Building(block) => Obstacle::Building(building(block)),
        ObstacleShape::Stall(block) => Obstacle::Stall(building(block)),
        ObstacleShape::Canopy(canopy) => Obstacle::Canopy(site::Canopy {
            footprint: rectangle(canopy.centre_m, canopy.size_m, canopy.turn_deg).to_vec(),
            base: Metres(canopy.base_m),
            top: Metres(canopy.height_m),
            loss: if wet { FABRIC_WET } else { FABRIC_DRY },
        }),
        ObstacleShape::Tree(tree) => Obstacle::Tree(site::Tree {
            centre: PlanPoint::from(tree.centre_m),
            radius: Metres(tree.radius_m),
            base: Metres(tree.base_m),
            top: Metres(tree.height_m),
            loss_per_metre: Db(tree.loss_db_per_m),
            most_loss: absorption::VEGETATION_SATURATION,
        }),
        ObstacleShape::Crowd(crowd) => Obstacle::Crowd(site::Crowd {
            footprint: rectangle(crowd.centre_m, crowd.size_m, crowd.turn_deg).to_vec(),
            density: crowd.density_per_m2,
            head_height: Metres(crowd.head_height_m),
        }),
    }
}

fn building(block: &BlockShape) -> site::Building {
    site::Building {
        footprint: rectangle(block.centre_m, block.size_m, block.turn_deg).to_vec(),
        height: Metres(block.height_m),
        layer: Layer { material: block.material, thickness: Metres(block.thickness_m) },
    }
}

/// The corners of a rectangle turned clockwise about its centre; counter-clockwise from the one that is south-west
/// before the turn. Also for drawing it.
pub fn rectangle(centre_m: [f64; 2], size_m: [f64; 2], turn_deg: f64) -> [PlanPoint; 4] {
    let (sine, cosine) = libm::sincos(Degrees(turn_deg).radians().0);
    [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)].map(|(along, across)| {
        let (east, north) = (along * size_m[0], across * size_m[1]);
        PlanPoint::new(centre_m[0] + east * cosine + north * sine, centre_m[1] - east * sine + north * cosine)
    })
}

/// Where the antennas of a seat are.
pub fn seat_position(seat: &Seat) -> Vec3 {
    Vec3::new(seat.x_m, seat.y_m, seat.height_m)
}

/// The horizontal unit vector along which a seat looks.
pub fn seat_facing(seat: &Seat) -> Vec3 {
    heading_direction(Degrees(seat.facing_deg).radians())
}

/// From the frame of a port's antenna to the world: the antenna's x looks along the seat's facing, turned clockwise by
/// `aim_off_deg` and raised by `aim_up_deg`; its y stays level.
pub fn port_attitude(seat: &Seat, port: &Port) -> Rotation3<f64> {
    let heading = Degrees(seat.facing_deg + port.aim_off_deg).radians();
    let level = heading_direction(heading);
    let (sine, cosine) = libm::sincos(Degrees(port.aim_up_deg).radians().0);
    let look = Vec3::new(level.x * cosine, level.y * cosine, sine);
    // Left of a level direction (x, y) is (-y, x).
    let left = Vec3::new(-level.y, level.x, 0.0);
    Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[look, left, look.cross(&left)]))
}

/// From the frame of an antenna on the aircraft to the body frame (x forward, y left, z along the thrust).
///
/// Upright, the two frames agree: the antenna's axis is the thrust axis, and a patch looks forward. The antenna is first
/// leaned back, its axis going toward the tail, and then the whole is leaned to the right.
pub fn mounting_attitude(mounting: &Mounting) -> Rotation3<f64> {
    let (back_sine, back_cosine) = sincos(mounting.lean_back_deg);
    let (right_sine, right_cosine) = sincos(mounting.lean_right_deg);
    // About y by minus the lean back: z goes to (-sin, 0, cos).
    let back = Matrix3::new(back_cosine, 0.0, -back_sine, 0.0, 1.0, 0.0, back_sine, 0.0, back_cosine);
    // About x by the lean to the right: z goes to (0, -sin, cos), and -y is right.
    let right = Matrix3::new(1.0, 0.0, 0.0, 0.0, right_cosine, -right_sine, 0.0, right_sine, right_cosine);
    Rotation3::from_matrix_unchecked(right * back)
}

fn sincos(degrees: f64) -> (f64, f64) {
    let Radians(angle) = Degrees(degrees).radians();
    libm::sincos(angle)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::demo::demo;

    #[track_caller]
    fn near(got: Vec3, expected: [f64; 3]) {
        let expected = Vec3::from(expected);
        assert!((got - expected).norm() < 1e-12, "got {got:?}, expected {expected:?}");
    }

    fn mounted(lean_back_deg: f64, lean_right_deg: f64) -> Rotation3<f64> {
        mounting_attitude(&Mounting { lean_back_deg, lean_right_deg, frame_loss_db: None })
    }

    #[test]
    fn an_antenna_leans_toward_tail_and_right() {
        assert_eq!(mounted(0.0, 0.0), Rotation3::identity());
        let half = 0.5_f64.sqrt();
        // Body: x forward, y left. Tail is -x, right is -y.
        near(mounted(45.0, 0.0) * Vec3::z(), [-half, 0.0, half]);
        near(mounted(0.0, 45.0) * Vec3::z(), [0.0, -half, half]);
        near(mounted(90.0, 0.0) * Vec3::z(), [-1.0, 0.0, 0.0]);
        near(mounted(90.0, 0.0) * Vec3::x(), [0.0, 0.0, 1.0]);
        near(mounted(-90.0, 0.0) * Vec3::z(), [1.0, 0.0, 0.0]);
        near(mounted(30.0, 90.0) * Vec3::z(), [-0.5, -(0.75_f64.sqrt()), 0.0]);
    }

    #[test]
    fn a_port_looks_along_facing_and_aim() {
        let mut seat = demo().seats[0].clone();
        let mut port = demo().receivers[0].ports[0].clone();
        (seat.facing_deg, port.aim_off_deg, port.aim_up_deg) = (0.0, 0.0, 0.0);
        let north = port_attitude(&seat, &port);
        near(north * Vec3::x(), [0.0, 1.0, 0.0]);
        near(north * Vec3::y(), [-1.0, 0.0, 0.0]);
        near(north * Vec3::z(), [0.0, 0.0, 1.0]);
        (seat.facing_deg, port.aim_off_deg) = (60.0, 30.0);
        near(port_attitude(&seat, &port) * Vec3::x(), [1.0, 0.0, 0.0]);
        near(seat_facing(&seat), [0.75_f64.sqrt(), 0.5, 0.0]);
        port.aim_up_deg = 30.0;
        let raised = port_attitude(&seat, &port);
        near(raised * Vec3::x(), [0.75_f64.sqrt(), 0.0, 0.5]);
        near(raised * Vec3::z(), [-0.5, 0.0, 0.75_f64.sqrt()]);
        assert!((raised.matrix().determinant() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_rectangle_turns_clockwise() {
        let [south_west, south_east, ..] = rectangle([10.0, 5.0], [4.0, 2.0], 90.0);
        // The south-west corner, 2 m west and 1 m south of the centre, goes to 1 m west and 2 m north of it.
        assert!((south_west - PlanPoint::new(9.0, 7.0)).norm() < 1e-12);
        assert!((south_east - PlanPoint::new(9.0, 3.0)).norm() < 1e-12);
    }

    #[test]
    fn a_frame_stands_about_the_opening() {
        let mut plan = demo();
        let obstacles = plan.site.obstacles.len();
        assert_eq!(site_with_frames(&plan), site(&plan.site));
        let gate = &mut plan.course.gates[1];
        (gate.x_m, gate.y_m, gate.height_m, gate.heading_deg) = (10.0, 6.0, 1.5, 90.0);
        gate.frame = Some(GateFrame { opening_m: [2.0, 1.6], tube_m: 0.04 });
        let site = site_with_frames(&plan);
        assert_eq!(site.obstacles.len(), obstacles + 1);
        let Some(Obstacle::Frame(frame)) = site.obstacles.last() else { panic!("a frame") };
        // Flown to the east, its uprights stand 1.02 m to the north and to the south.
        let mut norths = [frame.from.y, frame.to.y];
        norths.sort_by(f64::total_cmp);
        assert!((norths[0] - 4.98).abs() < 1e-12 && (norths[1] - 7.02).abs() < 1e-12, "{norths:?}");
        assert!((frame.from.x - 10.0).abs() < 1e-12 && (frame.top.0 - 2.32).abs() < 1e-12);
        assert_eq!((frame.tube, site.obstacles[obstacles].check()), (Metres(0.04), Ok(())));
    }

    #[test]
    fn obstacles_keep_their_places_in_the_list() {
        let plan = demo().site;
        let site = site(&plan);
        assert_eq!(site.obstacles.len(), plan.obstacles.len());
        for (item, built) in plan.obstacles.iter().zip(&site.obstacles) {
            built.check().unwrap();
            match (&item.shape, built) {
                (ObstacleShape::Wall(wall), Obstacle::Wall(built)) => assert_eq!(built.top.0, wall.height_m),
                (ObstacleShape::Building(block), Obstacle::Building(built))
                | (ObstacleShape::Stall(block), Obstacle::Stall(built)) => {
                    let sum: PlanPoint = built.footprint.iter().sum();
                    assert!((sum / 4.0 - PlanPoint::from(block.centre_m)).norm() < 1e-12);
                }
                (ObstacleShape::Canopy(_), Obstacle::Canopy(built)) => assert_eq!(built.loss, FABRIC_DRY),
                (ObstacleShape::Tree(tree), Obstacle::Tree(built)) => assert_eq!(built.radius.0, tree.radius_m),
                (ObstacleShape::Crowd(crowd), Obstacle::Crowd(built)) => {
                    assert_eq!(built.density, crowd.density_per_m2);
                }
                other => panic!("another kind came out: {other:?}"),
            }
        }
        let wet = SitePlan { wet: true, ..plan };
        let canopies = self::site(&wet).obstacles;
        assert!(canopies.iter().any(|built| matches!(built, Obstacle::Canopy(canopy) if canopy.loss == FABRIC_WET)));
    }
}

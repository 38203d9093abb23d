//! How the parts of a plan are read from its text: the names of [`document`](super::document), once more.
//!
//! `serde` writes plans (its derived code is small), and reads them in tests, which hold the two against each other. A
//! field that is forgotten here does not compile.

use super::document::{
    AntennaKind, AntennaKit, BlockShape, CanopyShape, CoursePlan, CrowdShape, Entry, Feed, Gate, Mounting, Obstacle,
    ObstacleShape, PacePlan, Pad, Picture, Placement, Plan, Port, Purpose, Radio, Receiver, ReceiverNoise, Rules, Seat,
    SitePlan, StatedHand, Switching, Targets, TreeShape, WallShape,
};
use super::json_reader::{Reader, Stored, Wrong, stored_kinds};
use crate::rf::fading::Surroundings;
use crate::rf::feed::FeedLine;
use crate::rf::material::Material;
use crate::{stored_fields, stored_words};

stored_fields!(Plan {
    format, version, name, note = String::new(), site, course, seats, receivers, entries, rules, targets, seed
});
stored_fields!(SitePlan {
    width_m, depth_m, ground, roughness_m, surroundings, k_db, xpr_db, shadowing_db, wet = false, obstacles
});
stored_fields!(Obstacle { id, name, shape });
stored_kinds!(ObstacleShape {
    "wall" => Wall(WallShape),
    "building" => Building(BlockShape),
    "stall" => Stall(BlockShape),
    "canopy" => Canopy(CanopyShape),
    "tree" => Tree(TreeShape),
    "crowd" => Crowd(CrowdShape),
});
stored_fields!(WallShape { from_m, to_m, height_m, thickness_m, material });
stored_fields!(BlockShape { centre_m, size_m, turn_deg, height_m, thickness_m, material });
stored_fields!(CanopyShape { centre_m, size_m, turn_deg, base_m, height_m });
stored_fields!(TreeShape { centre_m, radius_m, base_m, height_m, loss_db_per_m });
stored_fields!(CrowdShape { centre_m, size_m, turn_deg, head_height_m, density_per_m2 });

stored_fields!(CoursePlan { gates, pace, drag_per_m, step_m, line_sigma_m, pad });
stored_fields!(Gate { id, name, x_m, y_m, height_m, heading_deg });
stored_kinds!(PacePlan {
    "lap_time" => LapTime { lap_time_s },
    "limits" => Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 },
});
stored_fields!(Pad { x_m, y_m, height_m, heading_deg });

stored_fields!(Seat { id, name, x_m, y_m, height_m, facing_deg });
stored_fields!(Receiver { id, name, seat, place, ports, switching = Switching::default(), picture, noise });
stored_words!(Placement { "worn" => Worn, "standing" => Standing });
stored_words!(Switching { "slow" => Slow, "fast" => Fast });
stored_fields!(Port { antenna, feed, aim_off_deg, aim_up_deg });
stored_fields!(AntennaKit { kind, hand, gain_dbi, axial_ratio_db, beamwidth_deg, rejection_db, table });
stored_words!(AntennaKind {
    "dipole" => Dipole,
    "whip" => Whip,
    "circular_omni" => CircularOmni,
    "circular_patch" => CircularPatch,
    "linear_patch" => LinearPatch,
    "helix" => Helix,
});
stored_words!(StatedHand { "right" => Right, "left" => Left, "unknown" => Unknown });
stored_fields!(Feed { line, length_m, connectors });
stored_kinds!(Picture {
    "analogue" => Analogue { bandwidth_hz, required_cn_db },
    "digital" => Digital { bandwidth_hz, required_cn_db, freeze_s },
});
stored_kinds!(ReceiverNoise {
    "noise_figure" => NoiseFigure { noise_figure_db },
    "sensitivity" => Sensitivity { level_dbm },
});

stored_fields!(Entry { id, name, receiver, channel_hz, radios });
stored_fields!(Radio { purpose, power_dbm, feed, antenna, mounting });
stored_words!(Purpose { "video" => Video });
stored_fields!(Mounting { lean_back_deg, lean_right_deg, frame_loss_db });
stored_fields!(Rules { eirp_limit_dbm, source = String::new() });
stored_fields!(Targets { picture_share, wanted_reserve_db });

stored_words!(Material {
    "concrete" => Concrete,
    "brick" => Brick,
    "plasterboard" => Plasterboard,
    "wood" => Wood,
    "glass" => Glass,
    "ceiling_board" => CeilingBoard,
    "chipboard" => Chipboard,
    "plywood" => Plywood,
    "marble" => Marble,
    "floorboard" => Floorboard,
    "vinyl_tile" => VinylTile,
    "carpet_tile" => CarpetTile,
    "asphalt_concrete" => AsphaltConcrete,
    "metal" => Metal,
    "very_dry_ground" => VeryDryGround,
    "medium_dry_ground" => MediumDryGround,
    "wet_ground" => WetGround,
});
stored_words!(Surroundings {
    "open_field" => OpenField,
    "village" => Village,
    "street_or_square" => StreetOrSquare,
    "tall_blocks" => TallBlocks,
    "hall" => Hall,
    "metal_hall" => MetalHall,
});
stored_words!(FeedLine {
    "rg178" => Rg178,
    "rg316" => Rg316,
    "double_shield28" => DoubleShield28,
    "rg405" => Rg405,
    "rg402" => Rg402,
    "micro137" => Micro137,
    "micro113" => Micro113,
    "micro081" => Micro081,
});

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::json_reader::read;
    use crate::plan::presets;
    use serde::Serialize;
    use std::fmt::Debug;

    /// Every one of a list is read as it is written.
    #[track_caller]
    fn comes_back<T: Stored + Serialize + PartialEq + Debug>(all: &[T]) {
        for item in all {
            let text = serde_json::to_string(item).unwrap();
            assert_eq!(read::<T>(&text).as_ref(), Ok(item), "{text}");
        }
    }

    #[test]
    fn every_word_is_read_as_it_is_written() {
        comes_back(&Surroundings::ALL);
        comes_back(&FeedLine::ALL);
        comes_back(&presets::ANTENNA_KINDS);
        comes_back(&[StatedHand::Right, StatedHand::Left, StatedHand::Unknown]);
        comes_back(&[Placement::Worn, Placement::Standing]);
        comes_back(&[Switching::Slow, Switching::Fast]);
        comes_back(&[Purpose::Video]);
        comes_back(&Material::ALL);
    }
}

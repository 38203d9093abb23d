//! The core held against tables, independent numbers and properties, subject by subject; one program, so that it is linked once.
//! `cargo test --test subjects polarization` runs one subject.

mod absorption;
mod antenna_nec;
mod contrast;
mod course;
mod crowd;
mod diffraction_tables;
mod exposure;
mod field_loss;
mod free_space;
mod fresnel_halfspace;
mod knife_edge;
mod laps_in_time;
mod link;
mod link_two_ray;
mod map;
mod measured_antenna;
mod noise;
mod obstruction;
mod pair;
mod plan;
mod polarization;
mod reference_table;
mod rice_lcr;
mod rice_outage;
mod room_paths;
mod scatter;
mod shares_flown;
mod simulator;
mod site_paths;
mod slab;
mod special;
mod stage_keys;
mod two_ray;
mod wideband;
mod yards;

//! Everything a plan says that cannot be: a problem names the place, what stands there, and what may.

use std::collections::HashSet;

use super::document::{
    AntennaKit, BlockShape, CoursePlan, Entry, Feed, ObstacleShape, PacePlan, Picture, Plan, Port, Purpose, Radio,
    Receiver, ReceiverNoise, SitePlan,
};
use super::document::{FORMAT, VERSION};
use super::limits::{self, Count, Range, plain};
use super::presets::measured_cut;

/// Something in a plan that cannot be.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{path} is {value}: allowed are {allowed}")]
pub struct PlanProblem {
    /// Where: the path of the field in the document, for example `entries[1].radios[0].power_dbm`.
    pub path: String,
    /// What stands there.
    pub value: String,
    /// What may stand there.
    pub allowed: String,
}

impl PlanProblem {
    pub(super) fn new(path: impl Into<String>, value: impl Into<String>, allowed: impl Into<String>) -> Self {
        Self { path: path.into(), value: value.into(), allowed: allowed.into() }
    }

    /// An index that names nothing in a list of `count` items.
    pub fn missing_index(path: &str, index: usize, count: usize) -> Self {
        let allowed = match count {
            0 => "no indices, as the list is empty".to_owned(),
            _ => format!("indices from 0 to {}", count - 1),
        };
        Self::new(path, format!("asked for index {index}"), allowed)
    }
}

/// Every problem of the plan, in the order of the document; empty for a plan that can be computed.
///
/// Nothing is taken on trust: a plan built in code, with NaN or with lists of any length, gets problems and no panic.
/// Lists that are too long are named and not looked into.
pub fn problems(plan: &Plan) -> Vec<PlanProblem> {
    let mut checker = Checker::default();
    checker.plan(plan);
    checker.problems
}

/// Collects problems on one walk through the document.
#[derive(Default)]
struct Checker {
    problems: Vec<PlanProblem>,
}

impl Checker {
    fn problem(&mut self, path: String, value: impl Into<String>, allowed: impl Into<String>) {
        self.problems.push(PlanProblem::new(path, value, allowed));
    }

    fn number(&mut self, path: String, value: f64, range: Range) {
        if !range.contains(value) {
            self.problem(path, plain(value), range.to_string());
        }
    }

    fn optional(&mut self, path: String, value: Option<f64>, range: Range) {
        if let Some(value) = value {
            self.number(path, value, range);
        }
    }

    /// Whether the list may be looked into.
    fn length(&mut self, path: &str, length: usize, count: Count) -> bool {
        if !count.contains(length) {
            self.problem(path.to_owned(), format!("a list of {length}"), format!("lists of {count}"));
        }
        length <= count.max
    }

    /// A text of one line: control characters would run riot in a terminal or a table.
    fn line(&mut self, path: String, text: &str, count: Count) {
        self.text(&path, text, count);
        if text.chars().any(char::is_control) {
            self.problem(path, "a text with a line break or control character", "texts of one line");
        }
    }

    fn text(&mut self, path: &str, text: &str, count: Count) {
        let length = text.chars().count();
        if !count.contains(length) {
            self.problem(path.to_owned(), format!("{length} characters long"), format!("texts of {count}"));
        }
    }

    /// Ids of a list: short, plain and unique.
    fn ids<'a>(&mut self, list: &str, ids: impl Iterator<Item = &'a str>) {
        let mut seen = HashSet::new();
        for (index, id) in ids.enumerate() {
            let path = format!("{list}[{index}].id");
            let plain = id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
            if !limits::ID.contains(id.chars().count()) {
                self.text(&path, id, limits::ID);
            } else if !plain {
                self.problem(path, quoted(id), "letters a to z, digits, hyphens and underscores");
            } else if !seen.insert(id) {
                self.problem(path, quoted(id), "ids that no other item of the list has");
            }
        }
    }

    fn reference<'a>(&mut self, path: String, id: &str, list: &str, mut ids: impl Iterator<Item = &'a str>) {
        if !ids.any(|known| known == id) {
            self.problem(path, quoted(id), format!("ids of {list}"));
        }
    }

    fn plan(&mut self, plan: &Plan) {
        if plan.format != FORMAT {
            self.problem("format".into(), quoted(&plan.format), quoted(FORMAT));
        }
        let lowest = plan.lowest_version();
        if plan.version < lowest || plan.version > VERSION {
            self.problem("version".into(), plan.version.to_string(), format!("versions from {lowest} to {VERSION}"));
        }
        self.line("name".into(), &plan.name, limits::NAME);
        self.text("note", &plan.note, limits::NOTE);
        self.site(&plan.site);
        self.course(&plan.course, &plan.site);

        let seats = &plan.seats;
        if self.length("seats", seats.len(), limits::SEATS) {
            self.ids("seats", seats.iter().map(|seat| seat.id.as_str()));
            for (index, seat) in seats.iter().enumerate() {
                let path = format!("seats[{index}]");
                self.line(format!("{path}.name"), &seat.name, limits::NAME);
                self.on_site(&path, seat.x_m, seat.y_m, &plan.site);
                self.number(format!("{path}.height_m"), seat.height_m, limits::SEAT_HEIGHT_M);
                self.number(format!("{path}.facing_deg"), seat.facing_deg, limits::TURN_DEG);
                self.in_the_open(&path, [seat.x_m, seat.y_m], seat.height_m, &plan.site);
            }
        }
        let receivers = &plan.receivers;
        if self.length("receivers", receivers.len(), limits::RECEIVERS) {
            self.ids("receivers", receivers.iter().map(|receiver| receiver.id.as_str()));
            for (index, receiver) in receivers.iter().enumerate() {
                let path = format!("receivers[{index}]");
                let ids = seats.iter().map(|seat| seat.id.as_str());
                self.reference(format!("{path}.seat"), &receiver.seat, "seats", ids);
                self.receiver(&path, receiver);
            }
        }
        if self.length("entries", plan.entries.len(), limits::ENTRIES) {
            self.ids("entries", plan.entries.iter().map(|entry| entry.id.as_str()));
            for (index, entry) in plan.entries.iter().enumerate() {
                let path = format!("entries[{index}]");
                let ids = receivers.iter().map(|receiver| receiver.id.as_str());
                self.reference(format!("{path}.receiver"), &entry.receiver, "receivers", ids);
                self.entry(&path, entry);
            }
        }
        self.length("antennas.table", plan.table_rows(), limits::TABLE_ROWS);
        self.optional("rules.eirp_limit_dbm".into(), plan.rules.eirp_limit_dbm, limits::EIRP_LIMIT_DBM);
        self.line("rules.source".into(), &plan.rules.source, limits::RULE_SOURCE);
        self.number("targets.picture_share".into(), plan.targets.picture_share, limits::PICTURE_SHARE);
        self.number("targets.wanted_reserve_db".into(), plan.targets.wanted_reserve_db, limits::WANTED_RESERVE_DB);
    }

    fn site(&mut self, site: &SitePlan) {
        self.number("site.width_m".into(), site.width_m, limits::SITE_SIDE_M);
        self.number("site.depth_m".into(), site.depth_m, limits::SITE_SIDE_M);
        self.number("site.roughness_m".into(), site.roughness_m, limits::ROUGHNESS_M);
        self.optional("site.k_db".into(), site.k_db, limits::SCATTER_K_DB);
        self.optional("site.xpr_db".into(), site.xpr_db, limits::SCATTER_XPR_DB);
        self.optional("site.shadowing_db".into(), site.shadowing_db, limits::SHADOWING_DB);
        if !self.length("site.obstacles", site.obstacles.len(), limits::OBSTACLES) {
            return;
        }
        self.ids("site.obstacles", site.obstacles.iter().map(|obstacle| obstacle.id.as_str()));
        for (index, obstacle) in site.obstacles.iter().enumerate() {
            let path = format!("site.obstacles[{index}]");
            self.line(format!("{path}.name"), &obstacle.name, limits::NAME);
            self.shape(&path, &obstacle.shape, site);
        }
        let people = site.obstacles.iter().map(|obstacle| match &obstacle.shape {
            ObstacleShape::Crowd(crowd) => crowd.size_m[0] * crowd.size_m[1] * crowd.density_per_m2,
            _ => 0.0,
        });
        let people: f64 = people.sum();
        if !limits::PEOPLE.contains(people) {
            self.problem("site.obstacles".into(), format!("{people:.0} people"), limits::PEOPLE.to_string());
        }
    }

    fn shape(&mut self, obstacle: &str, shape: &ObstacleShape, site: &SitePlan) {
        let kind = match shape {
            ObstacleShape::Wall(_) => "wall",
            ObstacleShape::Building(_) => "building",
            ObstacleShape::Stall(_) => "stall",
            ObstacleShape::Canopy(_) => "canopy",
            ObstacleShape::Tree(_) => "tree",
            ObstacleShape::Crowd(_) => "crowd",
        };
        let path = format!("{obstacle}.shape.{kind}");
        match shape {
            ObstacleShape::Wall(wall) => {
                self.near_site(format!("{path}.from_m"), wall.from_m, site);
                self.near_site(format!("{path}.to_m"), wall.to_m, site);
                let length = libm::hypot(wall.to_m[0] - wall.from_m[0], wall.to_m[1] - wall.from_m[1]);
                if !limits::OBSTACLE_SIDE_M.contains(length) {
                    let length = format!("{} m away from the other end", plain(length));
                    self.problem(format!("{path}.to_m"), length, limits::OBSTACLE_SIDE_M.to_string());
                }
                self.number(format!("{path}.height_m"), wall.height_m, limits::OBSTACLE_HEIGHT_M);
                self.number(format!("{path}.thickness_m"), wall.thickness_m, limits::WALL_THICKNESS_M);
            }
            ObstacleShape::Building(block) | ObstacleShape::Stall(block) => {
                self.rectangle(&path, block.centre_m, block.size_m, block.turn_deg, site);
                self.number(format!("{path}.height_m"), block.height_m, limits::OBSTACLE_HEIGHT_M);
                self.number(format!("{path}.thickness_m"), block.thickness_m, limits::WALL_THICKNESS_M);
            }
            ObstacleShape::Canopy(canopy) => {
                self.rectangle(&path, canopy.centre_m, canopy.size_m, canopy.turn_deg, site);
                self.base_and_top(&path, canopy.base_m, canopy.height_m);
            }
            ObstacleShape::Tree(tree) => {
                self.near_site(format!("{path}.centre_m"), tree.centre_m, site);
                self.number(format!("{path}.radius_m"), tree.radius_m, limits::CROWN_RADIUS_M);
                self.base_and_top(&path, tree.base_m, tree.height_m);
                self.number(format!("{path}.loss_db_per_m"), tree.loss_db_per_m, limits::CROWN_LOSS_DB_PER_M);
            }
            ObstacleShape::Crowd(crowd) => {
                self.rectangle(&path, crowd.centre_m, crowd.size_m, crowd.turn_deg, site);
                self.number(format!("{path}.head_height_m"), crowd.head_height_m, limits::HEAD_HEIGHT_M);
                self.number(format!("{path}.density_per_m2"), crowd.density_per_m2, limits::CROWD_DENSITY_PER_M2);
            }
        }
    }

    fn rectangle(&mut self, path: &str, centre: [f64; 2], size: [f64; 2], turn_deg: f64, site: &SitePlan) {
        self.near_site(format!("{path}.centre_m"), centre, site);
        for (axis, side) in size.into_iter().enumerate() {
            self.number(format!("{path}.size_m[{axis}]"), side, limits::OBSTACLE_SIDE_M);
        }
        self.number(format!("{path}.turn_deg"), turn_deg, limits::TURN_DEG);
    }

    fn base_and_top(&mut self, path: &str, base_m: f64, height_m: f64) {
        self.number(format!("{path}.base_m"), base_m, limits::BASE_HEIGHT_M);
        self.number(format!("{path}.height_m"), height_m, limits::OBSTACLE_HEIGHT_M);
        if height_m <= base_m {
            let allowed = format!("heights above the lower edge at {} m", plain(base_m));
            self.problem(format!("{path}.height_m"), plain(height_m), allowed);
        }
    }

    /// A point of an obstacle: on the site or a little beyond its border.
    fn near_site(&mut self, path: String, point: [f64; 2], site: &SitePlan) {
        let beyond = limits::OBSTACLE_BEYOND_M;
        for (axis, extent) in [site.width_m, site.depth_m].into_iter().enumerate() {
            let range = Range { min: -beyond, max: extent + beyond, unit: "m" };
            self.number(format!("{path}[{axis}]"), point[axis], range);
        }
    }

    fn on_site(&mut self, path: &str, x_m: f64, y_m: f64, site: &SitePlan) {
        self.number(format!("{path}.x_m"), x_m, Range { min: 0.0, max: site.width_m, unit: "m" });
        self.number(format!("{path}.y_m"), y_m, Range { min: 0.0, max: site.depth_m, unit: "m" });
    }

    fn course(&mut self, course: &CoursePlan, site: &SitePlan) {
        if self.length("course.gates", course.gates.len(), limits::GATES) {
            self.ids("course.gates", course.gates.iter().map(|gate| gate.id.as_str()));
            for (index, gate) in course.gates.iter().enumerate() {
                let path = format!("course.gates[{index}]");
                self.line(format!("{path}.name"), &gate.name, limits::NAME);
                self.on_site(&path, gate.x_m, gate.y_m, site);
                self.number(format!("{path}.height_m"), gate.height_m, limits::GATE_HEIGHT_M);
                self.number(format!("{path}.heading_deg"), gate.heading_deg, limits::TURN_DEG);
                self.in_the_open(&path, [gate.x_m, gate.y_m], gate.height_m, site);
            }
            self.spacing(course);
        }
        match &course.pace {
            PacePlan::LapTime { lap_time_s } => {
                self.number("course.pace.lap_time.lap_time_s".into(), *lap_time_s, limits::LAP_TIME_S);
            }
            PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 } => {
                let path = "course.pace.limits";
                self.number(format!("{path}.top_speed_m_per_s"), *top_speed_m_per_s, limits::TOP_SPEED_M_PER_S);
                self.number(format!("{path}.sideways_m_per_s2"), *sideways_m_per_s2, limits::SIDEWAYS_M_PER_S2);
                self.number(format!("{path}.forward_m_per_s2"), *forward_m_per_s2, limits::FORWARD_M_PER_S2);
            }
        }
        self.number("course.drag_per_m".into(), course.drag_per_m, limits::DRAG_PER_M);
        self.number("course.step_m".into(), course.step_m, limits::STEP_M);
        self.number("course.line_sigma_m".into(), course.line_sigma_m, limits::LINE_SIGMA_M);
        let pad = &course.pad;
        self.on_site("course.pad", pad.x_m, pad.y_m, site);
        self.number("course.pad.height_m".into(), pad.height_m, limits::PAD_HEIGHT_M);
        self.number("course.pad.heading_deg".into(), pad.heading_deg, limits::TURN_DEG);
        self.in_the_open("course.pad", [pad.x_m, pad.y_m], pad.height_m, site);
    }

    /// Gates apart from each other, and a step that fits the length of the course.
    fn spacing(&mut self, course: &CoursePlan) {
        let count = course.gates.len();
        let mut length = 0.0;
        for (index, gate) in course.gates.iter().enumerate() {
            let next = &course.gates[(index + 1) % count];
            let level = libm::hypot(next.x_m - gate.x_m, next.y_m - gate.y_m);
            let distance = libm::hypot(level, next.height_m - gate.height_m);
            length += distance;
            if !limits::GATE_SPACING_M.contains(distance) && count > 1 {
                let distance = format!("{} m away from the next gate", plain(distance));
                self.problem(format!("course.gates[{index}]"), distance, limits::GATE_SPACING_M.to_string());
            }
        }
        let samples = length / course.step_m;
        let (least, most) = (limits::LAP_SAMPLES.min as f64, limits::LAP_SAMPLES.max as f64);
        if limits::STEP_M.contains(course.step_m) && count > 1 && !(least..=most).contains(&samples) {
            let allowed = format!("{:.3} to {:.3} m on a course of this length", length / most, length / least);
            self.problem("course.step_m".into(), plain(course.step_m), allowed);
        }
    }

    /// Not inside a building or a stall, where no path is traced; above its roof is fine.
    fn in_the_open(&mut self, path: &str, point: [f64; 2], height_m: f64, site: &SitePlan) {
        for obstacle in site.obstacles.iter().take(limits::OBSTACLES.max) {
            if let ObstacleShape::Building(block) | ObstacleShape::Stall(block) = &obstacle.shape
                && height_m <= block.height_m
                && covers(block, point)
            {
                let value = format!("inside {}", quoted(&obstacle.name));
                self.problem(path.to_owned(), value, "places outside buildings and stalls");
            }
        }
    }

    fn receiver(&mut self, path: &str, receiver: &Receiver) {
        self.line(format!("{path}.name"), &receiver.name, limits::NAME);
        if self.length(&format!("{path}.ports"), receiver.ports.len(), limits::PORTS) {
            for (index, port) in receiver.ports.iter().enumerate() {
                self.port(&format!("{path}.ports[{index}]"), port);
            }
        }
        let (kind, bandwidth_hz, required_cn_db) = match &receiver.picture {
            Picture::Analogue { bandwidth_hz, required_cn_db } => ("analogue", bandwidth_hz, required_cn_db),
            Picture::Digital { bandwidth_hz, required_cn_db, freeze_s } => {
                self.number(format!("{path}.picture.digital.freeze_s"), *freeze_s, limits::FREEZE_S);
                ("digital", bandwidth_hz, required_cn_db)
            }
        };
        self.number(format!("{path}.picture.{kind}.bandwidth_hz"), *bandwidth_hz, limits::BANDWIDTH_HZ);
        self.optional(format!("{path}.picture.{kind}.required_cn_db"), *required_cn_db, limits::REQUIRED_CN_DB);
        match &receiver.noise {
            ReceiverNoise::NoiseFigure { noise_figure_db } => {
                let path = format!("{path}.noise.noise_figure.noise_figure_db");
                self.optional(path, *noise_figure_db, limits::NOISE_FIGURE_DB);
            }
            ReceiverNoise::Sensitivity { level_dbm } => {
                self.number(format!("{path}.noise.sensitivity.level_dbm"), *level_dbm, limits::SENSITIVITY_DBM);
            }
        }
    }

    fn port(&mut self, path: &str, port: &Port) {
        self.kit(&format!("{path}.antenna"), &port.antenna);
        self.feed(&format!("{path}.feed"), &port.feed);
        self.number(format!("{path}.aim_off_deg"), port.aim_off_deg, limits::AIM_OFF_DEG);
        self.number(format!("{path}.aim_up_deg"), port.aim_up_deg, limits::AIM_UP_DEG);
    }

    fn kit(&mut self, path: &str, kit: &AntennaKit) {
        self.optional(format!("{path}.gain_dbi"), kit.gain_dbi, limits::GAIN_DBI);
        self.optional(format!("{path}.axial_ratio_db"), kit.axial_ratio_db, limits::AXIAL_RATIO_DB);
        self.optional(format!("{path}.beamwidth_deg"), kit.beamwidth_deg, limits::BEAMWIDTH_DEG);
        self.optional(format!("{path}.rejection_db"), kit.rejection_db, limits::REJECTION_DB);
        if let Some(Err(wrong)) = kit.table.as_ref().map(|table| measured_cut(kit.kind, table)) {
            let row = wrong.row().map(|row| format!("[{row}]")).unwrap_or_default();
            self.problem(format!("{path}.table{row}"), wrong.found(), wrong.allowed());
        }
    }

    fn feed(&mut self, path: &str, feed: &Feed) {
        self.number(format!("{path}.length_m"), feed.length_m, limits::FEED_LENGTH_M);
        self.number(format!("{path}.connectors"), f64::from(feed.connectors), limits::CONNECTORS);
    }

    fn entry(&mut self, path: &str, entry: &Entry) {
        self.line(format!("{path}.name"), &entry.name, limits::NAME);
        self.number(format!("{path}.channel_hz"), entry.channel_hz, limits::CHANNEL_HZ);
        let radios = &entry.radios;
        let video = radios.iter().filter(|radio| radio.purpose == Purpose::Video).count();
        if self.length(&format!("{path}.radios"), video, limits::VIDEO_RADIOS) {
            for (index, radio) in radios.iter().enumerate() {
                self.radio(&format!("{path}.radios[{index}]"), radio);
            }
        }
    }

    fn radio(&mut self, path: &str, radio: &Radio) {
        self.number(format!("{path}.power_dbm"), radio.power_dbm, limits::POWER_DBM);
        self.feed(&format!("{path}.feed"), &radio.feed);
        self.kit(&format!("{path}.antenna"), &radio.antenna);
        let mounting = &radio.mounting;
        self.number(format!("{path}.mounting.lean_back_deg"), mounting.lean_back_deg, limits::LEAN_DEG);
        self.number(format!("{path}.mounting.lean_right_deg"), mounting.lean_right_deg, limits::LEAN_DEG);
        self.optional(format!("{path}.mounting.frame_loss_db"), mounting.frame_loss_db, limits::FRAME_LOSS_DB);
    }
}

/// A text in quotation marks, short enough for a sentence, with control characters made visible.
pub fn quoted(text: &str) -> String {
    let marked = text.replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{}\"", legible(&marked, 60))
}

/// So many letters of a text at most, with control characters made visible.
pub(super) fn legible(text: &str, most: usize) -> String {
    let mut shown = String::new();
    for letter in text.chars().take(most) {
        match letter {
            // What turns the way of writing, or has no width. The library's own list of what cannot be printed costs the
            // page 3 kB.
            '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' => {
                shown.extend(letter.escape_unicode());
            }
            _ if letter.is_control() => shown.extend(letter.escape_unicode()),
            _ => shown.push(letter),
        }
    }
    if text.chars().nth(most).is_some() {
        shown.push('…');
    }
    shown
}

/// Whether a block covers a point of the plan; its border belongs to it.
fn covers(block: &BlockShape, point: [f64; 2]) -> bool {
    let (sine, cosine) = libm::sincos(block.turn_deg.to_radians());
    let (east, north) = (point[0] - block.centre_m[0], point[1] - block.centre_m[1]);
    // The block is turned clockwise; turning the point back counter-clockwise gives the block's own axes.
    let (along, across) = (east * cosine - north * sine, east * sine + north * cosine);
    along.abs() <= block.size_m[0] / 2.0 && across.abs() <= block.size_m[1] / 2.0
}

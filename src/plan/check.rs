//! Everything a plan says that cannot be: a problem names the place, what stands there, and what may.

use std::collections::HashSet;

use super::convert;
use super::document::{
    AntennaKit, BlockShape, CoursePlan, Entry, Feed, Mounting, ObstacleShape, PacePlan, Picture, Plan, Port, Purpose,
    Radio, Receiver, ReceiverNoise, SitePlan,
};
use super::document::{FORMAT, VERSION};
use super::limits::{self, Count, Range, plain, with_unit};
use super::presets::measured_cut;
use crate::course::{CourseError, MAX_LENGTH, MAX_SAMPLES};

/// Something in a plan that cannot be, said in a sentence that begins with the thing as people call it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{said} ({path})")]
pub struct PlanProblem {
    /// Where: the path of the field in the document, for example `entries[1].radios[0].power_dbm`.
    pub path: String,
    /// What stands there, and what may.
    pub said: String,
}

impl PlanProblem {
    pub(super) fn new(path: impl Into<String>, said: impl Into<String>) -> Self {
        Self { path: path.into(), said: said.into() }
    }

    /// An index that names nothing in a list of `count` items.
    pub fn missing_index(path: &str, index: usize, count: usize) -> Self {
        let number = index.saturating_add(1);
        let there_are = if count == 1 { "is" } else { "are" };
        Self::new(path, format!("number {number} is asked for, and there {there_are} {count}"))
    }
}

/// Every problem of the plan, in the order of the document; empty for a plan that can be computed.
///
/// Nothing is taken on trust: a plan built in code, with NaN or with lists of any length, gets problems and no panic.
/// Lists that are too long are named and not looked into. What the layers below refuse is refused here, but for one
/// thing: a flight line that folds is a plan in the making, is kept, and is told beside the course.
pub fn problems(plan: &Plan) -> Vec<PlanProblem> {
    let mut checker = Checker::default();
    checker.plan(plan);
    checker.problems
}

/// A place in the document and what people call it. Both are put into words where there is a problem, and only there: a
/// plan is checked at every step of a drag.
#[derive(Clone, Copy)]
struct Place<'a> {
    above: Option<&'a Place<'a>>,
    key: &'a str,
    index: Option<usize>,
    words: &'a str,
    /// The name of a thing that has one.
    name: Option<&'a str>,
}

impl<'a> Place<'a> {
    const fn top(key: &'a str, words: &'a str) -> Self {
        Self { above: None, key, index: None, words, name: None }
    }

    /// What stands under a key.
    const fn of(&'a self, key: &'a str, words: &'a str) -> Self {
        Self { above: Some(self), ..Self::top(key, words) }
    }

    /// An item of this list, called by its number.
    const fn item(&self, index: usize, words: &'a str) -> Self {
        Self { index: Some(index), words, ..*self }
    }

    /// An item of this list that has a name; without one it is called by its number.
    const fn named(&self, index: usize, words: &'a str, name: &'a str) -> Self {
        Self { name: Some(name), ..self.item(index, words) }
    }

    fn path(&self) -> String {
        let above = self.above.map(Place::path).unwrap_or_default();
        let point = if above.is_empty() || self.key.is_empty() { "" } else { "." };
        let index = self.index.map(|index| format!("[{index}]")).unwrap_or_default();
        format!("{above}{point}{}{index}", self.key)
    }

    /// "Tansy, transmitter power".
    fn what(&self) -> String {
        let (owner, words) = self.owner_and_words();
        let between = if owner.is_empty() || words.is_empty() { "" } else { ", " };
        format!("{owner}{between}{words}")
    }

    fn owner_and_words(&self) -> (String, String) {
        let own = match (self.name, self.index) {
            (Some(name), _) if !name.trim().is_empty() => legible(name, limits::NAME.max),
            (_, Some(index)) => format!("{} {}", self.words, index + 1),
            _ => self.words.to_owned(),
        };
        match self.above {
            None if self.index.is_some() => (own, String::new()),
            None => (String::new(), own),
            Some(above) => {
                let (owner, words) = above.owner_and_words();
                let between = if words.is_empty() || own.is_empty() { "" } else { " " };
                (owner, format!("{words}{between}{own}"))
            }
        }
    }

    /// The same as the beginning of a sentence about it.
    fn told(&self) -> String {
        let what = self.what();
        if what.is_empty() { what } else { format!("{what}: ") }
    }
}

/// How many may be, without what is counted.
fn bounds(count: Count) -> String {
    if count.min == 0 { format!("at most {}", count.max) } else { format!("{} to {}", count.min, count.max) }
}

/// Collects problems on one walk through the document.
#[derive(Default)]
struct Checker {
    problems: Vec<PlanProblem>,
}

impl Checker {
    /// A problem of a place, told after its name.
    fn problem(&mut self, place: Place<'_>, said: impl AsRef<str>) {
        self.problems.push(PlanProblem::new(place.path(), place.told() + said.as_ref()));
    }

    fn number(&mut self, place: Place<'_>, value: f64, range: Range) {
        if !range.contains(value) {
            self.problem(place, format!("{}; must be {range}", with_unit(plain(value), range.unit)));
        }
    }

    fn optional(&mut self, place: Place<'_>, value: Option<f64>, range: Range) {
        if let Some(value) = value {
            self.number(place, value, range);
        }
    }

    /// Whether the list may be looked into.
    fn length(&mut self, place: Place<'_>, length: usize, count: Count) -> bool {
        if !count.contains(length) {
            self.problem(place, format!("{length} {}; must be {}", count.of, bounds(count)));
        }
        length <= count.max
    }

    /// A text of one line: control characters would run riot in a terminal or a table.
    fn line(&mut self, place: Place<'_>, text: &str, count: Count) {
        self.text(place, text, count);
        if text.chars().any(char::is_control) {
            self.problem(place, "a text with a line break or control character; must be one line");
        }
    }

    fn text(&mut self, place: Place<'_>, text: &str, count: Count) {
        let length = text.chars().count();
        if !count.contains(length) {
            self.problem(place, format!("{length} {}; must be {}", count.of, bounds(count)));
        }
    }

    /// Ids of a list: short, plain and unique.
    fn ids<'a>(&mut self, list: Place<'_>, words: &str, ids: impl Iterator<Item = &'a str>) {
        let mut seen = HashSet::new();
        for (index, id) in ids.enumerate() {
            let item = list.item(index, words);
            let place = item.of("id", "id");
            let is_plain = id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
            if !limits::ID.contains(id.chars().count()) {
                self.text(place, id, limits::ID);
            } else if !is_plain {
                self.problem(place, format!("{}; must be letters a to z, digits, hyphens and underscores", quoted(id)));
            } else if !seen.insert(id) {
                self.problems.push(PlanProblem::new(place.path(), format!("the id {} is used twice", quoted(id))));
            }
        }
    }

    fn reference<'a>(&mut self, place: Place<'_>, id: &str, ids: impl Iterator<Item = &'a str> + Clone) {
        if ids.clone().any(|known| known == id) {
            return;
        }
        let known: Vec<String> = ids.take(limits::SEATS.max).map(quoted).collect();
        let known = if known.is_empty() { "there is none".to_owned() } else { format!("must be {}", known.join(", ")) };
        self.problem(place, format!("{} is not there; {known}", quoted(id)));
    }

    fn plan(&mut self, plan: &Plan) {
        if plan.format != FORMAT {
            let said = format!("{}; must be {}", quoted(&plan.format), quoted(FORMAT));
            self.problem(Place::top("format", "format"), said);
        }
        let lowest = plan.lowest_version();
        if plan.version < lowest || plan.version > VERSION {
            let least = if lowest < VERSION { format!("{lowest} to ") } else { String::new() };
            self.problem(Place::top("version", "version"), format!("{}; must be {least}{VERSION}", plan.version));
        }
        self.line(Place::top("name", "name of the plan"), &plan.name, limits::NAME);
        self.text(Place::top("note", "note"), &plan.note, limits::NOTE);
        self.site(&plan.site);
        self.course(&plan.course, &plan.site);

        let seats = &plan.seats;
        let list = Place::top("seats", "");
        if self.length(list, seats.len(), limits::SEATS) {
            self.ids(list, "seat", seats.iter().map(|seat| seat.id.as_str()));
            for (index, seat) in seats.iter().enumerate() {
                let place = list.named(index, "seat", &seat.name);
                self.line(place.of("name", "name"), &seat.name, limits::NAME);
                self.on_site(place, seat.x_m, seat.y_m, &plan.site);
                self.number(place.of("height_m", "height"), seat.height_m, limits::SEAT_HEIGHT_M);
                self.number(place.of("facing_deg", "facing"), seat.facing_deg, limits::TURN_DEG);
                self.in_the_open(place, [seat.x_m, seat.y_m], seat.height_m, &plan.site);
            }
        }
        let receivers = &plan.receivers;
        let list = Place::top("receivers", "");
        if self.length(list, receivers.len(), limits::RECEIVERS) {
            self.ids(list, "receiver", receivers.iter().map(|receiver| receiver.id.as_str()));
            for (index, receiver) in receivers.iter().enumerate() {
                let place = list.named(index, "receiver", &receiver.name);
                self.reference(place.of("seat", "seat"), &receiver.seat, seats.iter().map(|seat| seat.id.as_str()));
                self.receiver(place, receiver);
            }
        }
        let list = Place::top("entries", "");
        if self.length(list, plan.entries.len(), limits::ENTRIES) {
            self.ids(list, "entry", plan.entries.iter().map(|entry| entry.id.as_str()));
            for (index, entry) in plan.entries.iter().enumerate() {
                let place = list.named(index, "entry", &entry.name);
                let ids = receivers.iter().map(|receiver| receiver.id.as_str());
                self.reference(place.of("receiver", "receiver"), &entry.receiver, ids);
                self.entry(place, entry);
            }
        }
        self.length(Place::top("antennas.table", ""), plan.table_rows(), limits::TABLE_ROWS);
        let rules = Place::top("rules", "");
        self.optional(rules.of("eirp_limit_dbm", "power limit"), plan.rules.eirp_limit_dbm, limits::EIRP_LIMIT_DBM);
        self.optional(rules.of("keep_away_m", "distance to keep"), plan.rules.keep_away_m, limits::KEEP_AWAY_M);
        self.line(rules.of("source", "source of the rule"), &plan.rules.source, limits::RULE_SOURCE);
        let targets = Place::top("targets", "");
        let share = targets.of("picture_share", "target share of picture");
        self.number(share, plan.targets.picture_share, limits::PICTURE_SHARE);
        let reserve = targets.of("wanted_reserve_db", "wanted reserve");
        self.number(reserve, plan.targets.wanted_reserve_db, limits::WANTED_RESERVE_DB);
    }

    fn site(&mut self, site: &SitePlan) {
        let place = Place::top("site", "site");
        self.number(place.of("width_m", "width"), site.width_m, limits::SITE_SIDE_M);
        self.number(place.of("depth_m", "depth"), site.depth_m, limits::SITE_SIDE_M);
        self.number(place.of("roughness_m", "roughness of the ground"), site.roughness_m, limits::ROUGHNESS_M);
        self.optional(place.of("k_db", "K-factor"), site.k_db, limits::SCATTER_K_DB);
        self.optional(place.of("xpr_db", "cross-polarization ratio"), site.xpr_db, limits::SCATTER_XPR_DB);
        self.optional(place.of("shadowing_db", "shadowing"), site.shadowing_db, limits::SHADOWING_DB);
        let list = Place::top("site.obstacles", "");
        if !self.length(list, site.obstacles.len(), limits::OBSTACLES) {
            return;
        }
        self.ids(list, "obstacle", site.obstacles.iter().map(|obstacle| obstacle.id.as_str()));
        for (index, obstacle) in site.obstacles.iter().enumerate() {
            let place = list.named(index, "obstacle", &obstacle.name);
            self.line(place.of("name", "name"), &obstacle.name, limits::NAME);
            self.shape(place.of("shape", ""), &obstacle.shape, site);
        }
        let people = site.obstacles.iter().map(|obstacle| match &obstacle.shape {
            ObstacleShape::Crowd(crowd) => crowd.size_m[0] * crowd.size_m[1] * crowd.density_per_m2,
            _ => 0.0,
        });
        let people: f64 = people.sum();
        if !limits::PEOPLE.contains(people) {
            let Range { max, unit, .. } = limits::PEOPLE;
            self.problem(list, format!("{people:.0} {unit}; must be at most {max}"));
        }
    }

    fn shape(&mut self, shape: Place<'_>, kind: &ObstacleShape, site: &SitePlan) {
        let key = match kind {
            ObstacleShape::Wall(_) => "wall",
            ObstacleShape::Building(_) => "building",
            ObstacleShape::Stall(_) => "stall",
            ObstacleShape::Canopy(_) => "canopy",
            ObstacleShape::Tree(_) => "tree",
            ObstacleShape::Crowd(_) => "crowd",
            ObstacleShape::Barrier(_) => "barrier",
        };
        let place = shape.of(key, "");
        match kind {
            ObstacleShape::Wall(wall) => {
                self.straight(place, wall.from_m, wall.to_m, wall.height_m, site);
                self.number(place.of("thickness_m", "thickness"), wall.thickness_m, limits::WALL_THICKNESS_M);
            }
            ObstacleShape::Barrier(barrier) => {
                self.straight(place, barrier.from_m, barrier.to_m, barrier.height_m, site);
                let covered = place.of("covered_share", "share that bars cover");
                self.number(covered, barrier.covered_share, limits::COVERED_SHARE);
            }
            ObstacleShape::Building(block) | ObstacleShape::Stall(block) => {
                self.rectangle(place, block.centre_m, block.size_m, block.turn_deg, site);
                self.number(place.of("height_m", "height"), block.height_m, limits::OBSTACLE_HEIGHT_M);
                self.number(
                    place.of("thickness_m", "thickness of the walls"),
                    block.thickness_m,
                    limits::WALL_THICKNESS_M,
                );
            }
            ObstacleShape::Canopy(canopy) => {
                self.rectangle(place, canopy.centre_m, canopy.size_m, canopy.turn_deg, site);
                self.base_and_top(place, canopy.base_m, canopy.height_m);
            }
            ObstacleShape::Tree(tree) => {
                self.near_site(place.of("centre_m", "centre"), tree.centre_m, site);
                self.number(place.of("radius_m", "radius"), tree.radius_m, limits::CROWN_RADIUS_M);
                self.base_and_top(place, tree.base_m, tree.height_m);
                self.number(place.of("loss_db_per_m", "loss"), tree.loss_db_per_m, limits::CROWN_LOSS_DB_PER_M);
            }
            ObstacleShape::Crowd(crowd) => {
                self.rectangle(place, crowd.centre_m, crowd.size_m, crowd.turn_deg, site);
                self.number(
                    place.of("head_height_m", "height of the heads"),
                    crowd.head_height_m,
                    limits::HEAD_HEIGHT_M,
                );
                self.number(place.of("density_per_m2", "density"), crowd.density_per_m2, limits::CROWD_DENSITY_PER_M2);
            }
        }
    }

    fn straight(&mut self, place: Place<'_>, from: [f64; 2], to: [f64; 2], height_m: f64, site: &SitePlan) {
        self.near_site(place.of("from_m", "first end"), from, site);
        self.near_site(place.of("to_m", "second end"), to, site);
        let length = libm::hypot(to[0] - from[0], to[1] - from[1]);
        self.number(place.of("to_m", "length"), length, limits::OBSTACLE_SIDE_M);
        self.number(place.of("height_m", "height"), height_m, limits::OBSTACLE_HEIGHT_M);
    }

    fn rectangle(&mut self, place: Place<'_>, centre: [f64; 2], size: [f64; 2], turn_deg: f64, site: &SitePlan) {
        self.near_site(place.of("centre_m", "centre"), centre, site);
        for (axis, words) in ["width", "depth"].into_iter().enumerate() {
            let side = Place { index: Some(axis), ..place.of("size_m", words) };
            self.number(Place { name: Some(words), ..side }, size[axis], limits::OBSTACLE_SIDE_M);
        }
        self.number(place.of("turn_deg", "turn"), turn_deg, limits::TURN_DEG);
    }

    fn base_and_top(&mut self, place: Place<'_>, base_m: f64, height_m: f64) {
        self.number(place.of("base_m", "lower edge"), base_m, limits::BASE_HEIGHT_M);
        let height = place.of("height_m", "height");
        self.number(height, height_m, limits::OBSTACLE_HEIGHT_M);
        let rise = limits::LEAST_RISE_M;
        if height_m - base_m < rise {
            let (top, base) = (plain(height_m), plain(base_m));
            self.problem(height, format!("{top} m; must be at least {rise} m above the lower edge at {base} m"));
        }
    }

    /// A point of an obstacle: on the site or a little beyond its border.
    fn near_site(&mut self, place: Place<'_>, point: [f64; 2], site: &SitePlan) {
        let beyond = limits::OBSTACLE_BEYOND_M;
        for (axis, (extent, words)) in [(site.width_m, "east"), (site.depth_m, "north")].into_iter().enumerate() {
            let range = Range { min: -beyond, max: extent + beyond, unit: "m" };
            let part = Place { key: "", index: Some(axis), name: Some(words), ..place.of("", words) };
            self.number(part, point[axis], range);
        }
    }

    fn on_site(&mut self, place: Place<'_>, x_m: f64, y_m: f64, site: &SitePlan) {
        self.number(place.of("x_m", "east"), x_m, Range { min: 0.0, max: site.width_m, unit: "m" });
        self.number(place.of("y_m", "north"), y_m, Range { min: 0.0, max: site.depth_m, unit: "m" });
    }

    fn course(&mut self, course: &CoursePlan, site: &SitePlan) {
        let gates = Place::top("course.gates", "");
        let before = self.problems.len();
        let is_counted = self.length(gates, course.gates.len(), limits::GATES);
        if is_counted {
            self.ids(gates, "gate", course.gates.iter().map(|gate| gate.id.as_str()));
            for (index, gate) in course.gates.iter().enumerate() {
                let place = gates.named(index, "gate", &gate.name);
                self.line(place.of("name", "name"), &gate.name, limits::NAME);
                self.on_site(place, gate.x_m, gate.y_m, site);
                self.number(place.of("height_m", "height"), gate.height_m, limits::GATE_HEIGHT_M);
                self.number(place.of("heading_deg", "heading"), gate.heading_deg, limits::TURN_DEG);
                if let Some(frame) = &gate.frame {
                    let place = place.of("frame", "frame");
                    for (axis, words) in ["width of the opening", "height of the opening"].into_iter().enumerate() {
                        let side = Place { index: Some(axis), ..place.of("opening_m", words) };
                        self.number(Place { name: Some(words), ..side }, frame.opening_m[axis], limits::GATE_OPENING_M);
                    }
                    self.number(place.of("tube_m", "width of the tubes"), frame.tube_m, limits::FRAME_TUBE_M);
                }
                self.in_the_open(place, [gate.x_m, gate.y_m], gate.height_m, site);
            }
            self.spacing(course);
        }
        if self.problems.len() == before {
            self.flown(course);
        }
        match &course.pace {
            PacePlan::LapTime { lap_time_s } => {
                self.number(Place::top("course.pace.lap_time.lap_time_s", "lap time"), *lap_time_s, limits::LAP_TIME_S);
            }
            PacePlan::Limits { top_speed_m_per_s, sideways_m_per_s2, forward_m_per_s2 } => {
                let pace = Place::top("course.pace.limits", "");
                self.number(pace.of("top_speed_m_per_s", "top speed"), *top_speed_m_per_s, limits::TOP_SPEED_M_PER_S);
                let sideways = pace.of("sideways_m_per_s2", "sideways acceleration");
                self.number(sideways, *sideways_m_per_s2, limits::SIDEWAYS_M_PER_S2);
                let forward = pace.of("forward_m_per_s2", "forward acceleration");
                self.number(forward, *forward_m_per_s2, limits::FORWARD_M_PER_S2);
            }
        }
        let place = Place::top("course", "course");
        self.number(place.of("drag_per_m", "drag"), course.drag_per_m, limits::DRAG_PER_M);
        self.number(place.of("step_m", "step"), course.step_m, limits::STEP_M);
        self.number(place.of("line_sigma_m", "spread of the line"), course.line_sigma_m, limits::LINE_SIGMA_M);
        let pad = &course.pad;
        let place = Place::top("course.pad", "start pad");
        self.on_site(place, pad.x_m, pad.y_m, site);
        self.number(place.of("height_m", "height"), pad.height_m, limits::PAD_HEIGHT_M);
        self.number(place.of("heading_deg", "heading"), pad.heading_deg, limits::TURN_DEG);
        self.in_the_open(place, [pad.x_m, pad.y_m], pad.height_m, site);
    }

    /// Gates apart from each other, and a step that fits the length of the course.
    fn spacing(&mut self, course: &CoursePlan) {
        let count = course.gates.len();
        let mut length = 0.0;
        for (index, gate) in course.gates.iter().enumerate() {
            let next_index = (index + 1) % count;
            let next = &course.gates[next_index];
            let level = libm::hypot(next.x_m - gate.x_m, next.y_m - gate.y_m);
            let distance = libm::hypot(level, next.height_m - gate.height_m);
            length += distance;
            let Range { min, max, .. } = limits::GATE_SPACING_M;
            if !limits::GATE_SPACING_M.contains(distance) && count > 1 {
                let bound = if distance > max { format!("maximum {max} m") } else { format!("minimum {min} m") };
                let said = format!("gates {} and {} are {distance:.2} m apart; {bound}", index + 1, next_index + 1);
                self.problems.push(PlanProblem::new(format!("course.gates[{index}]"), said));
            }
        }
        let samples = length / course.step_m;
        let (least, most) = (limits::LAP_SAMPLES.min as f64, limits::LAP_SAMPLES.max as f64);
        if limits::STEP_M.contains(course.step_m) && count > 1 && !(least..=most).contains(&samples) {
            let (shortest, longest) = (length / most, length / least);
            let said = format!(
                "{} m; must be {shortest:.3} to {longest:.3} m on a course of this length",
                plain(course.step_m)
            );
            self.problem(Place::top("course.step_m", "course step"), said);
        }
    }

    /// The line through gates that have no other problem is no longer than a lap may be.
    fn flown(&mut self, course: &CoursePlan) {
        match convert::flight_line(course) {
            Err(CourseError::TooLong { got }) => {
                let said = format!("a lap of {:.0} m; must be at most {} m", got.0, MAX_LENGTH.0);
                self.problem(Place::top("course.gates", "course"), said);
            }
            Ok(line) if line.length().0 / course.step_m > MAX_SAMPLES as f64 => {
                let least = line.length().0 / MAX_SAMPLES as f64;
                let said = format!("{} m; must be at least {least:.3} m on a lap of this length", plain(course.step_m));
                self.problem(Place::top("course.step_m", "course step"), said);
            }
            // A fold is told beside the course; the rest are limits that the gates keep.
            Ok(_) | Err(_) => {}
        }
    }

    /// Not inside a building or a stall, where no path is traced; above its roof is fine.
    fn in_the_open(&mut self, place: Place<'_>, point: [f64; 2], height_m: f64, site: &SitePlan) {
        for obstacle in site.obstacles.iter().take(limits::OBSTACLES.max) {
            if let ObstacleShape::Building(block) | ObstacleShape::Stall(block) = &obstacle.shape
                && height_m <= block.height_m
                && covers(block, point)
            {
                self.problem(place, format!("inside {}; must be outside buildings and stalls", quoted(&obstacle.name)));
            }
        }
    }

    fn receiver(&mut self, place: Place<'_>, receiver: &Receiver) {
        self.line(place.of("name", "name"), &receiver.name, limits::NAME);
        let ports = place.of("ports", "");
        if self.length(ports, receiver.ports.len(), limits::PORTS) {
            for (index, port) in receiver.ports.iter().enumerate() {
                self.port(ports.item(index, "port"), port);
            }
        }
        let picture = place.of("picture", "");
        let (kind, bandwidth_hz, required_cn_db) = match &receiver.picture {
            Picture::Analogue { bandwidth_hz, required_cn_db } => ("analogue", bandwidth_hz, required_cn_db),
            Picture::Digital { bandwidth_hz, required_cn_db, freeze_s } => {
                self.number(picture.of("digital.freeze_s", "freeze"), *freeze_s, limits::FREEZE_S);
                ("digital", bandwidth_hz, required_cn_db)
            }
        };
        let kind = picture.of(kind, "");
        self.number(kind.of("bandwidth_hz", "bandwidth"), *bandwidth_hz, limits::BANDWIDTH_HZ);
        let required = kind.of("required_cn_db", "required carrier-to-noise ratio");
        self.optional(required, *required_cn_db, limits::REQUIRED_CN_DB);
        let noise = place.of("noise", "");
        match &receiver.noise {
            ReceiverNoise::NoiseFigure { noise_figure_db } => {
                let figure = noise.of("noise_figure.noise_figure_db", "noise figure");
                self.optional(figure, *noise_figure_db, limits::NOISE_FIGURE_DB);
            }
            ReceiverNoise::Sensitivity { level_dbm } => {
                let level = noise.of("sensitivity.level_dbm", "sensitivity");
                self.number(level, *level_dbm, limits::SENSITIVITY_DBM);
            }
        }
    }

    fn port(&mut self, place: Place<'_>, port: &Port) {
        self.kit(place.of("antenna", "antenna"), &port.antenna);
        self.feed(place.of("feed", "feed line"), &port.feed);
        self.number(place.of("aim_off_deg", "aim off the facing"), port.aim_off_deg, limits::AIM_OFF_DEG);
        self.number(place.of("aim_up_deg", "aim up"), port.aim_up_deg, limits::AIM_UP_DEG);
    }

    fn kit(&mut self, place: Place<'_>, kit: &AntennaKit) {
        self.optional(place.of("gain_dbi", "gain"), kit.gain_dbi, limits::GAIN_DBI);
        self.optional(place.of("axial_ratio_db", "axial ratio"), kit.axial_ratio_db, limits::AXIAL_RATIO_DB);
        self.optional(place.of("beamwidth_deg", "beamwidth"), kit.beamwidth_deg, limits::BEAMWIDTH_DEG);
        let rejection = place.of("rejection_db", "front-to-back ratio or null depth");
        self.optional(rejection, kit.rejection_db, limits::REJECTION_DB);
        if let Some(Err(wrong)) = kit.table.as_ref().map(|table| measured_cut(kit.kind, table)) {
            let table = place.of("table", "table");
            let table = wrong.row().map_or(table, |row| table.item(row, "table row"));
            self.problem(table, format!("{}; must be {}", wrong.found(), wrong.allowed()));
        }
    }

    fn feed(&mut self, place: Place<'_>, feed: &Feed) {
        self.number(place.of("length_m", "length"), feed.length_m, limits::FEED_LENGTH_M);
        self.number(place.of("connectors", "connectors"), f64::from(feed.connectors), limits::CONNECTORS);
    }

    fn entry(&mut self, place: Place<'_>, entry: &Entry) {
        self.line(place.of("name", "name"), &entry.name, limits::NAME);
        self.channel(place.of("channel_hz", "channel"), entry.channel_hz);
        let radios = place.of("radios", "");
        let video = entry.radios.iter().filter(|radio| radio.purpose == Purpose::Video).count();
        if !limits::VIDEO_RADIOS.contains(video) {
            self.problem(radios, format!("exactly one video transmitter is needed, not {video}"));
        }
        if video <= limits::VIDEO_RADIOS.max {
            for (index, radio) in entry.radios.iter().enumerate() {
                let words = Some("transmitter");
                self.radio(Place { name: words, ..radios.item(index, "transmitter") }, radio);
            }
        }
    }

    /// A carrier; one that was written in another unit is told how it is written in hertz.
    fn channel(&mut self, place: Place<'_>, carrier_hz: f64) {
        let units = [(1e3, "kHz"), (1e6, "MHz"), (1e9, "GHz")];
        let meant = units.into_iter().find(|(hertz, _)| limits::CHANNEL_HZ.contains(carrier_hz * hertz));
        match meant {
            Some((hertz, unit)) => {
                let in_hertz = (carrier_hz * hertz).round();
                let said = format!("{carrier_hz} Hz is too low; {carrier_hz} {unit} is written {in_hertz}");
                self.problem(place, said);
            }
            None => self.number(place, carrier_hz, limits::CHANNEL_HZ),
        }
    }

    fn radio(&mut self, place: Place<'_>, radio: &Radio) {
        self.number(place.of("power_dbm", "power"), radio.power_dbm, limits::POWER_DBM);
        self.feed(place.of("feed", "feed line"), &radio.feed);
        self.kit(place.of("antenna", "antenna"), &radio.antenna);
        let mounting = place.of("mounting", "antenna");
        let Mounting { lean_back_deg, lean_right_deg, frame_loss_db } = &radio.mounting;
        self.number(mounting.of("lean_back_deg", "tilt backward"), *lean_back_deg, limits::LEAN_DEG);
        self.number(mounting.of("lean_right_deg", "tilt to the right"), *lean_right_deg, limits::LEAN_DEG);
        self.optional(mounting.of("frame_loss_db", "frame loss"), *frame_loss_db, limits::FRAME_LOSS_DB);
    }
}

/// A text in quotation marks, short enough for a sentence, with control characters made visible.
pub fn quoted(text: &str) -> String {
    let marked = text.replace('\\', "\\\\").replace('"', "\\\"");
    format!("\"{}\"", legible(&marked, 60))
}

/// So many letters of a text at most, with control characters made visible.
pub fn legible(text: &str, most: usize) -> String {
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

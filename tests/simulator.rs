//! Simulated laps against a time series made in another way: at every instant of a field the paths are traced from the place
//! where the aircraft really is, offset from the drawn line included, carried, heard and summed with their phases.
//!
//! The two share what makes a path at one place (tracing, antennas, thresholds) and nothing of what `link::track` and
//! `link::flown` do: no sample of the lap, no path followed from one to the next, no phase turned by a plane wave, no
//! amplitude between two samples; scatter and line are drawn from other sums, and a digital picture's power is the mean over
//! lines of its channel.
//!
//! Fields are drawn one by one, each at a time of its own with draws of its own, so that the number below a margin is
//! binomial. Simulated laps give the margins below which one field in a hundred, in ten and in two lies.

use lapmargin::link::flight;
use lapmargin::link::flown::{FlownLap, Memory, fly};
use lapmargin::link::hear::{Ear, Heard, Sent, Work};
use lapmargin::link::kit::{self, Kit, PictureKind};
use lapmargin::link::paths::{Mixing, carry_paths};
use lapmargin::link::place::Place;
use lapmargin::link::receiver::{aircraft_end, level, port_end};
use lapmargin::link::{Effort, Evaluator};
use lapmargin::plan::convert;
use lapmargin::plan::demo::demo;
use lapmargin::plan::document::{Obstacle, ObstacleShape, PacePlan, Picture, Placement, Plan, Switching, WallShape};
use lapmargin::rf::fading::Surroundings;
use lapmargin::rf::material::Material;
use lapmargin::rf::random::Random;
use lapmargin::rf::{SPEED_OF_LIGHT, Vec3, phasor};
use lapmargin::site::{BounceOrder, Paths, SlabModel, TunedScene};
use lapmargin::units::{Db, Hertz, Metres};
use num_complex::Complex64;

/// Laps that are simulated; slow ones are long, and fewer do.
const LAPS: u64 = 300;

/// Fields that are drawn for the time series.
const FIELDS: usize = 8000;

/// Waves of the time series' scatter, and harmonics of its line.
const WAVES: usize = 64;
const HARMONICS: usize = 24;

/// Lines of a digital picture's channel over which power is averaged.
const LINES: usize = 32;

/// The distance over which a line's offset keeps its sign, metres: the model that both follow.
const CORRELATION: f64 = 5.0;

const FIELD: f64 = 0.02;

/// The demo's course and one entry of it, over open ground, heard by one port that nobody wears.
fn open(entry: usize) -> Plan {
    let mut plan = demo();
    plan.site.obstacles.clear();
    plan.site.surroundings = Surroundings::OpenField;
    plan.site.ground = Material::MediumDryGround;
    plan.site.roughness_m = 0.01;
    for receiver in &mut plan.receivers {
        receiver.place = Placement::Standing;
        receiver.ports.truncate(1);
    }
    plan.entries.swap(0, entry);
    plan.entries.truncate(1);
    plan
}

fn wall(id: &str, from_m: [f64; 2], to_m: [f64; 2], material: Material) -> Obstacle {
    let shape = WallShape { from_m, to_m, height_m: 6.0, thickness_m: 0.2, material };
    Obstacle { id: id.into(), name: id.into(), shape: ObstacleShape::Wall(shape) }
}

/// Two like walls along the course, all round which paths reach the receiver.
fn between_walls(entry: usize) -> Plan {
    let mut plan = open(entry);
    let (width, depth) = (plan.site.width_m, plan.site.depth_m);
    plan.site.obstacles = [("north", depth + 3.0), ("south", -3.0)]
        .map(|(id, y)| wall(id, [-30.0, y], [width + 30.0, y], Material::Brick))
        .to_vec();
    plan
}

/// Everything that one draw of a field needs.
struct Series<'a> {
    plan: &'a Plan,
    kit: Kit,
    mixing: Mixing,
    place: Place,
    flight: flight::Flight,
    bounces: BounceOrder,
}

/// A sum of waves with normal amplitudes.
struct Sum<T> {
    waves: Vec<(T, Complex64)>,
}

impl<T> Sum<T> {
    fn draw(random: &mut Random, count: usize, mut wave: impl FnMut(&mut Random) -> T) -> Self {
        let share = (1.0 / count as f64).sqrt();
        Self { waves: (0..count).map(|_| (wave(random), random.normal() * share)).collect() }
    }

    fn at(&self, turns: impl Fn(&T) -> f64) -> Complex64 {
        self.waves.iter().map(|(wave, amplitude)| phasor(turns(wave)) * *amplitude).sum()
    }
}

/// The power over the threshold, averaged over a channel, of paths with their lengths. What was scattered comes with the
/// strongest path.
fn power(kit: &Kit, paths: &[(Complex64, f64)], scattered: Complex64) -> f64 {
    let PictureKind::Digital { bandwidth, .. } = kit.picture else {
        return (paths.iter().map(|(amplitude, _)| amplitude).sum::<Complex64>() + scattered).norm_sqr();
    };
    let strongest = paths.iter().max_by(|(a, _), (b, _)| a.norm_sqr().total_cmp(&b.norm_sqr()));
    let strongest = strongest.map_or(0.0, |(_, length)| *length);
    let line = |line: usize| {
        let frequency = bandwidth.0 * ((line as f64 + 0.5) / LINES as f64 - 0.5);
        let turn = |length: f64| phasor(-std::f64::consts::TAU * frequency * (length - strongest) / SPEED_OF_LIGHT);
        let sum: Complex64 = paths.iter().map(|(amplitude, length)| amplitude * turn(*length)).sum();
        (sum + scattered).norm_sqr()
    };
    (0..LINES).map(line).sum::<f64>() / LINES as f64
}

impl<'a> Series<'a> {
    fn new(plan: &'a Plan, bounces: BounceOrder) -> Self {
        let hands = kit::hand_choices(plan, 0).expect("the entry is complete");
        assert_eq!(hands.len(), 1, "every hand is known");
        Self {
            plan,
            kit: kit::kit(plan, 0, hands[0]).expect("the kit is possible"),
            mixing: kit::mixing(plan, Hertz(plan.entries[0].channel_hz)),
            place: Place::of(plan).expect("the site is possible"),
            flight: flight::fly(&plan.course).expect("the course can be flown"),
            bounces,
        }
    }

    /// The sample before a time, and how far the next has been reached.
    fn sample(&self, time: f64) -> (usize, usize, f64) {
        let columns = &self.flight.columns;
        let sample = columns.time_s.partition_point(|&begins| begins <= time).max(1) - 1;
        let next = (sample + 1) % columns.time_s.len();
        let ends = if next == 0 { columns.duration_s } else { columns.time_s[next] };
        (sample, next, (time - columns.time_s[sample]) / (ends - columns.time_s[sample]))
    }

    /// The margins of fields drawn one by one.
    fn margins(&self, fields: usize, seed: u64) -> Vec<f64> {
        let tuned = self.place.scene.tuned(self.kit.frequency).expect("the materials are known there");
        let mut random = Random::new(seed);
        (0..fields).map(|_| self.margin(&tuned, &mut random)).collect()
    }

    fn margin(&self, tuned: &TunedScene<'_>, random: &mut Random) -> f64 {
        let (kit, wavenumber) = (&self.kit, self.mixing.wavenumber);
        let (line, columns) = (convert::flight_line(&self.plan.course).expect("as before"), &self.flight.columns);
        let (_, seat) = kit::seating(self.plan, 0, &self.plan.entries[0]).expect("as before");
        let images = self.place.scene.images(&convert::seat_position(seat), self.bounces);
        // What stays the same in a field: the line's harmonics, the waves of the scatter, the tilts.
        let offsets: [Sum<f64>; 3] = std::array::from_fn(|_| {
            Sum::draw(random, HARMONICS, |random| std::f64::consts::SQRT_2 * random.normal().re / CORRELATION)
        });
        let scatter: Vec<Sum<Complex64>> =
            kit.ports.iter().map(|_| Sum::draw(random, WAVES, |random| random.phasor() * wavenumber)).collect();
        let sender_tilt = random.phasor();
        let tilts: Vec<Complex64> = kit.ports.iter().map(|_| random.phasor()).collect();
        let start = columns.duration_s * random.uniform();
        let speed = columns.speed_m_per_s[self.sample(start).0];
        let instants = (FIELD * speed * wavenumber / std::f64::consts::TAU * 10.0).ceil().max(24.0) as usize;
        let (mut sent, mut work, mut heard, mut paths) =
            (Sent::default(), Work::default(), Heard::default(), Paths::new());
        let mut powers: Vec<f64> = (0..instants)
            .map(|instant| {
                let time = (start + FIELD * (instant as f64 + 0.5) / instants as f64) % columns.duration_s;
                let (sample, next, gone) = self.sample(time);
                // Along the line by the samples' times and speeds: a cubic through both.
                let (near, far) = (columns.distance_m[sample], columns.distance_m[next]);
                let way = if next == 0 { columns.length_m - near } else { far - near };
                let lasts = (time - columns.time_s[sample]) / gone.max(1e-12);
                let (leaves, comes) = (columns.speed_m_per_s[sample] * lasts, columns.speed_m_per_s[next] * lasts);
                let rest = 3.0 * way - 2.0 * leaves - comes;
                let distance = near + gone * (leaves + gone * (rest + gone * (leaves + comes - 2.0 * way)));
                let offset = |axis: usize| {
                    let unit = offsets[axis].at(|wave| wave * distance);
                    std::f64::consts::SQRT_2 * self.mixing.line_sigma * unit.re
                };
                let at = line.at(Metres(distance)).position + Vec3::new(offset(0), offset(1), offset(2));
                let (one, two) = (&self.flight.poses[sample].attitude, &self.flight.poses[next].attitude);
                let sender = aircraft_end(kit, &one.slerp(two, gone));
                images.trace(&at, &mut paths);
                let carried = carry_paths(tuned, &paths, SlabModel::Averaged, 0.0);
                sent.send(&carried, (&sender, &Vec3::zeros()), &self.mixing);
                let port_powers = (0..kit.ports.len()).map(|port| {
                    sent.hear(&carried, &port_end(kit, port), &Ear::PLAIN, &mut work, &mut heard);
                    let scale = (level(kit, port, 1.0) - kit.threshold).amplitude();
                    let paths: Vec<(Complex64, f64)> = heard
                        .amplitudes
                        .iter()
                        .zip(&carried.paths)
                        .map(|(parts, path)| {
                            let first = parts[0] + parts[1] * sender_tilt;
                            let second = parts[2] + parts[3] * sender_tilt;
                            ((first + second * tilts[port]) * scale, path.length)
                        })
                        .collect();
                    let scattered = scatter[port].at(|wave| wave.re * at.x + wave.im * at.y);
                    power(kit, &paths, scattered * (heard.diffuse.sqrt() * scale))
                });
                port_powers.fold(0.0, f64::max)
            })
            .collect();
        powers.sort_by(f64::total_cmp);
        // The middles of the instants' shares on either side of the first quarter.
        let place = 0.25 * instants as f64 - 0.5;
        let (below, part) = (place.floor() as usize, place.fract());
        Db::from_ratio(powers[below] * (1.0 - part) + powers[below + 1] * part).0
    }
}

/// The picture margins of simulated laps, lap by lap.
fn simulated(plan: &Plan, bounces: BounceOrder, laps: u64) -> Vec<Vec<f64>> {
    let effort = Effort::FULL.with_bounces(bounces);
    let ready = Evaluator::default().laps_in_time(plan, 0, effort, 0..0).expect("the entry can be judged");
    let (mut memory, mut lap) = (Memory::default(), FlownLap::default());
    (0..laps)
        .map(|seed| {
            fly(ready.track(), seed, &mut memory, &mut lap);
            lap.margins.clone()
        })
        .collect()
}

/// Compares the shares of fields below three margins, each within four standard errors of the difference.
#[track_caller]
fn agree(what: &str, plan: &Plan, bounces: BounceOrder, laps: u64) {
    let simulated = simulated(plan, bounces, laps);
    let series = Series::new(plan, bounces).margins(FIELDS, 11);
    let mut pooled: Vec<f64> = simulated.iter().flatten().copied().collect();
    pooled.sort_by(f64::total_cmp);
    let mut sorted = series.clone();
    sorted.sort_by(f64::total_cmp);
    let (mut said, mut all_agree) = (Vec::new(), true);
    for share in [0.01, 0.1, 0.5] {
        let margin = pooled[(share * pooled.len() as f64) as usize];
        let below = |margins: &[f64]| margins.iter().filter(|&&one| one < margin).count() as f64 / margins.len() as f64;
        let got = below(&series);
        // Laps are independent of each other, fields of a lap are not.
        let spread = simulated.iter().map(|lap| (below(lap) - share) * (below(lap) - share)).sum::<f64>();
        let variance = spread / (laps * (laps - 1)) as f64 + share * (1.0 - share) / FIELDS as f64;
        let same = sorted[(share * FIELDS as f64) as usize];
        said.push(format!(
            "{what}: {share} of fields below {margin:.2} dB, in the series {got:.4} (± {:.4}) and {same:.2} dB",
            variance.sqrt()
        ));
        all_agree &= (got - share).abs() <= 4.0 * variance.sqrt();
    }
    assert!(all_agree, "{said:#?}");
}

#[test]
fn over_open_ground() {
    agree("open", &open(0), BounceOrder::Single, LAPS);
    agree("open, wrong hand", &open(2), BounceOrder::Single, LAPS);
}

#[test]
fn beside_one_wall() {
    let mut plan = open(2);
    let width = plan.site.width_m;
    plan.site.obstacles.push(wall("metal", [-30.0, -2.0], [width + 30.0, -2.0], Material::Metal));
    agree("one wall", &plan, BounceOrder::Single, LAPS);
}

#[test]
fn between_two_like_walls() {
    agree("two walls", &between_walls(2), BounceOrder::Double, LAPS);
}

#[test]
fn at_a_walking_pace() {
    let mut plan = between_walls(0);
    // About 100 m at 2 m/s: four wavelengths in five fields.
    plan.course.pace = PacePlan::LapTime { lap_time_s: 51.0 };
    agree("2 m/s", &plan, BounceOrder::Single, LAPS / 4);
}

#[test]
fn hovering_along_as_still_as_on_the_pad() {
    let mut plan = between_walls(2);
    plan.course.pace = PacePlan::LapTime { lap_time_s: 300.0 };
    plan.course.line_sigma_m = 0.02;
    agree("0.3 m/s", &plan, BounceOrder::Single, LAPS / 10);
}

#[test]
fn with_a_wide_channel_and_two_ports_that_share_every_instant() {
    let mut plan = between_walls(2);
    for receiver in &mut plan.receivers {
        receiver.switching = Switching::Fast;
        receiver.ports.push(receiver.ports[0].clone());
        receiver.ports[1].aim_off_deg += 60.0;
        receiver.picture = Picture::Digital { bandwidth_hz: 40e6, required_cn_db: None, freeze_s: 0.3 };
    }
    agree("40 MHz, fast", &plan, BounceOrder::Single, LAPS);
}

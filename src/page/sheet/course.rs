//! The course in black on white: what a copier leaves of it is all of it.
//!
//! Gates are numbers in rings, seats S1, S2, … beside their chairs, entries letters in boxes beside their weakest stretch,
//! which runs along the line in the entry's line pattern. What the letters and numbers stand for is listed on the sheet;
//! titles say it in the file.

use super::figure::{Element, LETTERS};
use super::labels::{Labels, Space};
use crate::drawing::frame::Frame;
use crate::drawing::lap_columns::stretch_samples;
use crate::drawing::marks::{along, arrow, arrow_head, beside, chevrons, gate, seat};
use crate::drawing::outline::{Hatch, name_place, outline};
use crate::drawing::path_text::{PathText, Point, at};
use crate::drawing::ruler::round_below;
use crate::format::{DisplayUnits, Measure};
use crate::link::report::{EntryReport, Report};
use crate::plan::document::{Gate, Obstacle, Plan};

/// Dashes of the entries' lines, as on the desk; they repeat from the ninth entry on, and the letter tells.
const DASHES: [&str; 8] = ["none", "9 4", "2.5 3", "11 3 2.5 3", "16 3", "5 5", "7 2 2 2 2 2", "1.5 5"];
/// Half the width at which a gate is drawn, in metres (race gates are commonly 1.5 m wide, no source), and the least in pixels.
const GATE_HALF_WIDTH_M: f64 = 0.75;
const LEAST_GATE: f64 = 8.0;
/// How far beside the line weak stretches run, and how far apart, in pixels.
const FIRST_LANE: f64 = 6.0;
const LANE: f64 = 5.0;
/// How far from its chair a seat's tag needs no line, in pixels.
const FARTHEST_WITHOUT_LINE: f64 = 32.0;
/// Room of a letter in its box, and of a number in its ring.
const BOX: f64 = 16.0;
const BOX_WITH_EDGE: f64 = BOX + 2.0;
const RING: f64 = 18.0;

/// The letter of an entry on the sheet; `limits::ENTRIES` are fewer than letters.
pub fn entry_letter(index: usize) -> char {
    char::from(b'A' + (index % 26) as u8)
}

/// The name of a seat on the sheet.
pub fn seat_tag(index: usize) -> String {
    format!("S{}", index + 1)
}

/// The line pattern of an entry, as a sample of 34 by 8 pixels.
pub fn pattern_sample(index: usize) -> Element {
    let line = Element::stroke("M1 4H33".to_owned(), 3.0).with("stroke-dasharray", DASHES[index % DASHES.len()]);
    let sample = Element::new("svg").with("viewBox", "0 0 34 8").with("width", "34").with("height", "8");
    sample.with("aria-hidden", "true").holding([line])
}

/// The drawing of a plan and its report within a frame.
pub fn course(plan: &Plan, report: &Report, frame: &Frame, units: DisplayUnits) -> Element {
    let (width, height) = (frame.width, frame.height);
    let mut labels = Labels::on([width, height]);
    let [left, top, across, down] = frame.site_rectangle();
    let border = Element::stroke(rectangle([left, top], [across, down]), 1.5);
    let line: Vec<Point> =
        report.lap.x_m.iter().zip(&report.lap.y_m).map(|(east, north)| frame.place(*east, *north)).collect();

    let [_, bottom] = frame.down();
    labels.take(Space { middle: [left + 15.0, bottom + 21.0], sides: [30.0, 28.0] });
    let (bar, _) = scale_length(frame, units);
    labels.take(Space { middle: [left + SCALE_FROM + bar / 2.0, bottom + 21.0], sides: [bar + 30.0, 28.0] });
    // Marks that stand where they stand come first, then letters in the order of their weight.
    let gates: Vec<Element> =
        plan.course.gates.iter().enumerate().map(|(index, item)| gate_mark(item, index, frame, &mut labels)).collect();
    let seats = seat_marks(plan, frame, &mut labels);
    let pad = pad_mark(plan, frame, &mut labels);
    let weak = weak_stretches(report, &line, &mut labels);
    let names = plan
        .site
        .obstacles
        .iter()
        .filter_map(|obstacle| obstacle_name(obstacle, frame, &mut labels))
        .collect::<Vec<_>>();

    let obstacles = plan.site.obstacles.iter().map(|obstacle| {
        let hatch = Hatch::of_shape(&obstacle.shape);
        let title = Element::new("title").saying(obstacle.name.clone());
        let shape = Element::new("path")
            .with("d", outline(&obstacle.shape, frame))
            .with("fill", format!("url(#{})", hatch.id()));
        shape.with("stroke", "black").with("stroke-width", "1.2").holding([title])
    });
    let used = Hatch::ALL
        .into_iter()
        .filter(|hatch| plan.site.obstacles.iter().any(|obstacle| Hatch::of_shape(&obstacle.shape) == *hatch));
    let clip = Element::new("clipPath")
        .with("id", "site-clip")
        .holding([Element::new("path").with("d", rectangle([left, top], [across, down]))]);
    let defined =
        Element::new("defs").holding(std::iter::once(clip).chain(used.map(|hatch| pattern(hatch, [left, top]))));
    let ground = Element::new("path").with("d", rectangle([0.0; 2], [width, height])).with("fill", "white");
    Element::new("svg")
        .with("xmlns", "http://www.w3.org/2000/svg")
        .with("viewBox", format!("0 0 {} {}", at(width), at(height)))
        .at("width", width)
        .at("height", height)
        .with("role", "img")
        .with("aria-label", format!("Course of {}", plan.name))
        .with("font-family", "Liberation Sans, Arial, Helvetica, DejaVu Sans Condensed, sans-serif")
        .at("font-size", LETTERS)
        .holding([defined, ground])
        .holding([Element::new("g").with("clip-path", "url(#site-clip)").holding(obstacles)])
        .holding([border])
        .holding([
            Element::stroke(PathText::new().polygon(&line).text(), 1.6),
            Element::stroke(chevrons(&line, 70.0, 6.0), 1.4),
        ])
        .holding(weak)
        .holding(gates)
        .holding(seats)
        .holding([pad])
        .holding(names)
        .holding(north_and_scale(frame, units))
}

fn rectangle([x, y]: Point, [width, height]: [f64; 2]) -> String {
    PathText::new().polygon(&[[x, y], [x + width, y], [x + width, y + height], [x, y + height]]).text()
}

/// A hatch in black on white.
fn pattern(hatch: Hatch, [x, y]: Point) -> Element {
    let tile = hatch.tile();
    Element::new("pattern")
        .with("id", hatch.id())
        .at("width", tile.width)
        .at("height", tile.height)
        .with("patternUnits", "userSpaceOnUse")
        .with("patternTransform", format!("translate({} {}) rotate({})", at(x), at(y), tile.turn_deg))
        .holding([
            Element::new("path").with("d", rectangle([0.0; 2], [tile.width, tile.height])).with("fill", "white"),
            Element::stroke(tile.strokes.to_owned(), 0.8),
        ])
}

fn gate_mark(item: &Gate, index: usize, frame: &Frame, labels: &mut Labels) -> Element {
    let centre = frame.place(item.x_m, item.y_m);
    let half_width = frame.length(GATE_HALF_WIDTH_M).max(LEAST_GATE);
    let around = [90.0, 270.0, 0.0, 180.0]
        .map(|turn| Space { middle: along(centre, item.heading_deg + turn, half_width + 11.0), sides: [RING; 2] });
    labels.take(Space { middle: centre, sides: [half_width; 2] });
    let [x, y] = labels.first_free_or_first(&around).map_or(centre, |space| space.middle);
    let head = Element::new("path").with("d", arrow_head(along(centre, item.heading_deg, 12.0), item.heading_deg, 8.0));
    let ring = Element::new("circle").at("cx", x).at("cy", y).at("r", RING / 2.0 - 0.5);
    Element::new("g").holding([
        Element::new("title").saying(format!("Gate {}: {}", index + 1, item.name)),
        Element::stroke(gate(centre, item.heading_deg, half_width), 2.6),
        head,
        ring.with("fill", "white").with("stroke", "black").with("stroke-width", "1.2"),
        Element::letters([x, y], (index + 1).to_string()),
    ])
}

/// The seats from which somebody receives.
fn seat_marks(plan: &Plan, frame: &Frame, labels: &mut Labels) -> Vec<Element> {
    let used = |id: &str| {
        plan.entries
            .iter()
            .any(|entry| plan.receivers.iter().any(|receiver| receiver.id == entry.receiver && receiver.seat == id))
    };
    let seats: Vec<_> = plan.seats.iter().enumerate().filter(|(_, item)| used(&item.id)).collect();
    let centres: Vec<Point> = seats.iter().map(|(_, item)| frame.place(item.x_m, item.y_m)).collect();
    for centre in &centres {
        labels.take(Space { middle: *centre, sides: [14.0; 2] });
    }
    let marks = seats.iter().zip(centres).map(|((index, item), centre)| {
        let tag = seat_tag(*index);
        // Behind the chair first, where nobody looks; where chairs stand close, farther away at the end of a line.
        let turns = [180.0, 135.0, 225.0, 90.0, 270.0, 0.0, 45.0, 315.0];
        let space = |turn: f64, far: f64| Space::of_letters(along(centre, item.facing_deg + turn, far), &tag);
        let near = turns[..6].iter().flat_map(|turn| [18.0, 30.0].map(|far| space(*turn, far)));
        let farther = [46.0, 62.0, 78.0].into_iter().flat_map(|far| turns.map(|turn| space(turn, far)));
        let around: Vec<Space> = near.chain(farther).collect();
        let place = labels.first_free_or_first(&around).map_or(centre, |space| space.middle);
        let chair = [
            Element::new("title").saying(format!("Seat {tag}: {}", item.name)),
            Element::stroke(seat(centre, item.facing_deg, 6.0), 2.0),
            Element::stroke(arrow(centre, item.facing_deg, 12.0, 4.0), 1.4),
        ];
        let tag = Element::letters(place, tag).with("font-weight", "bold");
        Element::new("g").holding(chair.into_iter().chain(leader(centre, place)).chain([tag]))
    });
    marks.collect()
}

/// The line from a chair to its tag where that stands too far away to be taken for its own; nothing where it does not.
fn leader(centre: Point, tag: Point) -> Option<Element> {
    let [right, down] = [tag[0] - centre[0], tag[1] - centre[1]];
    let far = (right * right + down * down).sqrt();
    let at = |distance: f64| [centre[0] + right * distance / far, centre[1] + down * distance / far];
    (far > FARTHEST_WITHOUT_LINE)
        .then(|| Element::stroke(PathText::new().polyline(&[at(8.0), at(far - 10.0)]).text(), 0.8))
}

fn pad_mark(plan: &Plan, frame: &Frame, labels: &mut Labels) -> Element {
    let pad = &plan.course.pad;
    let centre = frame.place(pad.x_m, pad.y_m);
    let mut square = PathText::new();
    let corners = [45.0, 135.0, 225.0, 315.0].map(|turn| along(centre, pad.heading_deg + turn, 9.0));
    square.polygon(&corners).polyline(&[corners[0], corners[2]]).polyline(&[corners[1], corners[3]]);
    labels.take(Space { middle: centre, sides: [16.0; 2] });
    let around = [[0.0, 20.0], [0.0, -20.0], [30.0, 0.0], [-30.0, 0.0]]
        .map(|[x, y]| Space::of_letters([centre[0] + x, centre[1] + y], "start"));
    let place = labels.first_free_or_first(&around).map_or(centre, |space| space.middle);
    Element::new("g").holding([
        Element::new("title").saying("Start pad"),
        Element::stroke(square.text(), 1.4),
        Element::stroke(arrow(centre, pad.heading_deg, 16.0, 5.0), 1.4),
        Element::letters(place, "start"),
    ])
}

/// The weakest stretch of every entry, in lanes beside the line so that none covers another, and then the letters.
fn weak_stretches(report: &Report, line: &[Point], labels: &mut Labels) -> Vec<Element> {
    let mut lanes: Vec<Vec<usize>> = Vec::new();
    let mut stretches = Vec::new();
    for entry in &report.entries {
        let samples = stretch_samples(&report.lap, entry.worst.start_m, entry.worst.length_m);
        let is_free = |lane: &Vec<usize>| !samples.iter().any(|sample| lane.contains(sample));
        let lane = lanes.iter().position(is_free).unwrap_or_else(|| {
            lanes.push(Vec::new());
            lanes.len() - 1
        });
        lanes[lane].extend(&samples);
        let places: Vec<Point> = samples.iter().filter_map(|sample| line.get(*sample).copied()).collect();
        if places.len() > 1 {
            let bracket = beside(&places, FIRST_LANE + LANE * lane as f64);
            bracket.iter().for_each(|point| labels.take(Space { middle: *point, sides: [3.0; 2] }));
            stretches.push((entry, places, bracket));
        }
    }
    let brackets = stretches.iter().map(|(entry, _, bracket)| {
        let dashes = DASHES[entry.index % DASHES.len()];
        Element::stroke(PathText::new().polyline(bracket).text(), 3.2).with("stroke-dasharray", dashes)
    });
    let mut drawn: Vec<Element> = brackets.collect();
    drawn.extend(stretches.iter().map(|(entry, places, _)| weak_letter(entry, places, lanes.len(), labels)));
    drawn
}

/// The letter of an entry beyond the lanes at the middle of its stretch if it can be there, else towards one end, else on the
/// other side.
fn weak_letter(entry: &EntryReport, places: &[Point], lanes: usize, labels: &mut Labels) -> Element {
    let beyond = FIRST_LANE + LANE * lanes as f64;
    let sides = [beyond + 6.0, -14.0, beyond + 24.0, -32.0, -50.0].map(|off| beside(places, off));
    let last = (places.len() - 1) as f64;
    let shares = [0.5, 0.25, 0.75, 0.0, 1.0, 0.4, 0.6, 0.1, 0.9];
    let spaces: Vec<Space> = sides
        .iter()
        .flat_map(|side| shares.map(|share| Space { middle: side[(share * last) as usize], sides: [BOX_WITH_EDGE; 2] }))
        .collect();
    let [x, y] = labels.first_free_or_first(&spaces).map_or(places[0], |space| space.middle);
    let letter = entry_letter(entry.index).to_string();
    let frame = rectangle([x - BOX / 2.0, y - BOX / 2.0], [BOX; 2]);
    Element::new("g").holding([
        Element::new("title").saying(format!("Weakest stretch of {letter}: {}", entry.name)),
        Element::new("path").with("d", frame).with("fill", "white").with("stroke", "black").with("stroke-width", "1.2"),
        Element::letters([x, y], letter).with("font-weight", "bold"),
    ])
}

/// An obstacle's name where there is room for it: along it, else above or below.
fn obstacle_name(obstacle: &Obstacle, frame: &Frame, labels: &mut Labels) -> Option<Element> {
    let ([x, y], [width, height]) = name_place(obstacle, frame);
    let lying = Space::of_letters([x, y], &obstacle.name);
    if lying.sides[0] > width && lying.sides[0] <= height {
        let shifted = [0.0, 0.2, -0.2].map(|share| Space { middle: [x, y + share * height], ..lying }.turned());
        let middle = labels.first_free(shifted)?.middle;
        let turn = format!("rotate(-90 {} {})", at(middle[0]), at(middle[1]));
        return Some(Element::letters(middle, obstacle.name.clone()).with("transform", turn));
    }
    let half = height / 2.0 + 9.0;
    let around = [[0.0, 0.0], [0.0, -half], [0.0, half], [0.2 * width, 0.0], [-0.2 * width, 0.0]];
    let around = around.map(|[right, down]| Space { middle: [x + right, y + down], ..lying });
    let middle = labels.first_free(around)?.middle;
    Some(Element::letters(middle, obstacle.name.clone()).with("font-style", "italic"))
}

/// Where the scale bar begins, from the left edge of the site.
const SCALE_FROM: f64 = 50.0;

/// The length of the scale bar in pixels and in the person's unit.
fn scale_length(frame: &Frame, units: DisplayUnits) -> (f64, f64) {
    let (per_unit, [left, right]) = (Measure::Length.kept(1.0, units), frame.across());
    let length = round_below((right - left).min(200.0) * 0.7 / frame.length(per_unit));
    (frame.length(length * per_unit), length)
}

/// An arrow to the north and a bar of round length, under the site.
fn north_and_scale(frame: &Frame, units: DisplayUnits) -> [Element; 2] {
    let ([left, _], [_, bottom]) = (frame.across(), frame.down());
    let foot = bottom + 34.0;
    let mut whole = PathText::new();
    whole.polygon(&[[left + 8.0, foot - 26.0], [left + 14.0, foot], [left + 8.0, foot - 6.0], [left + 2.0, foot]]);
    let north = Element::new("g").holding([
        Element::new("title").saying("North is up"),
        Element::stroke(whole.text(), 1.2).with("fill", "black"),
        Element::letters([left + 24.0, foot - 13.0], "N").with("font-weight", "bold"),
    ]);
    let (width, length) = scale_length(frame, units);
    let (start, line) = (left + SCALE_FROM, bottom + 14.0);
    let bar = PathText::new()
        .polyline(&[[start, line - 4.0], [start, line + 4.0]])
        .polyline(&[[start, line], [start + width, line]])
        .polyline(&[[start + width, line - 4.0], [start + width, line + 4.0]])
        .text();
    let words = format!("{}\u{a0}{}", Measure::Count.field_text(length, units), Measure::Length.unit(units));
    let scale = Element::new("g").holding([
        Element::stroke(bar, 1.4),
        Element::letters([start, line + 14.0], "0"),
        Element::letters([start + width, line + 14.0], words),
    ]);
    [north, scale]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{Effort, Evaluator};
    use crate::plan::demo;
    use crate::plan::document::{Entry, Receiver, Seat};

    fn frame(plan: &Plan) -> Frame {
        Frame::fit(720.0, 520.0, plan.site.width_m, plan.site.depth_m)
    }

    /// Walks the tree.
    fn each<'a>(element: &'a Element, visit: &mut impl FnMut(&'a Element)) {
        visit(element);
        for inside in &element.inside {
            each(inside, visit);
        }
    }

    /// Whether tags are closed in order and nothing is marked up that should be text: a reader of the few forms that the
    /// writer uses, so that it does not have to trust it.
    fn is_well_formed(text: &str) -> bool {
        let mut open: Vec<&str> = Vec::new();
        let body = text.strip_prefix("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n").unwrap_or("");
        let mut rest = body;
        while let Some((before, after)) = rest.split_once('<') {
            if before.contains('>') || (open.is_empty() && !before.trim().is_empty()) {
                return false;
            }
            let Some((tag, following)) = after.split_once('>') else { return false };
            let mut names: Vec<&str> =
                tag.split('"').step_by(2).filter_map(|part| part.split(' ').next_back()).collect();
            names.retain(|name| name.ends_with('='));
            let count = names.len();
            names.sort_unstable();
            names.dedup();
            if tag.matches('"').count() != 2 * count || names.len() != count || tag.contains('<') {
                return false;
            }
            if let Some(name) = tag.strip_prefix('/') {
                if open.pop() != Some(name) {
                    return false;
                }
            } else if !tag.ends_with('/') {
                open.push(tag.split(' ').next().unwrap_or(""));
            }
            rest = following;
        }
        open.is_empty() && rest == "\n" && !body.is_empty()
    }

    #[test]
    fn the_course_of_the_demo_has_its_gates_seats_and_weak_places() {
        let plan = demo();
        let report = Evaluator::default().report(&plan, Effort::FULL);
        let drawing = course(&plan, &report, &frame(&plan), DisplayUnits::default());
        let mut texts = Vec::new();
        let mut titles = Vec::new();
        each(&drawing, &mut |element| match element.tag {
            "text" => texts.push(element.text.as_str()),
            "title" => titles.push(element.text.as_str()),
            _ => {}
        });
        for word in ["1", "7", "S1", "S4", "A", "D", "start", "N"] {
            assert!(texts.contains(&word), "{word}: {texts:?}");
        }
        for gate in &plan.course.gates {
            assert!(titles.iter().any(|title| title.ends_with(&gate.name)), "{}", gate.name);
        }
        assert!(titles.contains(&"Weakest stretch of C: Moth"), "{titles:?}");
        let mut dashes = Vec::new();
        each(&drawing, &mut |element| {
            dashes.extend(
                element
                    .attributes
                    .iter()
                    .filter(|(name, _)| *name == "stroke-dasharray")
                    .map(|(_, value)| value.as_str()),
            );
        });
        assert_eq!(dashes, DASHES[..4], "every entry has a line pattern of its own");
    }

    /// The letters of the drawing with their middles.
    fn letters(drawing: &Element) -> Vec<(&str, Point)> {
        let mut all = Vec::new();
        each(drawing, &mut |element| {
            let of = |name: &str| {
                let found = element.attributes.iter().find(|(other, _)| *other == name);
                found.and_then(|(_, value)| value.parse::<f64>().ok())
            };
            if element.tag == "text"
                && let (Some(x), Some(y)) = (of("x"), of("y"))
            {
                all.push((element.text.as_str(), [x, y]));
            }
        });
        all
    }

    #[test]
    fn tags_of_eight_chairs_side_by_side_keep_apart_on_a_small_drawing() {
        let mut plan = demo();
        let (seat, receiver, entry) = (plan.seats[0].clone(), plan.receivers[0].clone(), plan.entries[0].clone());
        plan.seats.clear();
        plan.receivers.clear();
        plan.entries.clear();
        for number in 0..8 {
            let id = format!("s{number}");
            plan.seats.push(Seat { id: id.clone(), x_m: seat.x_m + 0.8 * f64::from(number), ..seat.clone() });
            plan.receivers.push(Receiver { id: id.clone(), seat: id.clone(), ..receiver.clone() });
            plan.entries.push(Entry { id: id.clone(), receiver: id, ..entry.clone() });
        }
        let frame = Frame::fit(360.0, 260.0, plan.site.width_m, plan.site.depth_m);
        let drawing = course(&plan, &Report::empty(Effort::FULL), &frame, DisplayUnits::default());
        let is_tag = |text: &str| text.strip_prefix('S').is_some_and(|number| number.parse::<u8>().is_ok());
        let tags: Vec<_> = letters(&drawing).into_iter().filter(|(text, _)| is_tag(text)).collect();
        assert_eq!(tags.len(), 8);
        for (place, (one, [x, y])) in tags.iter().enumerate() {
            for (other, [right, down]) in &tags[place + 1..] {
                assert!((x - right).abs() >= 14.0 || (y - down).abs() >= LETTERS, "{one} and {other}");
            }
        }
    }

    #[test]
    fn it_is_black_and_white_and_its_letters_are_large_enough() {
        let plan = demo();
        let report = Evaluator::default().report(&plan, Effort::FULL);
        each(&course(&plan, &report, &frame(&plan), DisplayUnits::default()), &mut |element| {
            for (name, value) in &element.attributes {
                match *name {
                    "fill" | "stroke" => {
                        assert!(
                            ["black", "white", "none"].contains(&value.as_str()) || value.starts_with("url(#hatch-"),
                            "{value}"
                        );
                    }
                    "font-size" => assert!(value.parse::<f64>().unwrap() >= 12.0),
                    "opacity" | "fill-opacity" | "stroke-opacity" => panic!("a copier knows no {name}"),
                    _ => {}
                }
            }
        });
    }

    #[test]
    fn hostile_names_stay_text_in_the_file() {
        let mut plan = demo();
        let hostile = "\"><svg onload=alert(1)>";
        hostile.clone_into(&mut plan.name);
        "<script>alert(1)</script>".clone_into(&mut plan.course.gates[0].name);
        for obstacle in &mut plan.site.obstacles {
            "]]>&<b>".clone_into(&mut obstacle.name);
        }
        plan.seats[0].name = "</title><script/>".to_owned();
        plan.entries[0].name = "<!-- ' -->".to_owned();
        let report = Evaluator::default().report(&plan, Effort::FULL);
        let file = course(&plan, &report, &frame(&plan), DisplayUnits::default()).file();
        assert!(is_well_formed(&file), "{file}");
        assert_eq!(file.matches("<svg").count(), 1);
        for never in ["<script", "<b>", "<!--", "]]>"] {
            assert!(!file.contains(never), "{never}");
        }
        assert!(file.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
        assert!(!is_well_formed(&file.replacen("fill=", "fill=\"red\" fill=", 1)), "an attribute stands twice");
        assert!(!is_well_formed(&file.replacen("</title>", "", 1)) && !is_well_formed(&file.replacen("&lt;", "<", 1)));
    }

    #[test]
    fn a_plan_that_cannot_be_flown_still_has_a_drawing() {
        let mut plan = demo();
        plan.course.gates.truncate(1);
        plan.entries.clear();
        let report = Report::empty(Effort::FULL);
        assert!(is_well_formed(&course(&plan, &report, &frame(&plan), DisplayUnits::default()).file()));
    }
}

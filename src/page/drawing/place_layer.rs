//! Gates, seats and the start pad: the marks under the handles.

use std::rc::Rc;

use yew::prelude::*;

use crate::plan::document::{Plan, Port};
use crate::plan::part::Part;
use crate::plan::presets::{is_directional, typical_antenna};

use super::frame::Frame;
use super::ink;
use super::marks::{along, arrow, arrow_head, beam, gate, seat};
use super::names::{seat_name, site_names};
use super::path_text::{PathText, Point};

/// Half the width at which a gate is drawn, in metres; race gates are commonly 1.5 m wide, no source.
const GATE_HALF_WIDTH_M: f64 = 0.75;
/// No gate is drawn narrower than this, in pixels to each side.
const LEAST_GATE: f64 = 9.0;

/// Properties of [`PlaceLayer`].
#[derive(Clone, Properties)]
pub struct PlaceLayerProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// The chosen entry, whose receiver's beams are drawn.
    pub entry: usize,
    /// The picked part.
    pub selected: Option<Part>,
    /// Where it is drawn.
    pub frame: Frame,
}

impl PartialEq for PlaceLayerProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.plan, &other.plan)
            && (self.entry, self.selected, self.frame) == (other.entry, other.selected, other.frame)
    }
}

/// Gates, seats with beams, and the pad.
#[component]
pub fn PlaceLayer(props: &PlaceLayerProps) -> Html {
    let PlaceLayerProps { plan, entry, selected, frame } = props;
    let picked = |part: Part| if *selected == Some(part) { " is-selected" } else { "" };
    let half_width = frame.length(GATE_HALF_WIDTH_M).max(LEAST_GATE);
    let gates = plan.course.gates.iter().enumerate().map(|(index, item)| {
        let centre = frame.place(item.x_m, item.y_m);
        let framed = item.frame.as_ref().map(|metal| frame.length((metal.opening_m[0] + metal.tube_m) / 2.0));
        let half_width = framed.map_or(half_width, |half| half.max(LEAST_GATE));
        let [x, y] = along(centre, item.heading_deg + 90.0, half_width + 11.0);
        let posts = framed.into_iter().flat_map(|_| {
            [-90.0, 90.0].map(|side| ink::circle("is-post", along(centre, item.heading_deg + side, half_width), 3.0))
        });
        let mut drawn = vec![
            ink::path("is-bar", gate(centre, item.heading_deg, half_width)),
            ink::path("is-head", arrow_head(along(centre, item.heading_deg, 13.0), item.heading_deg, 9.0)),
            ink::circle("", [x, y], 9.0),
            ink::text("", [x, y + 4.0], (index + 1).to_string()),
        ];
        drawn.extend(posts);
        ink::group(format!("course-gate{}", picked(Part::Gate(index))), drawn)
    });
    let chosen =
        plan.entries.get(*entry).and_then(|entry| plan.receivers.iter().find(|item| item.id == entry.receiver));
    let mut taken = site_names(plan, frame);
    let seats = plan.seats.iter().enumerate().map(|(index, item)| {
        let centre = frame.place(item.x_m, item.y_m);
        let receiver = chosen.filter(|receiver| receiver.seat == item.id);
        let mut drawn = Vec::new();
        for (number, port) in receiver.iter().flat_map(|receiver| receiver.ports.iter().enumerate()) {
            drawn.push(port_beam(port, number, centre, item.facing_deg, frame));
        }
        drawn.push(ink::path("is-chair", seat(centre, item.facing_deg, 9.0)));
        drawn.push(ink::path("is-facing", arrow(centre, item.facing_deg, 15.0, 4.0)));
        // Seats stand close together; only the names that matter now are written.
        if receiver.is_some() || *selected == Some(Part::Seat(index)) {
            let name = seat_name(&item.name, centre, &taken, frame);
            drawn.push(ink::text("", name.place, name.text.clone()));
            taken.push(name);
        }
        let chosen = if receiver.is_some() { " is-chosen" } else { "" };
        ink::group(format!("course-seat{}{chosen}", picked(Part::Seat(index))), drawn)
    });
    let pad = &plan.course.pad;
    let [x, y] = frame.place(pad.x_m, pad.y_m);
    let mut square = PathText::new();
    let corners = [45.0, 135.0, 225.0, 315.0].map(|turn| along([x, y], pad.heading_deg + turn, 11.0));
    square.polygon(&corners).polyline(&[corners[0], corners[2]]).polyline(&[corners[1], corners[3]]);
    let mut drawn: Vec<Html> = seats.collect();
    let start = seat_name("start", [x, y], &taken, frame);
    drawn.push(ink::group(
        format!("course-pad{}", picked(Part::Pad)),
        vec![
            ink::path("", square.text()),
            ink::path("is-facing", arrow([x, y], pad.heading_deg, 17.0, 5.0)),
            ink::text("", start.place, start.text),
        ],
    ));
    drawn.extend(gates);
    ink::unspoken("course-places", drawn)
}

fn port_beam(port: &Port, number: usize, seat: Point, facing_deg: f64, frame: &Frame) -> Html {
    let directional = is_directional(port.antenna.kind);
    let typical = typical_antenna(port.antenna.kind).beamwidth_deg.map(|typical| typical.value);
    let width = port.antenna.beamwidth_deg.or(typical).filter(|_| directional);
    let radius = if directional { frame.length(7.0).max(60.0) } else { frame.length(2.0).max(24.0) };
    let drawn = ink::path("", beam(seat, facing_deg + port.aim_off_deg, width, radius));
    let title = ink::title(format!("Half-power beam of port {}", number + 1));
    ink::group(format!("course-beam is-port-{number}"), vec![title, drawn])
}

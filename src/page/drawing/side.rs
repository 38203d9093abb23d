//! The sight line from a seat to the aircraft at the cursor as an inked section of the yard.

use yew::prelude::*;

use crate::format::{self, DisplayUnits, Measure, fixed, signed};
use crate::link::report::Explanation;
use crate::link::side_view::{FREE_SHARE, SideCut, SideView, side_view};
use crate::parts;
use crate::plan::document::Plan;
use crate::plan::part::Part;
use crate::units::Hertz;

use super::drawing_props::DrawingProps;
use super::ink;
use super::marks::aircraft;
use super::outline::Hatch;
use super::path_text::{PathText, Point};
use super::ruler::{round_step, ticks};
use super::side_layout::SideLayout;
use super::site_layer::hatched;
use super::strip_layout::{held_within, text_width};
use super::width::use_width;

/// The side view: from the picked seat, or else from the seat of the chosen entry's receiver.
#[component]
pub fn Side(props: &DrawingProps) -> Html {
    let units = use_context::<DisplayUnits>().unwrap_or_default();
    let sheet = use_node_ref();
    let width = use_width(&sheet);
    html! {
        <div class="side" ref={sheet}>{ seen(props, width, units).unwrap_or_default() }</div>
    }
}

fn seen(props: &DrawingProps, width: f64, units: DisplayUnits) -> Option<Html> {
    let DrawingProps { plan, report, explanation, view, .. } = props;
    let entry = plan.entries.get(view.entry)?;
    let receiver = &plan.receivers[parts::receiver_of(plan, view.entry)?];
    let own = plan.seats.iter().position(|seat| seat.id == receiver.seat)?;
    let seat = if let Some(Part::Seat(picked)) = view.selected { picked } else { own };
    let lap = &report.as_ref()?.lap;
    let sample = view.cursor.min(lap.x_m.len().checked_sub(1)?);
    let point = [lap.x_m[sample], *lap.y_m.get(sample)?, *lap.height_m.get(sample)?];
    let side = side_view(plan, seat, point, Hertz(entry.channel_hz))?;
    let explained = explanation.as_ref().filter(|_| seat == own);
    let layout = SideLayout::new(&side, width);
    let times = match layout.times {
        times if times > 1.0 => format!("Heights are drawn {} times as large as distances.", fixed(times, 0)),
        _ => "Heights and distances are drawn alike.".to_owned(),
    };
    let from = &plan.seats.get(seat)?.name;
    let summary = format!("From {from} to {}, {} away", entry.name, Measure::Length.text(side.length_m, units));
    Some(html! {
        <>
            <p class="side-where">{ &summary }</p>
            if width > 0.0 {
                { drawn(plan, &side, &layout, units, &summary) }
            }
            <ul class="side-list">
                { for side.cuts.iter().filter(|cut| cut.is_near()).map(|cut| html! { <li>{ in_words(plan, cut) }</li> }) }
                { for explained.and_then(|explained| loss(explained)).map(|text| html! { <li>{ text }</li> }) }
            </ul>
            <p class="field-note">
                { format!("{times} Solid oval: first Fresnel zone; dashed: the {FREE_SHARE} of it that should be free. What stands beside the line is not seen here.") }
            </p>
        </>
    })
}

/// A cut in a sentence.
fn in_words(plan: &Plan, cut: &SideCut) -> String {
    let name = plan.site.obstacles.get(cut.obstacle).map_or("", |obstacle| &obstacle.name);
    let what = if cut.clearance < 0.0 { "the line runs into it" } else { "it reaches into the zone" };
    format!("{name}: clearance {} of the zone’s radius; {what}.", signed(cut.clearance, 2))
}

/// What the obstacles in the direct path cost, in a sentence; `None` when nothing is explained.
fn loss(explained: &Explanation) -> Option<String> {
    let direct = explained.paths.iter().find(|path| path.via.is_empty())?;
    let loss = format::decibels(direct.obstruction_db.max(0.0));
    Some(match &direct.obstructed_by {
        Some(name) => format!("The direct path loses {loss} on the way, most of it to {name}."),
        None => format!("The direct path loses {loss} on the way."),
    })
}

fn drawn(plan: &Plan, side: &SideView, layout: &SideLayout, units: DisplayUnits, summary: &str) -> Html {
    let place = |along: f64, height: f64| layout.place(along, height);
    let zone = |share: f64| {
        let upper = side.zone_m.iter().map(|[along, line, radius]| place(*along, line + share * radius));
        let lower = side.zone_m.iter().rev().map(|[along, line, radius]| place(*along, line - share * radius));
        PathText::new().polygon(&upper.chain(lower).collect::<Vec<Point>>()).text()
    };
    let ([left, ground], [right, top]) = (place(0.0, 0.0), place(side.length_m, layout.top_m));
    let cuts = side.cuts.iter().enumerate().filter_map(|(index, cut)| {
        let obstacle = plan.site.obstacles.get(cut.obstacle)?;
        let hatch = Hatch::of_shape(&obstacle.shape);
        let ([x, y], [far, foot]) = (place(cut.span_m[0], cut.heights_m[1]), place(cut.span_m[1], cut.heights_m[0]));
        // A thin wall is drawn as thick as its hatch needs.
        let (x, wide) = if far - x < 4.0 { ((x + far) / 2.0 - 2.0, 4.0) } else { (x, far - x) };
        let middle = held_within(x + wide / 2.0, text_width(&obstacle.name), left, right);
        // Names of neighbours take turns, so that they do not run into each other.
        let above = y.max(top) - 5.0 - 11.0 * (index % 2) as f64;
        let upper = y.max(top - 4.0);
        let corners = [[x, upper], [x + wide, upper], [x + wide, foot.max(upper + 1.0)], [x, foot.max(upper + 1.0)]];
        let class = if cut.is_near() { "side-cut is-near" } else { "side-cut" };
        let outline = PathText::new().polygon(&corners).text();
        let name = ink::text("", [middle, above.max(10.0)], obstacle.name.clone());
        Some(ink::group(class, vec![hatched(hatch, outline), name]))
    });
    let per_unit = Measure::Length.kept(1.0, units);
    let steps = |most_m: f64, pixels: f64| ticks(0.0, most_m / per_unit, round_step(pixels * per_unit.recip()));
    let heights = steps(layout.top_m, 26.0 / (layout.scale * layout.times));
    let distances = steps(side.length_m, 60.0 / layout.scale);
    let [seat, craft] = [place(0.0, side.ends_m[0]), place(side.length_m, side.ends_m[1])];
    let mut post = PathText::new();
    post.polyline(&[[seat[0], ground], seat]).polyline(&[[seat[0] - 5.0, ground], [seat[0] + 5.0, ground]]);
    let mut numbers = vec![ink::text("is-north", [left - 12.0, 11.0], Measure::Length.unit(units))];
    for height in heights {
        let [_, y] = place(0.0, height * per_unit);
        numbers.push(ink::text("is-north", [left - 12.0, y + 4.0], Measure::Count.field_text(height, units)));
    }
    for distance in distances {
        let [x, _] = place(distance * per_unit, 0.0);
        numbers.push(ink::text("is-east", [x, ground + 15.0], Measure::Count.field_text(distance, units)));
    }
    let drawn = vec![
        ink::path("side-zone", zone(1.0)),
        ink::group("", cuts.collect()),
        ink::path("side-free", zone(FREE_SHARE)),
        ink::line("side-line", seat, craft),
        ink::path("side-post", post.text()),
        ink::line("side-ground", [left - 8.0, ground], [right + 8.0, ground]),
        ink::group("course-aircraft", vec![ink::path("", aircraft(craft, 90.0, 6.5))]),
        ink::group("course-grid", numbers),
    ];
    ink::sheet("side-drawing course-drawing", [layout.width, layout.height], summary, drawn)
}

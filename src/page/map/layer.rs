//! The map on the course drawing: hatched areas under what stands on the site, numbered lines and the cursor above it.

use std::rc::Rc;

use yew::prelude::*;

use crate::drawing::frame::Frame;
use crate::drawing::names::{Name, site_names};
use crate::drawing::path_text::at;
use crate::link::map::emphasis;

use super::picture::MapPicture;

/// Cells that the cursor goes with shift held.
const LONG_STEP: usize = 8;

/// Properties of [`MapAreas`] and [`MapLines`].
#[derive(Clone, Properties)]
pub struct MapLayerProps {
    /// What is drawn.
    pub picture: Rc<MapPicture>,
    /// Where it is drawn.
    pub frame: Frame,
    /// Whether it is from before the last change.
    pub is_stale: bool,
}

impl PartialEq for MapLayerProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.picture, &other.picture) && (self.frame, self.is_stale) == (other.frame, other.is_stale)
    }
}

fn stale(props: &MapLayerProps) -> Option<&'static str> {
    props.is_stale.then_some("is-stale")
}

/// One area for each class that is marked, and the hatches.
#[component]
pub fn MapAreas(props: &MapLayerProps) -> Html {
    let MapLayerProps { picture, frame, .. } = props;
    let quantity = picture.subject.choice.quantity;
    let areas = (0..3).map(|class| (class, emphasis(quantity, class))).filter(|(_, strength)| *strength > 0);
    html! {
        <g class={classes!("map-areas", stale(props))}>
            <defs>
                { pattern("map-hatch-1", "12", "M0 .5H12") }
                { pattern("map-hatch-2", "6", "M0 .5H6M.5 0V6") }
            </defs>
            { for areas.map(|(class, strength)| html! {
                <path key={class} class={format!("map-area is-{strength}")} fill-rule="evenodd"
                    fill={format!("url(#map-hatch-{strength})")} d={picture.area(class, frame)} />
            }) }
        </g>
    }
}

fn pattern(id: &'static str, side: &'static str, strokes: &'static str) -> Html {
    html! {
        <pattern {id} width={side} height={side} patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
            <rect class="map-ground" width={side} height={side} />
            <path class="map-strokes" d={strokes} />
        </pattern>
    }
}

/// The contours and their numbers.
#[component]
pub fn MapLines(props: &MapLayerProps) -> Html {
    let MapLayerProps { picture, frame, .. } = props;
    // Where a name stands, a number would be read by nobody.
    let names = site_names(&picture.subject.plan, frame);
    html! {
        <g class={classes!("map-lines", stale(props))} aria-hidden="true">
            { for picture.contours.iter().enumerate().map(|(index, contour)| {
                let is_limit = picture.is_limit(contour.level).then_some("is-limit");
                html! { <path key={index} class={classes!("map-line", is_limit)} d={MapPicture::line(contour, frame)} /> }
            }) }
            { for picture.labels(frame).into_iter().enumerate().filter_map(|(index, label)| {
                let [x, y] = frame.place(label.at.0, label.at.1);
                let number = Name { text: picture.number(label.level), place: [x, y + 4.0], turned: false };
                if names.iter().any(|name| name.touches(&number)) {
                    return None;
                }
                // North is up and the drawing's y runs down: its turn is the other way round.
                let transform = format!("rotate({} {} {})", at(-label.turn_deg), at(x), at(y));
                Some(html! { <text key={index} x={at(x)} y={at(y + 4.0)} {transform}>{ number.text }</text> })
            }) }
        </g>
    }
}

/// The cursor of the keys: a cross over the cell that is read. It takes the tab key even where it is not drawn yet.
pub fn cursor(picture: &MapPicture, frame: &Frame, looked: &UseStateHandle<Option<(usize, bool)>>) -> Html {
    let grid = *picture.grid();
    let middle = grid.rows / 2 * grid.columns + grid.columns / 2;
    // Another site may have fewer cells.
    let (cell, _) = (**looked).unwrap_or((middle, false));
    let cell = if cell < grid.cells() { cell } else { middle };
    let onkeydown = {
        let looked = looked.clone();
        move |event: KeyboardEvent| {
            let step = if event.shift_key() { LONG_STEP } else { 1 };
            let (column, row) = (cell % grid.columns, cell / grid.columns);
            let (column, row) = match event.key().as_str() {
                "ArrowRight" => ((column + step).min(grid.columns - 1), row),
                "ArrowLeft" => (column.saturating_sub(step), row),
                "ArrowUp" => (column, (row + step).min(grid.rows - 1)),
                "ArrowDown" => (column, row.saturating_sub(step)),
                "Enter" | " " => (column, row),
                _ => return,
            };
            event.prevent_default();
            event.stop_propagation();
            looked.set(Some((row * grid.columns + column, true)));
        }
    };
    let (east, north) = grid.centre(cell);
    let [x, y] = frame.place(east, north);
    html! {
        <g id="map-cursor" class={classes!("map-cursor", looked.is_some().then_some("is-read"))} role="button" tabindex="0"
            aria-label="Read the map: arrow keys move, with shift eight cells" {onkeydown}>
            <path class="is-ground" d={cross(x, y)} />
            <path d={cross(x, y)} />
        </g>
    }
}

fn cross(x: f64, y: f64) -> String {
    let [left, right, top, bottom] = [at(x - 11.0), at(x + 11.0), at(y - 11.0), at(y + 11.0)];
    let [near, far, above, below] = [at(x - 3.0), at(x + 3.0), at(y - 3.0), at(y + 3.0)];
    let [x, y] = [at(x), at(y)];
    format!("M{left} {y}H{near}M{far} {y}H{right}M{x} {top}V{above}M{x} {below}V{bottom}")
}

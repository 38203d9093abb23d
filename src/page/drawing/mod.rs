//! The drawings of the page: the course from above, the strip, the ladder, and the fields of a picked part.
//!
//! What can be computed without a browser (scales, paths of marks, hatches, shown tenths, sentences) is plain code with
//! tests beside it; the components that show it are built for the browser alone.
//!
//! `look` is how much is in sight, `frame` where it lies on the drawing, `snap` where a dragged thing comes to rest,
//! `grips` what a drag of a handle makes of the plan: all of it pure and tested natively. `hold` (on a handle) and
//! `ground` (on open ground) turn pointers and keys into those. A drag sends whole edits of the plan with one merge
//! number, so that it is one step of undo; Escape sends the part as it was before. Whatever a drag does, a button, a
//! field or a key does too.

#[cfg(target_arch = "wasm32")]
mod course_drawing;
#[cfg(target_arch = "wasm32")]
mod course_gestures;
#[cfg(target_arch = "wasm32")]
mod drawing_props;
#[cfg(target_arch = "wasm32")]
mod flight_line;
pub mod frame;
#[cfg(target_arch = "wasm32")]
mod frame_throttle;
#[cfg(target_arch = "wasm32")]
mod gate_list;
pub mod grips;
pub mod group;
#[cfg(target_arch = "wasm32")]
mod handle_gestures;
#[cfg(target_arch = "wasm32")]
mod handles;
#[cfg(target_arch = "wasm32")]
pub(crate) mod ink;
#[cfg(target_arch = "wasm32")]
mod instant_layer;
#[cfg(target_arch = "wasm32")]
mod key;
#[cfg(target_arch = "wasm32")]
mod keys;
#[cfg(target_arch = "wasm32")]
mod ladder;
pub mod ladder_steps;
pub mod lap_columns;
pub mod margin_class;
pub mod marks;
pub mod names;
pub mod outline;
pub mod part;
#[cfg(target_arch = "wasm32")]
mod part_fields;
pub mod part_numbers;
pub mod path_text;
#[cfg(target_arch = "wasm32")]
mod place_layer;
pub mod ruler;
#[cfg(target_arch = "wasm32")]
pub mod safety_layer;
#[cfg(target_arch = "wasm32")]
mod side;
pub mod side_layout;
#[cfg(target_arch = "wasm32")]
mod site_layer;
pub mod snap;
pub mod stages;
#[cfg(target_arch = "wasm32")]
mod steady;
#[cfg(target_arch = "wasm32")]
mod strip;
pub mod strip_layout;
#[cfg(target_arch = "wasm32")]
mod strip_rows;
#[cfg(target_arch = "wasm32")]
mod tools;
pub mod viewport;
#[cfg(target_arch = "wasm32")]
pub mod width;

#[cfg(target_arch = "wasm32")]
pub use course_drawing::CourseDrawing;
#[cfg(target_arch = "wasm32")]
pub use drawing_props::DrawingProps;
#[cfg(target_arch = "wasm32")]
pub use frame_throttle::FrameThrottle;
#[cfg(target_arch = "wasm32")]
pub use gate_list::{GateList, GateListProps};
#[cfg(target_arch = "wasm32")]
pub use ladder::{Ladder, LadderProps, staircase};
#[cfg(target_arch = "wasm32")]
pub use part_fields::{PartFields, PartFieldsProps};
#[cfg(target_arch = "wasm32")]
pub use side::Side;
#[cfg(target_arch = "wasm32")]
pub use strip::{Strip, StripProps};

#[cfg(target_arch = "wasm32")]
use std::rc::Rc;

#[cfg(target_arch = "wasm32")]
use crate::link::report::{Explanation, Report};

/// Whether two reports are one and the same, which is all that rendering needs to know; comparing thousands of numbers
/// would cost more than drawing them.
#[cfg(target_arch = "wasm32")]
fn same_report(one: &Rc<Report>, other: &Rc<Report>) -> bool {
    Rc::ptr_eq(one, other)
}

#[cfg(target_arch = "wasm32")]
fn same_optional_report(one: Option<&Rc<Report>>, other: Option<&Rc<Report>>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => Rc::ptr_eq(one, other),
        (one, other) => one.is_none() && other.is_none(),
    }
}

#[cfg(target_arch = "wasm32")]
fn same_explanation(one: Option<&Rc<Explanation>>, other: Option<&Rc<Explanation>>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => Rc::ptr_eq(one, other),
        (one, other) => one.is_none() && other.is_none(),
    }
}

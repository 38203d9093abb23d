//! What each pilot sees at the cursor, beside the course: the picture of the bench, field by field as the lap is flown.

use std::cell::RefCell;
use std::rc::Rc;

use yew::prelude::*;

use super::canvas::put;
use super::elements::note;
use super::format::decibels;
use crate::link::picture::{BYTES, FIELD, HEIGHT, ReceiverScreen, Reception, WIDTH};
use crate::link::report::Report;
use crate::plan::document::Plan;
use crate::units::Seconds;

/// Properties of [`PilotsPictures`].
#[derive(Clone, Properties)]
pub struct PilotsPicturesProps {
    /// The plan.
    pub plan: Rc<Plan>,
    /// Its report.
    pub report: Rc<Report>,
    /// The sample at which the cursor stands.
    pub cursor: usize,
}

impl PartialEq for PilotsPicturesProps {
    fn eq(&self, other: &Self) -> bool {
        Rc::ptr_eq(&self.report, &other.report) && self.cursor == other.cursor
    }
}

/// The pilots' screens.
#[derive(Default)]
struct Screens {
    screens: Vec<(ReceiverScreen, NodeRef)>,
    pixels: Vec<u8>,
    /// Time of the lap at which they were drawn.
    time_s: f64,
}

impl Screens {
    /// Draws every picture; `time_s` is the time of the lap.
    fn draw(&mut self, receptions: &[Option<Reception>], time_s: f64) {
        // Who takes the cursor back, or elsewhere, sees the next field there.
        let passed = Seconds((time_s - self.time_s).clamp(FIELD.0, 1.0));
        self.time_s = time_s;
        self.pixels.resize(BYTES, 0);
        for ((screen, canvas), reception) in self.screens.iter_mut().zip(receptions) {
            if let Some(reception) = reception {
                screen.field(reception, passed, &mut self.pixels);
                put(canvas, &self.pixels);
            }
        }
    }
}

/// A row of pictures, one for each entry.
#[component]
pub fn PilotsPictures(props: &PilotsPicturesProps) -> Html {
    let PilotsPicturesProps { plan, report, cursor } = props;
    let screens = use_memo((), |()| RefCell::new(Screens::default()));
    while screens.borrow().screens.len() < report.entries.len() {
        let seed = screens.borrow().screens.len() as u64;
        screens.borrow_mut().screens.push((ReceiverScreen::new(seed), NodeRef::default()));
    }
    let receptions: Vec<_> =
        report.entries.iter().map(|entry| Reception::on_lap(plan, report, entry, *cursor)).collect();
    let pictures = report.entries.iter().zip(&receptions).zip(&screens.borrow().screens).map(|((entry, reception), (_, canvas))| {
        let ratio = reception.map(|reception| decibels(reception.carrier_to_noise.0)).unwrap_or_default();
        html! {
            <figure key={entry.index} class="pilots-picture">
                <canvas ref={canvas} width={WIDTH.to_string()} height={HEIGHT.to_string()} role="img"
                    aria-label={format!("Illustration: the picture of {} at a carrier-to-noise ratio of {ratio}", entry.name)} />
                <figcaption>{ format!("{}, {ratio}", entry.name) }</figcaption>
            </figure>
        }
    }).collect::<Html>();
    use_effect_with((Rc::as_ptr(report), *cursor), {
        let time_s = report.lap.time_s.get(*cursor).copied().unwrap_or(0.0);
        move |_| screens.borrow_mut().draw(&receptions, time_s)
    });
    html! {
        <div id="pilots-pictures" class="pilots-pictures">
            { pictures }
            { note("Illustrations by the model of the bench: what each receiver would show at the cursor, with its carrier-to-noise ratio.") }
        </div>
    }
}

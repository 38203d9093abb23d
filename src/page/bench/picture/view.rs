//! The canvas with the picture.

use std::cell::{Cell, RefCell};

use yew::prelude::*;

use super::{caption, model};
use crate::canvas::put;
use crate::elements::{button, note};
use crate::link::picture::{BYTES, HEIGHT, ReceiverScreen, Reception, WIDTH};
use crate::motion::{Motion, prefers_stillness};
use crate::units::Seconds;

/// The seed of all pictures: everybody sees the same snow.
const SEED: u64 = 1;
/// Time between two drawings: 25 a second are enough for the eye.
const DRAWING: Seconds = Seconds(0.04);

/// Properties of [`PictureView`].
#[derive(Clone, PartialEq, Properties)]
pub struct PictureViewProps {
    /// What arrives.
    pub reception: Reception,
}

/// The receiver and the canvas it draws on.
struct Set {
    screen: RefCell<ReceiverScreen>,
    pixels: RefCell<Vec<u8>>,
    canvas: NodeRef,
    /// Seconds that have passed and were not drawn yet.
    behind: Cell<f64>,
}

impl Set {
    fn new() -> Self {
        Self {
            screen: RefCell::new(ReceiverScreen::new(SEED)),
            pixels: RefCell::new(vec![0; BYTES]),
            canvas: NodeRef::default(),
            behind: Cell::new(0.0),
        }
    }

    /// Lets time pass, and draws when enough of it has.
    fn pass(&self, seconds: f64, reception: &Reception) {
        let behind = self.behind.get() + seconds;
        if behind < DRAWING.0 {
            return self.behind.set(behind);
        }
        // What a slow machine does not draw has passed all the same.
        self.behind.set(behind % DRAWING.0);
        self.draw(reception, Seconds(behind - behind % DRAWING.0));
    }

    fn draw(&self, reception: &Reception, passed: Seconds) {
        let mut pixels = self.pixels.borrow_mut();
        self.screen.borrow_mut().field(reception, passed, &mut pixels);
        put(&self.canvas, &pixels);
    }
}

/// The picture with its caption, a button that halts it, and its model.
#[component]
pub fn PictureView(props: &PictureViewProps) -> Html {
    let set = use_memo((), |()| Set::new());
    let reception = use_memo((), |()| Cell::new(props.reception));
    reception.set(props.reception);
    let is_moving = use_state(|| !prefers_stillness());
    use_effect_with(*is_moving, {
        let (set, reception) = (set.clone(), reception.clone());
        move |is_moving: &bool| {
            let motion = is_moving.then(|| Motion::start(move |passed| set.pass(passed, &reception.get())));
            move || drop(motion)
        }
    });
    // Standing still it shows what changes when something does.
    use_effect_with((props.reception, *is_moving), {
        let set = set.clone();
        move |(reception, is_moving): &(Reception, bool)| {
            if !is_moving {
                set.draw(reception, DRAWING);
            }
        }
    });
    let on_step = {
        let (set, reception) = (set.clone(), reception.clone());
        Callback::from(move |_| set.draw(&reception.get(), DRAWING))
    };
    let on_pause = {
        let is_moving = is_moving.clone();
        Callback::from(move |_| is_moving.set(!*is_moving))
    };
    let caption = caption(&props.reception);
    let label = if *is_moving { "Pause" } else { "Play" };
    html! {
        <section class="picture" aria-labelledby="picture-heading">
            <h2 id="picture-heading">{ "The picture" }</h2>
            <figure>
                <canvas ref={set.canvas.clone()} id="picture-canvas" class="picture-canvas" width={WIDTH.to_string()}
                    height={HEIGHT.to_string()} role="img" aria-label={format!("Illustration: a fairground as seen at the receiver. {caption}")} />
                <figcaption id="picture-caption">{ caption }</figcaption>
            </figure>
            <div class="wave-controls">
                { button("picture-pause", label, Some(format!("{label}: the picture")), on_pause) }
                if !*is_moving {
                    { button("picture-step", "One step on", None, on_step) }
                }
            </div>
            { note(model(&props.reception)) }
        </section>
    }
}

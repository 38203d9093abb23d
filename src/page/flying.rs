//! The aircraft flies the lap: the cursor moves along it as time passes.

use crate::link::report::LapColumns;

/// Without continuous motion, each press flies on by so much, in seconds.
pub const STEP_S: f64 = 0.5;

/// The time of the lap after `passed` seconds of flight from `start`, both in seconds. The lap is closed: it goes on over its
/// end.
pub fn time_after(lap: &LapColumns, start: f64, passed: f64) -> f64 {
    if lap.duration_s > 0.0 { (start + passed).rem_euclid(lap.duration_s) } else { 0.0 }
}

/// The last sample that has been reached at a time of the lap; 0 before the first, or for a lap without samples.
pub fn sample_at(lap: &LapColumns, time: f64) -> usize {
    lap.time_s.partition_point(|&begins| begins <= time).saturating_sub(1)
}

/// The sample half a second after one, and at least the next: samples can be farther apart than that.
pub fn step_on(lap: &LapColumns, sample: usize) -> usize {
    let begins = lap.time_s.get(sample).copied().unwrap_or(0.0);
    match sample_at(lap, time_after(lap, begins, STEP_S)) {
        stuck if stuck == sample => (sample + 1) % lap.time_s.len().max(1),
        next => next,
    }
}

#[cfg(target_arch = "wasm32")]
mod button {
    use std::cell::Cell;
    use std::rc::Rc;

    use yew::prelude::*;

    use super::{sample_at, step_on, time_after};
    use crate::elements::button;
    use crate::kept::kept;
    use crate::link::report::Report;
    use crate::motion::{Motion, prefers_stillness};
    use crate::pilots_pictures::{PilotsPictures, PilotsPicturesProps};
    use crate::plan::document::Plan;
    use crate::state::Action;

    /// What [`FlyLap`] needs.
    #[derive(Clone, PartialEq, Properties)]
    pub struct FlyLapProps {
        /// The plan.
        pub plan: Rc<Plan>,
        /// The report whose lap is flown.
        pub report: Rc<Report>,
        /// The sample at which the cursor stands.
        pub cursor: usize,
        /// Moves the cursor.
        pub dispatch: Callback<Action>,
    }

    /// A flight under way: dropping it ends it.
    struct PlayedLap {
        report: Rc<Report>,
        _motion: Rc<Motion>,
    }

    impl PlayedLap {
        /// Begins at a time of the lap, so many seconds of flight per second; `put` learns where it puts the cursor.
        fn begin(report: Rc<Report>, start: f64, pace: f64, put: Rc<Cell<usize>>, dispatch: Callback<Action>) -> Self {
            let (lap_of, time) = (report.clone(), Cell::new(start));
            let motion = Motion::start(move |passed| {
                let lap = &lap_of.lap;
                time.set(time_after(lap, time.get(), passed * pace));
                let sample = sample_at(lap, time.get());
                if put.replace(sample) != sample {
                    dispatch.emit(Action::Cursor(sample));
                }
            });
            Self { report, _motion: motion }
        }
    }

    /// Buttons that fly the lap in real time or at half the speed, and halt it. Somebody who takes the cursor, or a plan that
    /// changes, halts it too. Where motion is not wanted, a press flies on by half a second instead.
    #[component]
    pub fn FlyLap(props: &FlyLapProps) -> Html {
        let FlyLapProps { plan, report, cursor, dispatch } = props;
        // Shown with the first flight, unless somebody wanted otherwise.
        let wants_pictures = use_state(|| None::<bool>);
        let shows_pictures = wants_pictures.unwrap_or(false);
        let flight = use_state(|| None::<Rc<PlayedLap>>);
        let put = use_memo((), |()| Rc::new(Cell::new(0)));
        let is_still = prefers_stillness();
        {
            let (flight, put, cursor, shown) = (flight.clone(), put.clone(), *cursor, report.clone());
            use_effect_with((cursor, Rc::as_ptr(report), is_still), move |_| {
                let is_stale =
                    |flight: &Rc<PlayedLap>| is_still || put.get() != cursor || !Rc::ptr_eq(&flight.report, &shown);
                if flight.as_ref().is_some_and(is_stale) {
                    flight.set(None);
                }
            });
        }
        let lap = &report.lap;
        let start = lap.time_s.get(*cursor).copied().unwrap_or(0.0);
        let wants = (*wants_pictures, wants_pictures.setter());
        let choice = {
            let setter = wants_pictures.setter();
            let onchange = Callback::from(move |_: Event| setter.set(Some(!shows_pictures)));
            html! {
                <label class="few-one"><input id="fly-pictures" type="checkbox" checked={shows_pictures} {onchange} />{ "Each pilot’s picture" }</label>
            }
        };
        // An empty piece stands in for them, so that the buttons before it stay the very same and keep the focus.
        let pictures = if shows_pictures {
            kept::<PilotsPictures>(PilotsPicturesProps { plan: plan.clone(), report: report.clone(), cursor: *cursor })
        } else {
            Html::default()
        };
        if is_still {
            let next = Action::Cursor(step_on(lap, *cursor));
            let dispatch = dispatch.clone();
            let on = Callback::from(move |_| {
                show(&wants);
                dispatch.emit(next.clone());
            });
            return html! {
                <>
                    <p class="strip-fly">{ button("fly", "Step half a second", None, on) }{ choice }</p>
                    { pictures }
                </>
            };
        }
        let go = |pace: f64| {
            let (flight, put, report, dispatch) = (flight.setter(), put.clone(), report.clone(), dispatch.clone());
            let (cursor, wants) = (*cursor, wants.clone());
            Callback::from(move |_| {
                show(&wants);
                put.set(cursor);
                let begun = PlayedLap::begin(report.clone(), start, pace, (*put).clone(), dispatch.clone());
                flight.set(Some(Rc::new(begun)));
            })
        };
        let halt = {
            let flight = flight.setter();
            Callback::from(move |_| flight.set(None))
        };
        let (label, on) = if flight.is_some() { ("Pause", halt) } else { ("Play lap", go(1.0)) };
        html! {
            <>
                <p class="strip-fly">
                    // Both buttons stay where they are, so that the one that was pressed keeps the focus.
                    { button("fly", label, None, on) }
                    { button("fly-slowly", "Play at half speed", None, go(0.5)) }
                    { choice }
                </p>
                { pictures }
            </>
        }
    }

    /// Shows the pictures, unless somebody has said whether they want them.
    fn show((said, setter): &(Option<bool>, UseStateSetter<Option<bool>>)) {
        if said.is_none() {
            setter.set(Some(true));
        }
    }
}

#[cfg(target_arch = "wasm32")]
pub use button::{FlyLap, FlyLapProps};

#[cfg(test)]
mod tests {
    use super::*;

    fn lap() -> LapColumns {
        LapColumns { time_s: vec![0.0, 0.5, 1.5, 3.0], duration_s: 4.0, ..LapColumns::default() }
    }

    #[test]
    fn the_cursor_stands_at_the_last_sample_reached() {
        let at = |time| sample_at(&lap(), time);
        assert_eq!([at(-1.0), at(0.0), at(0.49), at(0.5), at(2.9), at(3.0), at(3.99)], [0, 0, 0, 1, 2, 3, 3]);
        assert_eq!(sample_at(&LapColumns::default(), 2.0), 0);
    }

    #[test]
    fn a_step_flies_on_by_half_a_second_and_never_stays() {
        let on = |sample| step_on(&lap(), sample);
        assert_eq!([on(0), on(1), on(2), on(3)], [1, 2, 3, 0]);
        assert_eq!(step_on(&LapColumns::default(), 0), 0);
    }

    #[test]
    fn a_lap_goes_on_over_its_end() {
        assert_eq!(time_after(&lap(), 3.5, 1.0), 0.5);
        assert_eq!(time_after(&lap(), 3.5, 9.0), 0.5);
        assert_eq!(time_after(&LapColumns::default(), 3.5, 1.0), 0.0);
    }
}

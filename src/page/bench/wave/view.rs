//! The drawing of the wave, moving.

use std::cell::Cell;
use std::f64::consts::TAU;
use std::rc::Rc;

use yew::prelude::*;

use super::scene::{self, Arrow, FACE, Loop, PHASORS, WHOLE, WaveScene};
use super::{Dialled, WaveEnd, dials, meeting, words};
use crate::elements::{button, note};
use crate::format::fixed;
use crate::link::pair::Side;
use crate::motion::{Motion, prefers_stillness};
use crate::rf::Vec3;
use crate::rf::polarization::Ellipse;
use crate::rf::wave::{Meeting, SideWall, Wave};
use crate::units::{Hertz, Radians};

/// Seconds in which the drawn wave goes on by one wavelength.
const PERIOD_S: f64 = 2.5;
/// How far a step goes on without motion: an eighth of a period.
const STEP: f64 = TAU / 8.0;

/// Properties of [`WaveView`].
#[derive(Clone, PartialEq, Properties)]
pub struct WaveViewProps {
    /// The antenna that sends.
    pub sender: WaveEnd,
    /// The antenna that listens.
    pub receiver: WaveEnd,
    /// The wall that has been put in.
    pub wall: Option<SideWall>,
    /// Carrier.
    pub frequency: Hertz,
    /// Called when a dial is moved.
    pub on_dial: Callback<Dialled>,
}

/// One ellipse drawn by itself.
struct Face {
    wave: Wave,
    title: &'static str,
}

/// The drawing as long as no dial is touched.
struct DrawnWave {
    scene: WaveScene,
    faces: Vec<Face>,
    /// Pixels of a field of unit power in every face.
    size: f64,
}

/// Pixels that the largest field in the faces has at most.
const FACE_FIELD: f64 = 0.42 * FACE;

impl DrawnWave {
    fn new(meeting: Meeting, receiver: &WaveEnd) -> Self {
        let mut faces = vec![
            Face { wave: meeting.direct.wave.clone(), title: "Sent" },
            Face { wave: Wave::of(&receiver.ellipse, -Vec3::x()), title: "Receiver’s own" },
        ];
        if let Some(bounce) = &meeting.bounce {
            faces.push(Face { wave: bounce.arrival.wave.clone(), title: "Bounced" });
            faces.push(Face { wave: meeting.together(), title: "Sum, along the line" });
        }
        // All at one scale, a line of unit power as large as a face allows unless the sum is larger.
        let largest = faces.iter().map(|face| scene::reach(&face.wave)).fold(1.0, f64::max);
        Self { scene: WaveScene::new(meeting), faces, size: FACE_FIELD / largest }
    }
}

/// What is written anew for each frame.
#[derive(Clone, Default)]
struct Moving {
    legs: [[NodeRef; 2]; 3],
    tips: [NodeRef; 3],
    faces: [NodeRef; 4],
}

impl Moving {
    fn put(&self, drawn: &DrawnWave, phase: Radians) {
        for (leg, refs) in drawn.scene.legs(phase).iter().zip(&self.legs) {
            write(&refs[0], "d", &leg.curve);
            write(&refs[1], "d", &leg.strokes);
        }
        let on_faces = drawn.faces.iter().map(|face| scene::face_tip(&face.wave, drawn.size, phase));
        let moved = drawn.scene.tips(phase).into_iter().zip(&self.tips).chain(on_faces.zip(&self.faces));
        for ([x, y], node) in moved {
            write(node, "cx", &format!("{x:.1}"));
            write(node, "cy", &format!("{y:.1}"));
        }
    }
}

fn write(node: &NodeRef, attribute: &str, value: &str) {
    if let Some(element) = node.cast::<web_sys::Element>() {
        // The name of an attribute that exists is never refused.
        let _ = element.set_attribute(attribute, value);
    }
}

/// The wave with its dials.
#[component]
pub fn WaveView(props: &WaveViewProps) -> Html {
    let WaveViewProps { sender, receiver, wall, frequency, on_dial } = props;
    let drawn = use_memo((*sender, *receiver, *wall, *frequency), |(sender, receiver, wall, frequency)| {
        DrawnWave::new(meeting(sender, receiver, wall.as_ref(), *frequency), receiver)
    });
    let moving = use_memo((), |()| Moving::default());
    let phase = use_memo((), |()| Cell::new(0.0));
    let is_moving = use_state(|| !prefers_stillness());
    // Everything is put where it belongs after each drawing, and goes on from there.
    use_effect_with((Rc::as_ptr(&drawn), *is_moving), {
        let (drawn, moving, phase, is_moving) = (drawn.clone(), moving.clone(), phase.clone(), *is_moving);
        move |_| {
            moving.put(&drawn, Radians(phase.get()));
            let motion = is_moving.then(|| {
                Motion::start(move |passed| {
                    phase.set((phase.get() + TAU * passed / PERIOD_S) % TAU);
                    moving.put(&drawn, Radians(phase.get()));
                })
            });
            move || drop(motion)
        }
    });
    let on_step = {
        let (drawn, moving, phase) = (drawn.clone(), moving.clone(), phase.clone());
        Callback::from(move |_| {
            phase.set((phase.get() + STEP) % TAU);
            moving.put(&drawn, Radians(phase.get()));
        })
    };
    let on_pause = {
        let is_moving = is_moving.clone();
        Callback::from(move |_| is_moving.set(!*is_moving))
    };
    let scene = &drawn.scene;
    let sentences = words::sentences(scene.meeting(), &receiver.ellipse);
    // Rounded to a whole power: the drawing is no clock.
    let slower = libm::log10(frequency.0 * PERIOD_S).round();
    html! {
        <section class="wave" aria-labelledby="wave-heading">
            <h2 id="wave-heading">{ "The wave" }</h2>
            <svg id="wave-drawing" class="wave-drawing" viewBox={scene.view_box()} role="img" aria-labelledby="wave-heading"
                aria-describedby="wave-words">
                { still(scene, &receiver.ellipse) }
                { for moving.legs.iter().enumerate().take(scene.legs(Radians(0.0)).len()).map(|(at, [curve, strokes])| html! {
                    <g key={at} class={classes!("wave-leg", (at > 0).then_some("is-bounced"))}>
                        <path ref={strokes} class="wave-strokes" />
                        <path ref={curve} class="wave-curve" id={(at == 0).then_some("wave-field")} />
                    </g>
                }) }
                { for scene.loops().iter().zip(&moving.tips).enumerate().map(|(at, (ring, tip))| html! {
                    <g key={at} class={classes!("wave-loop", (at == 2).then_some("is-bounced"))}>
                        { outline(ring) }
                        <circle ref={tip} r="4" />
                    </g>
                }) }
            </svg>
            <div class="wave-controls">
                { button("wave-pause", if *is_moving { "Pause" } else { "Play" }, None, on_pause) }
                if !*is_moving {
                    { button("wave-step", "One step on", None, on_step) }
                }
            </div>
            <div class="wave-faces">
                { for drawn.faces.iter().zip(&moving.faces).enumerate().map(|(at, (face, tip))| shown_face(at, face, drawn.size, tip)) }
                { shown_phasors(scene.meeting()) }
            </div>
            <ul id="wave-words" class="wave-words">
                { for sentences.into_iter().map(|sentence| html! { <li>{ sentence }</li> }) }
            </ul>
            <div class="wave-panel">
                { dials::of_end(Side::Transmitter, sender, on_dial) }
                { dials::of_end(Side::Receiver, receiver, on_dial) }
                { dials::of_wall(*wall, on_dial) }
            </div>
            { note(format!(
                "Computed, not canned; slowed down some 10{} times. The antennas are drawn {} wavelengths apart and the fields \
                 as large as they can be seen. Each small ellipse is as someone sees it who stands behind the wave and looks \
                 along it: right hand turns clockwise (IEEE Std 145). Nobody knows how a circular antenna’s ellipse is \
                 turned: one of its ways is drawn, and the budget takes the mean of all. Toward a wall both antennas are taken to \
                 send the same ellipse as along the line.",
                raised(slower), fixed(scene::SEPARATION, 0)
            )) }
        </section>
    }
}

/// A whole number as an exponent.
fn raised(exponent: f64) -> String {
    let digits = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    format!("{exponent:.0}").chars().filter_map(|digit| digits.get(digit.to_digit(10)? as usize)).collect()
}

/// The line, the antennas and the wall.
fn still(scene: &WaveScene, receiver: &Ellipse) -> Html {
    let [[from_x, from_y], [to_x, to_y]] = scene.ends();
    let place = |[x, y]: [f64; 2]| format!("{x:.1} {y:.1}");
    let way =
        scene.wall_place().map(|at| format!("M{}L{}L{}", place([from_x, from_y]), place(at), place([to_x, to_y])));
    let hand = |of: &str, ellipse: Option<&Ellipse>| format!("{of}\u{a0}{}", words::letter(ellipse));
    let sent = scene.meeting().direct.wave.ellipse();
    let bounced = scene.meeting().bounce.as_ref().and_then(|bounce| bounce.arrival.wave.ellipse());
    html! {
        <g class="wave-still">
            if let Some([outline, hatches]) = scene.wall() {
                <path class="wave-wall" d={outline} />
                <path class="wave-hatches" d={hatches} />
            }
            <path class="wave-line" d={way} />
            <path class="wave-line" d={format!("M{from_x:.1} {from_y:.1}H{to_x:.1}")} />
            <text x={from_x.to_string()} y={(from_y + 80.0).to_string()}>{ hand("sender", sent.as_ref()) }</text>
            <text x={to_x.to_string()} y={(to_y + 80.0).to_string()}>{ hand("receiver", Some(receiver)) }</text>
            if let Some([x, y]) = scene.wall_place() {
                <text class="wave-bounced" x={format!("{x:.1}")} y={format!("{:.1}", y - 68.0)}>{ hand("bounced", bounced.as_ref()) }</text>
            }
        </g>
    }
}

fn outline(ring: &Loop) -> Html {
    html! {
        <>
            <path class="wave-ring" d={ring.outline.clone()} />
            <path class="wave-heads" d={ring.heads.clone()} />
        </>
    }
}

/// An ellipse by itself with the letter of its hand.
fn shown_face(at: usize, face: &Face, size: f64, tip: &NodeRef) -> Html {
    let ring = scene::face(&face.wave, size);
    let ellipse = face.wave.ellipse();
    let spoken = format!("{}: {}", face.title, words::ellipse(ellipse.as_ref()));
    let middle = (0.5 * FACE).to_string();
    html! {
        <figure key={at} class="wave-face">
            <svg viewBox={format!("0 0 {FACE} {FACE}")} role="img" aria-label={spoken}>
                <path class="wave-line" d={format!("M4 {middle}H{}M{middle} 4V{}", FACE - 4.0, FACE - 4.0)} />
                { outline(&ring) }
                <circle ref={tip} r="4" />
                <text class="wave-hand" x="10" y="20">{ words::letter(ellipse.as_ref()) }</text>
            </svg>
            <figcaption>{ face.title }</figcaption>
        </figure>
    }
}

/// The voltages at the receiver.
fn shown_phasors(meeting: &Meeting) -> Html {
    let middle = (0.5 * PHASORS).to_string();
    html! {
        <figure class="wave-face is-wide">
            <svg viewBox={format!("0 0 {PHASORS} {PHASORS}")} role="img"
                aria-label="Voltages at the receiver, right-hand and left-hand part and their sum; the sentences tell their sizes">
                <path class="wave-line" d={format!("M8 {middle}H{}M{middle} 8V{}", PHASORS - 8.0, PHASORS - 8.0)} />
                <circle class="wave-whole" cx={middle.clone()} cy={middle.clone()} r={WHOLE.to_string()} />
                { for scene::phasors(meeting).into_iter().map(shown_arrow) }
            </svg>
            <figcaption>{ "Received: R + L; circle: all of it" }</figcaption>
        </figure>
    }
}

fn shown_arrow(arrow: Arrow) -> Html {
    let kind = match arrow.letter {
        "R" => "is-right",
        "L" => "is-left",
        _ => "is-sum",
    };
    html! {
        <g class={classes!("wave-arrow", kind, arrow.is_bounced.then_some("is-bounced"))}>
            <path d={arrow.path} />
            if let Some([x, y]) = arrow.at {
                <text x={format!("{x:.1}")} y={format!("{:.1}", y + 4.0)}>{ arrow.letter }</text>
            }
        </g>
    }
}

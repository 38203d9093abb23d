//! The key of the course: what lines, marks and hatches stand for.

use std::rc::Rc;

use yew::prelude::*;

use crate::plan::document::Plan;
use crate::rf::polarization::Hand;

use super::flight_line::flight_line;
use super::ink;
use super::instant_layer::hand_mark;
use super::margin_class::MarginClass;
use super::marks::bars;
use super::outline::Hatch;
use super::safety_layer::triangle;
use super::site_layer::hatched;

/// Properties of [`CourseKey`].
#[derive(Clone, Properties)]
pub struct CourseKeyProps {
    /// The plan, of which only the hatches that occur are listed.
    pub plan: Rc<Plan>,
}

impl PartialEq for CourseKeyProps {
    fn eq(&self, other: &Self) -> bool {
        self.plan.site.obstacles == other.plan.site.obstacles
    }
}

/// The key.
#[component]
pub fn CourseKey(props: &CourseKeyProps) -> Html {
    let obstacles = &props.plan.site.obstacles;
    let hatches = Hatch::ALL
        .into_iter()
        .filter(|hatch| obstacles.iter().any(|obstacle| Hatch::of_shape(&obstacle.shape) == *hatch));
    html! {
        <div class="course-key">
            <ul class="course-key-list" aria-label="Key to the flight line">
                { for MarginClass::ALL.into_iter().map(|class| html! {
                    <li key={class.suffix()}>{ line_sample(class) }{ class.words() }</li>
                }) }
            </ul>
            <details class="course-key-more">
                <summary>{ "All signs" }</summary>
                <ul class="course-key-list">
                    <li>{ sample(ink::path("course-worst-edge", "M2 13V8H38V13")) }{ "weakest stretch" }</li>
                    <li>{ sample(ink::path("course-ghost", "M1 9H39")) }{ "line of the last verdict" }</li>
                    <li>{ sample(wave("course-path is-direct", "3.5", Html::default())) }
                        { "path of the wave, thicker for more power" }</li>
                    <li>{ sample(wave("course-path", "1.5", ink::rectangle("is-bounce", [16.0, 5.0], [8.0; 2]))) }
                        { "bounce off a wall" }</li>
                    <li>{ sample(wave("course-path", "1.5", ink::path("is-bounce", "M20 4L25 13L15 13Z"))) }
                        { "bounce off the ground" }</li>
                    { for [(Some(Hand::Right), "right hand on arrival"), (Some(Hand::Left), "left hand on arrival"),
                        (None, "linear on arrival")].into_iter().map(|(hand, words)| html! {
                        <li>{ sample(hand_mark(hand, [20.0, 11.0])) }{ words }</li>
                    }) }
                    <li>{ sample(ink::path("course-beam is-port-0", "M20 18L6 4A20 20 0 0 1 34 4Z")) }
                        { "half-power beam of a port" }</li>
                    <li>{ sample(triangle([20.0, 11.0], 0)) }{ "the line comes too near to people or things" }</li>
                    { for hatches.map(|hatch| html! {
                        <li key={hatch.id()}>{ sample(hatched(hatch, "M1 1H39V17H1Z".to_owned())) }{ hatch.words() }</li>
                    }) }
                </ul>
                <p class="course-key-note">
                    { "Clear: the margin is at least the wanted reserve, and outage no more than the target leaves. Short: the level is below the threshold." }
                </p>
                <p class="course-key-note">
                    { "Drag gates, seats, the pad and obstacles; by finger tap one first. Or reach the drawing with the tab key and go \
                       from part to part with the arrow keys: Enter picks one, then they move it (with shift a whole metre), and [ \
                       and ] turn it. Escape takes a drag back." }
                </p>
            </details>
        </div>
    }
}

fn line_sample(class: MarginClass) -> Html {
    let bars = if class == MarginClass::Below { bars(&[[1.0, 9.0], [39.0, 9.0]], 7.0, 5.0) } else { String::new() };
    sample(flight_line(class, "M1 9H39".to_owned(), bars))
}

fn wave(class: &'static str, width: &'static str, bounce: Html) -> Html {
    let stroke = vec!["is-line".into(), "M1 9H39".into(), width.into()];
    ink::group(class, vec![ink::mark("path", &["class", "d", "stroke-width"], stroke, Vec::new()), bounce])
}

fn sample(drawn: Html) -> Html {
    html! { <svg class="course-key-sample" width="40" height="20" viewBox="0 0 40 20" aria-hidden="true">{ drawn }</svg> }
}

//! Strokes and letters of the drawings, as elements of SVG.
//!
//! `html!` writes out anew, for every element, how its attributes are gathered. That is a third of the program where
//! drawings consist of hardly anything else; here it is written once.

use yew::prelude::*;
use yew::virtual_dom::{AttributeOrProperty, Attributes, VTag};

use super::path_text::{Point, at};

/// A stroke or a filled outline; nothing without one.
pub fn path(class: impl Into<AttrValue>, d: impl Into<AttrValue>) -> Html {
    let d = d.into();
    if d.is_empty() { Html::default() } else { mark("path", &["class", "d"], vec![class.into(), d], Vec::new()) }
}

/// A straight line.
pub fn line(class: impl Into<AttrValue>, from: Point, to: Point) -> Html {
    let places = [from[0], to[0], from[1], to[1]];
    mark("line", &["class", "x1", "x2", "y1", "y2"], values(class.into(), &places), Vec::new())
}

/// A rectangle by its upper left corner and its sides.
pub fn rectangle(class: impl Into<AttrValue>, corner: Point, sides: [f64; 2]) -> Html {
    let places = [corner[0], corner[1], sides[0], sides[1]];
    mark("rect", &["class", "x", "y", "width", "height"], values(class.into(), &places), Vec::new())
}

/// A circle about a point.
pub fn circle(class: impl Into<AttrValue>, centre: Point, radius: f64) -> Html {
    mark("circle", &["class", "cx", "cy", "r"], values(class.into(), &[centre[0], centre[1], radius]), Vec::new())
}

/// Words at a place; the class says which of their ends or whether their middle is there.
pub fn text(class: impl Into<AttrValue>, place: Point, words: impl Into<AttrValue>) -> Html {
    mark("text", &["class", "x", "y"], values(class.into(), &place), vec![letters(words.into())])
}

/// Several of them together.
pub fn group(class: impl Into<AttrValue>, parts: Vec<Html>) -> Html {
    mark("g", &["class"], vec![class.into()], parts)
}

/// Several of them together of which a screen reader says nothing.
pub fn unspoken(class: &'static str, parts: Vec<Html>) -> Html {
    mark("g", &["class", "aria-hidden"], vec![class.into(), "true".into()], parts)
}

/// What a browser shows for the part of a drawing under the pointer.
pub fn title(words: impl Into<AttrValue>) -> Html {
    mark("title", &[], Vec::new(), vec![letters(words.into())])
}

/// A whole drawing, with what a screen reader says in its place.
pub fn sheet(class: &'static str, [width, height]: [f64; 2], words: &str, parts: Vec<Html>) -> Html {
    let (width, height) = (at(width), at(height));
    let values = [class.to_owned(), "img".to_owned(), words.to_owned(), format!("0 0 {width} {height}"), width, height];
    let names = &["class", "role", "aria-label", "viewBox", "width", "height"];
    mark("svg", names, values.map(AttrValue::from).to_vec(), parts)
}

/// Any other element: its attributes in the order of their names; empty ones are left out.
pub fn mark(tag: &'static str, names: &'static [&'static str], values: Vec<AttrValue>, parts: Vec<Html>) -> Html {
    let attribute = |value: AttrValue| (!value.is_empty()).then_some(AttributeOrProperty::Attribute(value));
    let mut made = VTag::new(tag);
    made.set_attributes(Attributes::Dynamic { keys: names, values: values.into_iter().map(attribute).collect() });
    for part in parts {
        made.add_child(part);
    }
    made.into()
}

/// A class before numbers.
fn values(class: AttrValue, places: &[f64]) -> Vec<AttrValue> {
    let mut values = Vec::with_capacity(places.len() + 1);
    values.push(class);
    for place in places {
        values.push(at(*place).into());
    }
    values
}

fn letters(words: AttrValue) -> Html {
    yew::virtual_dom::VText::new(words).into()
}

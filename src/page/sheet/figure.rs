//! A drawing as a tree of SVG elements that carry their looks with them: shown on the page, and written as a file.
//!
//! There is no style sheet and no script in it, and names are text, whatever they say.

use std::fmt::Write;

use crate::drawing::path_text::{Point, at};

/// An element with attributes, other elements and text.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// Its name.
    pub tag: &'static str,
    /// Names and values.
    pub attributes: Vec<(&'static str, String)>,
    /// What is in it.
    pub inside: Vec<Element>,
    /// The text in it, after the elements.
    pub text: String,
}

impl Element {
    /// An empty one.
    pub fn new(tag: &'static str) -> Self {
        Self { tag, attributes: Vec::new(), inside: Vec::new(), text: String::new() }
    }

    /// The same with an attribute, in the place of one of the same name.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.attributes.retain(|(other, _)| *other != name);
        self.attributes.push((name, value.into()));
        self
    }

    /// The same with a number of pixels as an attribute, in tenths.
    #[must_use]
    pub fn at(self, name: &'static str, value: f64) -> Self {
        self.with(name, at(value))
    }

    /// The same with elements in it.
    #[must_use]
    pub fn holding(mut self, inside: impl IntoIterator<Item = Element>) -> Self {
        self.inside.extend(inside);
        self
    }

    /// The same with a text in it.
    #[must_use]
    pub fn saying(mut self, text: impl Into<String>) -> Self {
        self.text = text.into();
        self
    }

    /// A line without a filling, along an SVG path.
    pub fn stroke(path: String, width: f64) -> Self {
        let stroke = Self::new("path").with("d", path).with("fill", "none").with("stroke", "black");
        stroke.at("stroke-width", width).with("stroke-linejoin", "round")
    }

    /// Letters of a size of [`LETTERS`] with their middle at a point, on a white rim.
    pub fn letters(place: Point, words: impl Into<String>) -> Self {
        Self::new("text")
            .at("x", place[0])
            .at("y", place[1] + 0.35 * LETTERS)
            .with("text-anchor", "middle")
            .with("fill", "black")
            .with("stroke", "white")
            .with("stroke-width", "3")
            .with("stroke-linejoin", "round")
            .with("paint-order", "stroke")
            .saying(words)
    }

    /// A file of its own: well-formed XML, whatever stands in the texts.
    pub fn file(&self) -> String {
        let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        self.write(&mut text);
        text.push('\n');
        text
    }

    fn write(&self, text: &mut String) {
        // Writing to a string cannot fail.
        let _ = write!(text, "<{}", self.tag);
        for (name, value) in &self.attributes {
            let _ = write!(text, " {name}=\"{}\"", escaped(value));
        }
        if self.inside.is_empty() && self.text.is_empty() {
            text.push_str("/>");
            return;
        }
        text.push('>');
        for element in &self.inside {
            element.write(text);
        }
        let _ = write!(text, "{}</{}>", escaped(&self.text), self.tag);
    }

    /// The same for the page.
    #[cfg(target_arch = "wasm32")]
    pub fn shown(&self) -> yew::Html {
        use yew::virtual_dom::{VTag, VText};

        let mut shown = VTag::new(self.tag);
        for (name, value) in &self.attributes {
            shown.add_attribute(name, value.clone());
        }
        for element in &self.inside {
            shown.add_child(element.shown());
        }
        if !self.text.is_empty() {
            shown.add_child(VText::new(self.text.clone()).into());
        }
        shown.into()
    }
}

/// The size of all letters, in pixels: 9 points at 96 pixels to the inch, the least that a copied sheet may have.
pub const LETTERS: f64 = 12.0;

/// Text as it may stand in XML 1.0, also between quotation marks; characters that XML forbids become U+FFFD.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&apos;"),
            '\t' | '\n' | '\r' => escaped.push(' '),
            // XML 1.0, section 2.2: no other control characters, and not these two.
            '\0'..' ' | '\u{fffe}' | '\u{ffff}' => escaped.push('\u{fffd}'),
            other => escaped.push(other),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_name_says_stays_text() {
        let hostile = "\"><svg onload='x()'>&amp;\u{0}\u{ffff}</text>";
        let file =
            Element::new("svg").with("aria-label", hostile).holding([Element::letters([0.0, 0.0], hostile)]).file();
        assert_eq!(file.matches('<').count(), 5, "{file}");
        assert_eq!(
            file.matches("&quot;&gt;&lt;svg onload=&apos;x()&apos;&gt;&amp;amp;\u{fffd}\u{fffd}&lt;/text&gt;").count(),
            2
        );
        assert!(file.ends_with("</text></svg>\n"));
    }

    #[test]
    fn an_empty_element_closes_itself() {
        assert!(Element::stroke("M0 0".to_owned(), 1.0).file().ends_with(
            "<path d=\"M0 0\" fill=\"none\" stroke=\"black\" stroke-width=\"1\" stroke-linejoin=\"round\"/>\n"
        ));
    }
}

//! JSON into the types of a plan, with the path of whatever is refused.
//!
//! `serde` and its JSON reader do the reading; what stands here goes between the two. It keeps the path on the way down,
//! inside kinds too; it is stricter, so that there is one way to write a thing: an object is no list of its values, a word
//! no object, a kind one key; and it says what is wrong in the words of a plan.

use std::borrow::Cow;
use std::cell::RefCell;
use std::fmt;

use serde::de::value::StrDeserializer;
use serde::de::{
    DeserializeSeed, Deserializer, EnumAccess, Error, IgnoredAny, IntoDeserializer, MapAccess, SeqAccess, Unexpected,
    VariantAccess, Visitor,
};
use serde::{Deserialize, forward_to_deserialize_any};

use super::check::legible;

/// Why a text could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The path of the value that is wrong, or of what holds it; empty for the document.
    pub path: String,
    /// Where reading stopped, counted from 1.
    pub line: usize,
    /// Where reading stopped, in bytes of the line.
    pub column: usize,
    /// What is wrong there.
    pub reason: String,
    /// Whether it is the text that is no JSON.
    pub is_grammar: bool,
}

/// The value of a whole text. Every number comes back bit for bit.
///
/// # Errors
/// The first thing that is not JSON, or not what the type asks for.
pub fn read<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T, Refusal> {
    let stopped = RefCell::default();
    let mut json = serde_json::Deserializer::from_str(text);
    let read = T::deserialize(Reader { json: &mut json, at: &Step::Document, stopped: &stopped });
    let read = read.and_then(|value| json.end().map(|()| value));
    read.map_err(|error| {
        let (line, column) = (error.line(), error.column());
        let message = error.to_string();
        let message = message.strip_suffix(&format!(" at line {line} column {column}")).unwrap_or(&message);
        let is_too_large = message == "number out of range";
        let before = text.lines().nth(line.saturating_sub(1)).unwrap_or_default().as_bytes().get(..column);
        let reason = if is_too_large {
            let digits = before.unwrap_or_default().rsplit(|byte| !b"+-.eE0123456789".contains(byte)).next();
            format!("number {} is out of range", String::from_utf8_lossy(digits.unwrap_or_default()))
        } else {
            sentence(message)
        };
        let is_grammar = !error.is_data() && !is_too_large;
        Refusal {
            path: stopped.into_inner().unwrap_or_default(),
            line,
            column,
            reason: legible(&reason, LONGEST),
            is_grammar,
        }
    })
}

/// Letters of a reason that are shown. The longest list of known words has 230.
const LONGEST: usize = 400;

/// A step on the way from the document to a value.
enum Step<'a> {
    Document,
    Key(&'a Step<'a>, &'a str),
    Item(&'a Step<'a>, usize),
}

impl fmt::Display for Step<'_> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Document => Ok(()),
            Self::Key(Self::Document, key) => formatter.write_str(&legible(key, 60)),
            Self::Key(from, key) => write!(formatter, "{from}.{}", legible(key, 60)),
            Self::Item(from, index) => write!(formatter, "{from}[{index}]"),
        }
    }
}

/// The path at which reading stopped, once it has.
type Stopped = RefCell<Option<String>>;

/// What reads one value.
struct Reader<'a, D> {
    json: D,
    at: &'a Step<'a>,
    stopped: &'a Stopped,
}

/// The innermost value that was wrong is the one that is named.
fn noted<T, E>(read: Result<T, E>, at: &Step<'_>, stopped: &Stopped) -> Result<T, E> {
    if read.is_err() {
        stopped.borrow_mut().get_or_insert_with(|| at.to_string());
    }
    read
}

impl<'a, D> Reader<'a, D> {
    fn visit<V>(&self, visitor: V, takes_lists: bool) -> Visit<'a, V> {
        Visit { visitor, at: self.at, stopped: self.stopped, takes_lists }
    }
}

impl<'de, D: Deserializer<'de>> Deserializer<'de> for Reader<'_, D> {
    type Error = D::Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        let visit = self.visit(visitor, true);
        noted(self.json.deserialize_any(visit), self.at, self.stopped)
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        let visit = self.visit(visitor, true);
        noted(self.json.deserialize_option(visit), self.at, self.stopped)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        let visit = self.visit(visitor, false);
        noted(self.json.deserialize_any(visit), self.at, self.stopped)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        let kind = VisitKind { visitor, at: self.at, stopped: self.stopped };
        noted(self.json.deserialize_any(kind), self.at, self.stopped)
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        noted(self.json.deserialize_ignored_any(visitor), self.at, self.stopped)
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct newtype_struct
        seq tuple tuple_struct map identifier
    }
}

/// What a type is told about the value that stands there.
struct Visit<'a, V> {
    visitor: V,
    at: &'a Step<'a>,
    stopped: &'a Stopped,
    takes_lists: bool,
}

impl<'de, V: Visitor<'de>> Visitor<'de> for Visit<'_, V> {
    type Value = V::Value;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.visitor.expecting(formatter)
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<V::Value, E> {
        self.visitor.visit_bool(value)
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<V::Value, E> {
        self.visitor.visit_i64(value)
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<V::Value, E> {
        self.visitor.visit_u64(value)
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<V::Value, E> {
        self.visitor.visit_f64(value)
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<V::Value, E> {
        self.visitor.visit_str(value)
    }

    fn visit_unit<E: Error>(self) -> Result<V::Value, E> {
        self.visitor.visit_unit()
    }

    fn visit_none<E: Error>(self) -> Result<V::Value, E> {
        self.visitor.visit_none()
    }

    fn visit_some<D: Deserializer<'de>>(self, json: D) -> Result<V::Value, D::Error> {
        self.visitor.visit_some(Reader { json, at: self.at, stopped: self.stopped })
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut json: A) -> Result<V::Value, A::Error> {
        if !self.takes_lists {
            return Err(Error::invalid_type(Unexpected::Seq, &self));
        }
        let mut items = Items { json: &mut json, count: 0, at: self.at, stopped: self.stopped };
        let value = self.visitor.visit_seq(&mut items)?;
        let wanted = items.count;
        let mut count = wanted;
        while json.next_element::<IgnoredAny>()?.is_some() {
            count += 1;
        }
        if count > wanted {
            return Err(Error::custom(format_args!("a list of {count} stands where one of {wanted} is expected")));
        }
        Ok(value)
    }

    fn visit_map<A: MapAccess<'de>>(self, json: A) -> Result<V::Value, A::Error> {
        self.visitor.visit_map(Fields { json, key: String::new(), at: self.at, stopped: self.stopped })
    }
}

/// The items of a list.
struct Items<'a, A> {
    json: &'a mut A,
    count: usize,
    at: &'a Step<'a>,
    stopped: &'a Stopped,
}

impl<'de, A: SeqAccess<'de>> SeqAccess<'de> for &mut Items<'_, A> {
    type Error = A::Error;

    fn next_element_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, A::Error> {
        let at = Step::Item(self.at, self.count);
        let item = self.json.next_element_seed(Seed { seed, at: &at, stopped: self.stopped })?;
        self.count += usize::from(item.is_some());
        Ok(item)
    }
}

/// The fields of an object.
struct Fields<'a, A> {
    json: A,
    key: String,
    at: &'a Step<'a>,
    stopped: &'a Stopped,
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for Fields<'_, A> {
    type Error = A::Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, A::Error> {
        let Some(key) = self.json.next_key()? else { return Ok(None) };
        self.key = key;
        let name: StrDeserializer<'_, A::Error> = self.key.as_str().into_deserializer();
        noted(seed.deserialize(name).map(Some), &Step::Key(self.at, &self.key), self.stopped)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, A::Error> {
        let at = Step::Key(self.at, &self.key);
        self.json.next_value_seed(Seed { seed, at: &at, stopped: self.stopped })
    }
}

/// A value further down.
struct Seed<'a, S> {
    seed: S,
    at: &'a Step<'a>,
    stopped: &'a Stopped,
}

impl<'de, S: DeserializeSeed<'de>> DeserializeSeed<'de> for Seed<'_, S> {
    type Value = S::Value;

    fn deserialize<D: Deserializer<'de>>(self, json: D) -> Result<S::Value, D::Error> {
        self.seed.deserialize(Reader { json, at: self.at, stopped: self.stopped })
    }
}

/// One of several kinds: a word by itself, or the only key of an object, with what belongs to it.
struct VisitKind<'a, V> {
    visitor: V,
    at: &'a Step<'a>,
    stopped: &'a Stopped,
}

const ONE_KIND: &str = "exactly one kind may stand here";

impl<'de, V: Visitor<'de>> Visitor<'de> for VisitKind<'_, V> {
    type Value = V::Value;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.visitor.expecting(formatter)
    }

    fn visit_str<E: Error>(self, word: &str) -> Result<V::Value, E> {
        self.visitor.visit_enum(Word(word.into_deserializer()))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut json: A) -> Result<V::Value, A::Error> {
        let key: String = json.next_key()?.ok_or_else(|| Error::custom(ONE_KIND))?;
        let value = self.visitor.visit_enum(Kind { json: &mut json, key, at: self.at, stopped: self.stopped })?;
        if json.next_key::<IgnoredAny>()?.is_some() { Err(Error::custom(ONE_KIND)) } else { Ok(value) }
    }
}

/// A kind by itself.
struct Word<'a, E>(StrDeserializer<'a, E>);

impl<'de, E: Error> EnumAccess<'de> for Word<'_, E> {
    type Error = E;
    type Variant = Self;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Self), E> {
        Ok((seed.deserialize(self.0)?, self))
    }
}

fn alone<E: Error>() -> E {
    E::custom("a kind by itself, where more belongs to it")
}

impl<'de, E: Error> VariantAccess<'de> for Word<'_, E> {
    type Error = E;

    fn unit_variant(self) -> Result<(), E> {
        Ok(())
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, _: S) -> Result<S::Value, E> {
        Err(alone())
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, _: V) -> Result<V::Value, E> {
        Err(alone())
    }

    fn struct_variant<V: Visitor<'de>>(self, _: &'static [&'static str], _: V) -> Result<V::Value, E> {
        Err(alone())
    }
}

/// A kind as a key.
struct Kind<'a, A> {
    json: &'a mut A,
    key: String,
    at: &'a Step<'a>,
    stopped: &'a Stopped,
}

impl<'de, A: MapAccess<'de>> EnumAccess<'de> for Kind<'_, A> {
    type Error = A::Error;
    type Variant = Self;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Self), A::Error> {
        let name: StrDeserializer<'_, A::Error> = self.key.as_str().into_deserializer();
        Ok((seed.deserialize(name)?, self))
    }
}

impl<'de, A: MapAccess<'de>> VariantAccess<'de> for Kind<'_, A> {
    type Error = A::Error;

    fn unit_variant(self) -> Result<(), A::Error> {
        Err(Error::custom("an object stands where a word is expected"))
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, A::Error> {
        let at = Step::Key(self.at, &self.key);
        self.json.next_value_seed(Seed { seed, at: &at, stopped: self.stopped })
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, A::Error> {
        self.newtype_variant_seed(Object(visitor))
    }

    fn struct_variant<V: Visitor<'de>>(self, _: &'static [&'static str], visitor: V) -> Result<V::Value, A::Error> {
        self.newtype_variant_seed(Object(visitor))
    }
}

/// The fields that belong to a kind.
struct Object<V>(V);

impl<'de, V: Visitor<'de>> DeserializeSeed<'de> for Object<V> {
    type Value = V::Value;

    fn deserialize<D: Deserializer<'de>>(self, reader: D) -> Result<V::Value, D::Error> {
        reader.deserialize_struct("", &[], self.0)
    }
}

/// What the library says, in the words of a plan. It tells what stands there first and what it expects last, and only the
/// first comes from the text.
fn sentence(message: &str) -> String {
    for (begin, known) in [("unknown field ", "unknown field "), ("unknown variant ", "unknown value ")] {
        if let Some((found, names)) = message.strip_prefix(begin).and_then(|rest| rest.rsplit_once(", expected ")) {
            let names = names.trim_start_matches("one of ").replace(" or ", ", ");
            return format!("{known}{}, known are {names}", cut(found));
        }
    }
    for begin in ["invalid type: ", "invalid value: ", "invalid length "] {
        if let Some((found, expected)) = message.strip_prefix(begin).and_then(|rest| rest.rsplit_once(", expected ")) {
            let found = match found.split_once(' ').unwrap_or((found, "")) {
                ("string", text) => format!("text {}", cut(text)),
                ("integer", number) => format!("number {}", number.trim_matches('`')),
                ("floating", number) => format!("number {}", number.trim_start_matches("point ").trim_matches('`')),
                ("boolean", value) => value.trim_matches('`').to_owned(),
                ("sequence", _) => "a list".to_owned(),
                ("map", _) => "an object".to_owned(),
                (count, "") if begin == "invalid length " => format!("a list of {count}"),
                (other, _) => other.to_owned(),
            };
            return format!("{found} stands where {} is expected", wanted(expected));
        }
    }
    let plain = match message {
        "expected value" => "a value is missing",
        "expected `:`" => "a colon is missing",
        "expected `,` or `}`" | "expected `,` or `]`" => "a comma or a closing bracket is missing",
        "key must be a string" => "a key in quotes is missing",
        "trailing characters" => "more text follows",
        "trailing comma" => "a comma with nothing behind it",
        "invalid number" => "a number that breaks off, or begins with 0",
        "invalid escape" => "an unknown escape",
        "lone leading surrogate in hex escape" | "unexpected end of hex escape" => {
            "half of a surrogate pair in a string"
        }
        _ if message.starts_with("EOF") => "the text breaks off",
        _ if message.starts_with("control character") => "a control character in a string",
        other => other,
    };
    plain.to_owned()
}

/// What a type expects, as a person says it.
fn wanted(expected: &str) -> Cow<'_, str> {
    let plain = match expected {
        "f64" => "a number",
        "u8" => "a whole number from 0 to 255",
        "u32" => "a whole number from 0 to 4294967295",
        "u64" => "a whole number from 0 on",
        "a string" => "text",
        "a boolean" => "true or false",
        "a sequence" => "a list",
        _ if expected.starts_with("struct ") => "an object",
        _ if expected.starts_with("enum ") => "a kind",
        _ => return expected.replace("an array of length ", "a list of ").into(),
    };
    plain.into()
}

/// A text from a file with its quotes, short enough for a sentence.
fn cut(found: &str) -> String {
    let quote = found.chars().last().unwrap_or_default();
    let shown = legible(found, 60);
    if shown.ends_with('…') { format!("{shown}{quote}") } else { shown }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields, rename_all = "snake_case")]
    enum Shape {
        Point,
        Ring {
            radius: f64,
            #[serde(default)]
            name: Option<String>,
        },
        Boxed(Sides),
    }

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Sides {
        sides: [f64; 2],
        count: u8,
    }

    /// Path and reason.
    #[track_caller]
    fn refused(text: &str) -> (String, String) {
        let Refusal { path, reason, .. } = read::<Vec<Shape>>(text).unwrap_err();
        (path, reason)
    }

    #[test]
    fn kinds_are_words_or_single_keys() {
        let text = r#"["point", {"ring": {"radius": 2}}, {"boxed": {"sides": [1, 2.5], "count": 3}}]"#;
        let ring = Shape::Ring { radius: 2.0, name: None };
        assert_eq!(read(text), Ok(vec![Shape::Point, ring, Shape::Boxed(Sides { sides: [1.0, 2.5], count: 3 })]));
    }

    #[test]
    fn there_is_one_way_to_write_a_thing() {
        for (text, path, reason) in [
            (r#"["ring"]"#, "[0]", "a kind by itself, where more belongs to it"),
            (r#"[{"point": null}]"#, "[0]", "an object stands where a word is expected"),
            (r#"["point", {"ring": [1, "x"]}]"#, "[1].ring", "a list stands where an object is expected"),
            (r#"[{"boxed": [[1, 2], 3]}]"#, "[0].boxed", "a list stands where an object is expected"),
            (r#"[{"ring": {"radius": 1}, "point": 1}]"#, "[0]", ONE_KIND),
            (r#"[{}]"#, "[0]", ONE_KIND),
            (r#"[7]"#, "[0]", "number 7 stands where a kind is expected"),
        ] {
            assert_eq!(refused(text), (path.to_owned(), reason.to_owned()), "{text}");
        }
    }

    #[test]
    fn what_is_wrong_is_said_in_the_words_of_a_plan() {
        let radius = |value: &str| format!(r#"["point", {{"ring": {{"radius": {value}}}}}]"#);
        for (value, reason) in [
            ("\"seven\"", "text \"seven\" stands where a number is expected"),
            ("\", expected f64\"", "text \", expected f64\" stands where a number is expected"),
            ("\"\\u001b[2J\"", "text \"\\u{1b}[2J\" stands where a number is expected"),
            ("true", "true stands where a number is expected"),
            ("null", "null stands where a number is expected"),
            ("[1]", "a list stands where a number is expected"),
            ("{}", "an object stands where a number is expected"),
            ("-1e999", "number -1e999 is out of range"),
        ] {
            assert_eq!(refused(&radius(value)), ("[1].ring.radius".to_owned(), reason.to_owned()), "{value}");
        }
        let sides = |sides: &str, count: &str| format!(r#"[{{"boxed": {{"sides": {sides}, "count": {count}}}}}]"#);
        for (text, path, reason) in [
            (sides("[1, 2, 3, 4]", "1"), "sides", "a list of 4 stands where one of 2 is expected"),
            (sides("[1]", "1"), "sides", "a list of 1 stands where a list of 2 is expected"),
            (sides("[1, \"2\"]", "1"), "sides[1]", "text \"2\" stands where a number is expected"),
            (sides("[1, 2]", "256"), "count", "number 256 stands where a whole number from 0 to 255 is expected"),
            (sides("[1, 2]", "-1"), "count", "number -1 stands where a whole number from 0 to 255 is expected"),
            (sides("[1, 2]", "1.5"), "count", "number 1.5 stands where a whole number from 0 to 255 is expected"),
            (sides("[1, 2]", "1, \"more\": 1"), "more", "unknown field `more`, known are `sides`, `count`"),
        ] {
            assert_eq!(refused(&text), (format!("[0].boxed.{path}"), reason.to_owned()), "{text}");
        }
        assert_eq!(refused(&sides("[1, 2]", "1, \"count\": 1")).1, "duplicate field `count`");
        assert_eq!(refused(r#"[{"boxed": {"sides": [1, 2]}}]"#), ("[0].boxed".into(), "missing field `count`".into()));
        let (path, reason) = refused("[\"cube\"]");
        assert_eq!(
            (path.as_str(), reason.as_str()),
            ("[0]", "unknown value `cube`, known are `point`, `ring`, `boxed`")
        );
        assert_eq!(refused("[{\"ring\": {\"name\": \"\\ud83c\"}}]").1, "half of a surrogate pair in a string");
    }

    #[test]
    fn nothing_from_a_text_reaches_a_sentence_raw_or_at_length() {
        let long = format!("[{{\"ring\": {{\"\\u001b[2J{}\": 1}}}}]", "x".repeat(100_000));
        let Refusal { path, reason, .. } = read::<Vec<Shape>>(&long).unwrap_err();
        assert!(path.starts_with("[0].ring.\\u{1b}[2Jxxx") && path.len() < 100, "{path}");
        assert!(
            reason.starts_with("unknown field `\\u{1b}[2Jxxx") && reason.ends_with("…`, known are `radius`, `name`"),
            "{reason}"
        );
        let long = format!("[\"{}\"]", "\u{202e}".repeat(100_000));
        assert!(read::<Vec<Shape>>(&long).unwrap_err().reason.len() < 600);
    }

    #[test]
    fn a_stop_knows_its_place() {
        let Refusal { line, column, is_grammar, reason, .. } = read::<Vec<f64>>("[1,\n 2,\n x]").unwrap_err();
        assert_eq!((line, column, is_grammar, reason.as_str()), (3, 2, true, "a value is missing"));
        let Refusal { line, path, is_grammar, .. } = read::<Vec<f64>>("[1,\n\n \"2\"]").unwrap_err();
        assert_eq!((line, path.as_str(), is_grammar), (3, "[1]", false));
        for (text, said) in [
            ("[1", "the text breaks off"),
            ("[1 2]", "a comma or a closing bracket is missing"),
            ("[1,]", "a comma with nothing behind it"),
            ("[01]", "a number that breaks off, or begins with 0"),
            ("[1] x", "more text follows"),
            ("", "the text breaks off"),
        ] {
            let refused = read::<Vec<f64>>(text).unwrap_err();
            assert_eq!((refused.reason.as_str(), refused.is_grammar), (said, true), "{text}");
        }
    }

    #[test]
    fn numbers_come_back_bit_for_bit() {
        for number in ["0.1", "5e-324", "1.7976931348623157e308", "123456789012345678901234567890", "-0.0", "-0", "2.5"]
        {
            let expected: f64 = number.parse().unwrap();
            assert_eq!(read::<f64>(number).unwrap().to_bits(), expected.to_bits(), "{number}");
        }
    }
}

//! JSON into plain data, with the place at which reading stopped.
//!
//! What a type's derived reader costs the page is the search for its fields, written out anew for every type. Here it is
//! written once: [`Reader::object`] notes where the value of each field begins, and the fields are then read in the order
//! of the type.

mod tables;
mod values;

pub(super) use tables::stored_kinds;
use values::plain;
pub(super) use values::unescaped;

/// Why a text could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stop {
    /// How many bytes had been read.
    pub at: usize,
    /// What is wrong there.
    pub reason: String,
    /// What it is about.
    pub about: About,
}

/// What a [`Stop`] is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// The text is not JSON.
    Grammar,
    /// The value that was read, or was about to be.
    Value,
    /// What holds that value: it is one too many.
    Holder,
}

/// A type that a text can hold.
pub trait Stored: Sized {
    /// Reads a value of this type.
    ///
    /// # Errors
    /// What stands there instead.
    fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong>;

    /// What an absent field of this type counts as; `None` where it has to be there.
    fn absent() -> Option<Self> {
        None
    }
}

/// The value of a whole text.
///
/// # Errors
/// The first thing that is not JSON, or not what the type asks for.
pub fn read<T: Stored>(text: &str) -> Result<T, Stop> {
    let mut reader = Reader { text, at: 0 };
    let read = T::read(&mut reader);
    let read =
        read.and_then(|value| if reader.next().is_none() { Ok(value) } else { Err(grammar("more text follows")) });
    read.map_err(|Wrong(wrong)| Stop { at: reader.at, reason: wrong.0, about: wrong.1 })
}

/// A [`Stop`] that does not know its place: nothing is read behind it, so the reader knows.
#[derive(Debug)]
pub struct Wrong(Box<(String, About)>);

fn grammar(reason: &str) -> Wrong {
    Wrong(Box::new((reason.to_owned(), About::Grammar)))
}

fn value(reason: String) -> Wrong {
    Wrong(Box::new((reason, About::Value)))
}

fn holder(reason: String) -> Wrong {
    Wrong(Box::new((reason, About::Holder)))
}

/// Where the values of an object's fields begin.
#[derive(Debug)]
pub struct Fields {
    names: &'static [&'static str],
    /// `None` for a field that is not there.
    places: Vec<Option<usize>>,
    next: usize,
    end: usize,
}

/// A kind that was read.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// Its position among those that are allowed.
    pub index: usize,
    /// Whether it is the key of what belongs to it.
    has_more: bool,
}

/// A text, and how far it has been read.
#[derive(Debug)]
pub struct Reader<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Reader<'a> {
    /// The next byte that is no space; `None` at the end.
    fn next(&mut self) -> Option<u8> {
        let rest = &self.text.as_bytes()[self.at..];
        self.at += rest.iter().take_while(|byte| matches!(byte, b' ' | b'\n' | b'\r' | b'\t')).count();
        self.text.as_bytes().get(self.at).copied()
    }

    /// Reads a mark if it is next.
    fn takes(&mut self, mark: u8) -> bool {
        let is_next = self.next() == Some(mark);
        self.at += usize::from(is_next);
        is_next
    }

    fn takes_word(&mut self, word: &str) -> bool {
        self.next();
        let is_next = self.text[self.at..].starts_with(word);
        self.at += if is_next { word.len() } else { 0 };
        is_next
    }

    fn colon(&mut self) -> Result<(), Wrong> {
        if self.takes(b':') { Ok(()) } else { Err(grammar("a colon is missing")) }
    }

    /// Reads a string with its quotes.
    fn string(&mut self) -> Result<&'a str, Wrong> {
        let start = self.at;
        let bytes = self.text.as_bytes();
        self.at += 1;
        loop {
            let byte = bytes.get(self.at).copied();
            self.at += 1;
            match byte {
                Some(b'"') => return Ok(&self.text[start..self.at]),
                Some(b'\\') => {
                    let digits = match bytes.get(self.at) {
                        Some(b'"' | b'\\' | b'/' | b'b' | b'f' | b'n' | b'r' | b't') => 0,
                        Some(b'u') => 4,
                        _ => return Err(grammar("an unknown escape")),
                    };
                    let hex = bytes.get(self.at + 1..self.at + 1 + digits).unwrap_or(b"?");
                    if !hex.iter().all(u8::is_ascii_hexdigit) {
                        return Err(grammar("an unknown escape"));
                    }
                    self.at += 1 + digits;
                }
                Some(byte) if byte >= b' ' => {}
                Some(_) => return Err(grammar("a control character in a string")),
                None => {
                    self.at = bytes.len();
                    return Err(grammar("the string does not end"));
                }
            }
        }
    }

    /// Reads a number.
    fn number(&mut self) -> Result<&'a str, Wrong> {
        let start = self.at;
        self.at += usize::from(self.text.as_bytes()[start] == b'-');
        let first = self.at;
        let mut fits = self.digits() && (self.at == first + 1 || self.text.as_bytes()[first] != b'0');
        if self.text[self.at..].starts_with('.') {
            self.at += 1;
            fits &= self.digits();
        }
        if self.text[self.at..].starts_with(['e', 'E']) {
            self.at += 1;
            self.at += usize::from(self.text[self.at..].starts_with(['+', '-']));
            fits &= self.digits();
        }
        if fits { Ok(&self.text[start..self.at]) } else { Err(grammar("a number that breaks off, or begins with 0")) }
    }

    /// Reads digits; whether there were any.
    fn digits(&mut self) -> bool {
        let count = self.text.as_bytes()[self.at..].iter().take_while(|byte| byte.is_ascii_digit()).count();
        self.at += count;
        count > 0
    }

    /// Reads a value of any kind and forgets it.
    fn skip(&mut self) -> Result<(), Wrong> {
        match self.next() {
            Some(b'"') => self.string().map(drop),
            Some(b'-' | b'0'..=b'9') => self.number().map(drop),
            Some(b'[') => {
                let mut is_first = true;
                while self.goes_on(b'[', b']', &mut is_first)? {
                    self.skip()?;
                }
                Ok(())
            }
            Some(b'{') => {
                let mut is_first = true;
                while self.goes_on(b'{', b'}', &mut is_first)? {
                    self.key()?;
                    self.colon()?;
                    self.skip()?;
                }
                Ok(())
            }
            _ if ["true", "false", "null"].into_iter().any(|word| self.takes_word(word)) => Ok(()),
            _ => Err(grammar("a value is missing")),
        }
    }

    /// Whether another item of a list or object follows; reads the bracket or the comma before it, or the closing bracket.
    fn goes_on(&mut self, opens: u8, closes: u8, is_first: &mut bool) -> Result<bool, Wrong> {
        if std::mem::take(is_first) {
            self.takes(opens);
            return Ok(!self.takes(closes));
        }
        if self.takes(closes) {
            return Ok(false);
        }
        if self.takes(b',') { Ok(true) } else { Err(grammar("a comma or a closing bracket is missing")) }
    }

    /// Reads a key with its quotes.
    fn key(&mut self) -> Result<&'a str, Wrong> {
        if self.next() == Some(b'"') { self.string() } else { Err(grammar("a key in quotes is missing")) }
    }

    /// Notes where the values of an object's fields begin, and goes behind the object.
    ///
    /// # Errors
    /// No object; a field that is not among the names, or stands twice.
    pub fn object(&mut self, names: &'static [&'static str]) -> Result<Fields, Wrong> {
        self.fields(names, |key| Err(value(format!("unknown field `{key}`, known are {}", listed(names)))))
    }

    /// The same of an object that may have other fields too.
    ///
    /// # Errors
    /// No object, or one of the fields stands twice.
    pub fn glance(&mut self, names: &'static [&'static str]) -> Result<Fields, Wrong> {
        self.fields(names, |_| Ok(()))
    }

    fn fields(
        &mut self,
        names: &'static [&'static str],
        unknown: impl Fn(&str) -> Result<(), Wrong>,
    ) -> Result<Fields, Wrong> {
        if self.next() != Some(b'{') {
            return Err(self.unexpected("an object"));
        }
        let mut places = vec![None; names.len()];
        let mut is_first = true;
        while self.goes_on(b'{', b'}', &mut is_first)? {
            let key = self.key()?;
            let key = plain(key)?;
            let index = names.iter().position(|name| *name == key);
            match index {
                None => unknown(&key)?,
                Some(index) if places[index].is_some() => return Err(holder(format!("duplicate field `{key}`"))),
                Some(_) => {}
            }
            self.colon()?;
            if let Some(index) = index {
                places[index] = Some(self.at);
            }
            self.skip()?;
        }
        Ok(Fields { names, places, next: 0, end: self.at })
    }

    /// The next field of an object, in the order of the names.
    ///
    /// # Errors
    /// It is not there, and nothing stands in for it; or something else than expected.
    pub fn field<T: Stored>(&mut self, fields: &mut Fields, stand_in: Option<T>) -> Result<T, Wrong> {
        let index = fields.next;
        fields.next += 1;
        let read = match fields.places[index] {
            Some(place) => {
                self.at = place;
                T::read(self)?
            }
            None => {
                let stand_in = stand_in.or_else(T::absent);
                stand_in.ok_or_else(|| value(format!("missing field `{}`", fields.names[index])))?
            }
        };
        // Where reading goes on, and where a missing field is missing.
        self.at = fields.end;
        Ok(read)
    }

    /// Reads a kind: one of some words by itself, or as the only key of an object; then what belongs to it follows.
    ///
    /// # Errors
    /// Another word, or no word.
    pub fn kind(&mut self, words: &'static [&'static str]) -> Result<Kind, Wrong> {
        let has_more = match self.next() {
            Some(b'"') => false,
            Some(b'{') if !self.goes_on(b'{', b'}', &mut true)? => return Err(value(ONE_KIND.to_owned())),
            Some(b'{') if self.next() != Some(b'"') => return Err(grammar("a key in quotes is missing")),
            Some(b'{') => true,
            _ => return Err(self.unexpected("a kind")),
        };
        let index = match self.word(words) {
            // It is not the key that is wrong, but what it is a key of.
            Err(Wrong(wrong)) if has_more && wrong.1 == About::Value => return Err(holder(wrong.0)),
            other => other?,
        };
        if has_more {
            self.colon()?;
        }
        Ok(Kind { index, has_more })
    }

    /// Reads one of some words.
    ///
    /// # Errors
    /// Another word, or no word.
    pub fn word(&mut self, words: &'static [&'static str]) -> Result<usize, Wrong> {
        if self.next() != Some(b'"') {
            return Err(self.unexpected("a word"));
        }
        let quoted = self.string()?;
        let word = plain(quoted)?;
        let index = words.iter().position(|known| *known == word);
        index.ok_or_else(|| value(format!("unknown kind `{word}`, known are {}", listed(words))))
    }

    /// Reads what belongs to a kind, and the end of the object that it is the key of.
    ///
    /// # Errors
    /// Nothing belongs to it, something else than expected, or a second kind.
    pub fn of_kind<T>(&mut self, kind: Kind, read: impl FnOnce(&mut Self) -> Result<T, Wrong>) -> Result<T, Wrong> {
        if !kind.has_more {
            return Err(value("a kind by itself, where more belongs to it".to_owned()));
        }
        let read = read(self)?;
        if self.goes_on(b'{', b'}', &mut false)? { Err(value(ONE_KIND.to_owned())) } else { Ok(read) }
    }

    /// What stands here instead of what was expected.
    fn unexpected(&mut self, expected: &str) -> Wrong {
        let found = match self.next() {
            Some(b'"') => match self.string().and_then(plain) {
                Ok(text) => format!("text \"{text}\""),
                Err(wrong) => return wrong,
            },
            Some(b'-' | b'0'..=b'9') => match self.number() {
                Ok(number) => format!("number {number}"),
                Err(wrong) => return wrong,
            },
            Some(b'[') => "a list".to_owned(),
            Some(b'{') => "an object".to_owned(),
            _ => match ["null", "true", "false"].into_iter().find(|word| self.takes_word(word)) {
                Some(word) => word.to_owned(),
                None => return grammar("a value is missing"),
            },
        };
        value(format!("{found} stands where {expected} is expected"))
    }

    /// A number as it is written.
    fn written_number(&mut self) -> Result<&'a str, Wrong> {
        match self.next() {
            Some(b'-' | b'0'..=b'9') => self.number(),
            _ => Err(self.unexpected("a number")),
        }
    }
}

const ONE_KIND: &str = "exactly one kind may stand here";

fn listed(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde::de::IgnoredAny;

    /// The grammar alone.
    struct Anything;

    impl Stored for Anything {
        fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
            reader.skip().map(|()| Self)
        }
    }

    fn grammar_holds(text: &str) -> bool {
        read::<Anything>(text).is_ok()
    }
    #[test]
    fn what_the_library_takes_for_json_is_json_here() {
        let texts = [
            "",
            " ",
            "1",
            "-1",
            "01",
            "-",
            "1.",
            ".5",
            "1e",
            "1e+",
            "1e+5",
            "1E-5",
            "0",
            "-0.0",
            "1 2",
            "nul",
            "null",
            "tru",
            "[]",
            "[1,]",
            "[,1]",
            "[1 2]",
            "[1",
            "{}",
            "{\"a\"}",
            "{\"a\":}",
            "{\"a\":1,}",
            "{a:1}",
            "{\"a\":1 \"b\":2}",
            "\"",
            "\"\\\"",
            "\"\\x\"",
            "\"\\u12\"",
            "\"\\u12g4\"",
            "\"\\u0041\"",
            "\"\n\"",
            "\"\u{e4}\"",
            "[{\"a\":[null,true,false]}]",
            "\"\\",
            "[\"\\u00\"]",
            "{\"a\":1}}",
            "\u{feff}1",
            "+1",
            "1e5.5",
            "--1",
            "[[]",
            "]",
            ":",
        ];
        for text in texts {
            assert_eq!(grammar_holds(text), serde_json::from_str::<IgnoredAny>(text).is_ok(), "{text}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

        #[test]
        fn no_text_of_marks_breaks_the_reader(text in "[\\[\\]{}:,\"\\\\0-9eE.\\-+ntu a\u{e4}]{0,24}") {
            prop_assert_eq!(grammar_holds(&text), serde_json::from_str::<IgnoredAny>(&text).is_ok());
        }
    }

    #[test]
    fn numbers_come_back_bit_for_bit() {
        for number in ["0.1", "5e-324", "1.7976931348623157e308", "123456789012345678901234567890", "-0.0", "2.5"] {
            let expected: f64 = number.parse().unwrap();
            assert_eq!(read::<f64>(number).unwrap().to_bits(), expected.to_bits(), "{number}");
        }
        assert_eq!(read::<u8>("255"), Ok(255));
        for (number, reason) in
            [("256", "more than 255"), ("-1", "a whole one"), ("1.5", "a whole one"), ("1e999", "a whole one")]
        {
            let stop = read::<u8>(number).unwrap_err();
            assert!(stop.reason.contains(reason) && stop.at == number.len(), "{stop:?}");
        }
    }

    #[test]
    fn a_stop_knows_how_far_reading_came_and_what_it_is_about() {
        let stop = read::<[f64; 2]>("[1, 2, 3]").unwrap_err();
        assert_eq!((stop.at, stop.about), (9, About::Value));
        assert_eq!(stop.reason, "a list of 3 stands where one of 2 is expected");
        let stop = read::<Vec<String>>("[\"a\", 1]").unwrap_err();
        assert_eq!((stop.at, stop.about), (7, About::Value));
        let stop = read::<Vec<String>>("[\"a\" 1]").unwrap_err();
        assert_eq!((stop.at, stop.about), (5, About::Grammar));
        assert_eq!(read::<Option<String>>(" null "), Ok(None));
        assert_eq!(read::<String>("\"\\ud83c\\udf42 \\u00e4\\n\""), Ok("\u{1f342} \u{e4}\n".to_owned()));
        for text in [
            "\"\\ud83c\\ud83c\"",
            "\"\\udf42\"",
            "\"\\ud83cx\"",
            "\"\\ud83c\\n\"",
            "\"a\\/\\\\\\b\\f\\u0000\u{e4}\\\"\"",
        ] {
            assert_eq!(read::<String>(text).ok(), serde_json::from_str::<String>(text).ok(), "{text}");
        }
        assert!(serde_json::from_str::<String>("\"\\ud83c\"").is_err() && read::<String>("\"\\ud83c\"").is_err());
    }
}

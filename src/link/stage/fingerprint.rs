//! Plain data into a hash, value by value, without writing it out.
//!
//! Whatever `serde` can write can be hashed: a type says what it holds once, and a field that is added to it is hashed from
//! then on. What is fed is a prefix code: two different values of one type never feed the same bytes, however their parts
//! are cut. Lists carry a mark before every item and one at their end, options and skipped fields a mark of their own,
//! texts their length, enums the position of their variant. Numbers count bit for bit: 0 and -0 differ, since a result made
//! anew may show the difference. Bytes are fed in one order on every machine.

use std::fmt;
use std::hash::Hasher as _;

use serde::Serialize;
use serde::ser::{
    SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple, SerializeTupleStruct,
    SerializeTupleVariant, Serializer,
};
use siphasher::sip128::{Hasher128, SipHasher13};

/// Before whatever is there.
const PRESENT: u8 = 1;
/// In place of what is not there, and behind the last item of a list.
const ABSENT: u8 = 0;

/// A hash being fed.
#[derive(Debug, Default)]
pub struct Fingerprint(SipHasher13);

impl Fingerprint {
    /// Feeds a fingerprint.
    pub fn word(&mut self, word: u128) {
        self.0.write(&word.to_le_bytes());
    }

    /// Feeds a value.
    ///
    /// # Errors
    /// Only for a type that refuses to be written, as none made of plain data does.
    pub fn value(&mut self, value: &(impl Serialize + ?Sized)) -> Result<(), fmt::Error> {
        value.serialize(&mut *self)
    }

    /// The fingerprint of all that was fed.
    pub fn finish(&self) -> u128 {
        self.0.finish128().as_u128()
    }

    fn mark(&mut self, mark: u8) {
        self.0.write(&[mark]);
    }

    fn number(&mut self, number: u64) {
        self.0.write(&number.to_le_bytes());
    }

    fn bytes(&mut self, bytes: &[u8]) {
        self.number(bytes.len() as u64);
        self.0.write(bytes);
    }

    fn present(&mut self, value: &(impl Serialize + ?Sized)) -> Result<(), fmt::Error> {
        self.mark(PRESENT);
        self.value(value)
    }
}

/// Numbers of every width are fed as 64 bits.
macro_rules! numbers {
    ($($name:ident: $kind:ty),*) => {
        $(fn $name(self, number: $kind) -> Result<(), fmt::Error> {
            self.number(number as u64);
            Ok(())
        })*
    };
}

impl Serializer for &mut Fingerprint {
    type Ok = ();
    type Error = fmt::Error;
    type SerializeSeq = Self;
    type SerializeTuple = Self;
    type SerializeTupleStruct = Self;
    type SerializeTupleVariant = Self;
    type SerializeMap = Self;
    type SerializeStruct = Self;
    type SerializeStructVariant = Self;

    numbers! {
        serialize_bool: bool, serialize_char: char,
        serialize_i8: i8, serialize_i16: i16, serialize_i32: i32, serialize_i64: i64,
        serialize_u8: u8, serialize_u16: u16, serialize_u32: u32, serialize_u64: u64
    }

    fn serialize_f32(self, number: f32) -> Result<(), fmt::Error> {
        self.serialize_f64(f64::from(number))
    }

    fn serialize_f64(self, number: f64) -> Result<(), fmt::Error> {
        self.number(number.to_bits());
        Ok(())
    }

    fn serialize_str(self, text: &str) -> Result<(), fmt::Error> {
        self.bytes(text.as_bytes());
        Ok(())
    }

    fn serialize_bytes(self, bytes: &[u8]) -> Result<(), fmt::Error> {
        self.bytes(bytes);
        Ok(())
    }

    fn serialize_none(self) -> Result<(), fmt::Error> {
        self.mark(ABSENT);
        Ok(())
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), fmt::Error> {
        self.present(value)
    }

    fn serialize_unit(self) -> Result<(), fmt::Error> {
        Ok(())
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<(), fmt::Error> {
        Ok(())
    }

    fn serialize_unit_variant(self, _: &'static str, variant: u32, _: &'static str) -> Result<(), fmt::Error> {
        self.serialize_u32(variant)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(self, _: &'static str, value: &T) -> Result<(), fmt::Error> {
        self.value(value)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), fmt::Error> {
        self.number(u64::from(variant));
        self.value(value)
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Self, fmt::Error> {
        Ok(self)
    }

    fn serialize_tuple(self, _: usize) -> Result<Self, fmt::Error> {
        Ok(self)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self, fmt::Error> {
        Ok(self)
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, fmt::Error> {
        self.number(u64::from(variant));
        Ok(self)
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Self, fmt::Error> {
        Ok(self)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self, fmt::Error> {
        Ok(self)
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        variant: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, fmt::Error> {
        self.number(u64::from(variant));
        Ok(self)
    }
}

impl SerializeSeq for &mut Fingerprint {
    type Ok = ();
    type Error = fmt::Error;

    fn serialize_element<T: Serialize + ?Sized>(&mut self, item: &T) -> Result<(), fmt::Error> {
        self.present(item)
    }

    fn end(self) -> Result<(), fmt::Error> {
        self.mark(ABSENT);
        Ok(())
    }
}

impl SerializeMap for &mut Fingerprint {
    type Ok = ();
    type Error = fmt::Error;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Result<(), fmt::Error> {
        self.present(key)
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), fmt::Error> {
        self.value(value)
    }

    fn end(self) -> Result<(), fmt::Error> {
        self.mark(ABSENT);
        Ok(())
    }
}

/// The type says how many there are: nothing but the values is fed.
macro_rules! of_known_length {
    ($($name:ident :: $feed:ident),*) => {
        $(impl $name for &mut Fingerprint {
            type Ok = ();
            type Error = fmt::Error;

            fn $feed<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), fmt::Error> {
                self.value(value)
            }

            fn end(self) -> Result<(), fmt::Error> {
                Ok(())
            }
        })*
    };
}

of_known_length!(
    SerializeTuple::serialize_element,
    SerializeTupleStruct::serialize_field,
    SerializeTupleVariant::serialize_field
);

/// Fields come in the order of the type, and a skipped one says so.
macro_rules! with_fields {
    ($($name:ident),*) => {
        $(impl $name for &mut Fingerprint {
            type Ok = ();
            type Error = fmt::Error;

            fn serialize_field<T: Serialize + ?Sized>(&mut self, _: &'static str, value: &T) -> Result<(), fmt::Error> {
                self.present(value)
            }

            fn skip_field(&mut self, _: &'static str) -> Result<(), fmt::Error> {
                self.mark(ABSENT);
                Ok(())
            }

            fn end(self) -> Result<(), fmt::Error> {
                Ok(())
            }
        })*
    };
}

with_fields!(SerializeStruct, SerializeStructVariant);

#[cfg(test)]
mod tests {
    use super::*;

    fn of(value: impl Serialize) -> u128 {
        let mut print = Fingerprint::default();
        print.value(&value).unwrap();
        print.finish()
    }

    #[derive(Serialize)]
    struct Two {
        #[serde(skip_serializing_if = "Option::is_none")]
        one: Option<u8>,
        #[serde(skip_serializing_if = "Option::is_none")]
        other: Option<u8>,
    }

    #[derive(Serialize)]
    enum Kind {
        Nothing,
        One(u8),
        Other(u8),
        Pair(u8, u8),
        Named { one: u8 },
    }

    /// Two values of one type; which types there are is known from the code.
    #[test]
    fn values_of_one_type_that_differ_have_fingerprints_that_differ() {
        let groups = [
            vec![of(("ab", "c")), of(("a", "bc")), of(("", "abc")), of(("abc", ""))],
            vec![of((vec![1, 2], vec![3])), of((vec![1], vec![2, 3])), of((Vec::<u8>::new(), vec![1, 2, 3]))],
            vec![of((vec![vec![1], vec![2]], 3)), of((vec![vec![1, 2]], 3)), of((vec![vec![], vec![1, 2]], 3))],
            vec![of((Some(1), None::<u8>)), of((None::<u8>, Some(1))), of((Some(0), None::<u8>))],
            vec![
                of(Two { one: Some(1), other: None }),
                of(Two { one: None, other: Some(1) }),
                of(Two { one: None, other: None }),
                of(Two { one: Some(0), other: None }),
            ],
            vec![
                of(Kind::Nothing),
                of(Kind::One(1)),
                of(Kind::Other(1)),
                of(Kind::Pair(1, 1)),
                of(Kind::Named { one: 1 }),
            ],
            [0.1_f64, 0.1_f64.next_up(), 0.0, -0.0, f64::NAN, f64::INFINITY].into_iter().map(of).collect(),
        ];
        for group in groups {
            for (place, print) in group.iter().enumerate() {
                assert!(!group[..place].contains(print), "{group:x?} at {place}");
            }
        }
    }

    /// What is fed is stated byte by byte, so that page, worker and command agree on every machine.
    #[test]
    fn a_fingerprint_is_that_of_known_bytes() {
        // A present field holding a present 1, a skipped field, a text of three letters, and 1.0.
        let mut bytes = vec![1, 1, 1, 0, 0, 0, 0, 0, 0, 0, 0];
        bytes.extend([3, 0, 0, 0, 0, 0, 0, 0]);
        bytes.extend(*b"two");
        bytes.extend([0, 0, 0, 0, 0, 0, 0xf0, 0x3f]);
        let known = SipHasher13::new().hash(&bytes).as_u128();
        assert_eq!(of((Two { one: Some(1), other: None }, "two", 1.0)), known);
    }
}

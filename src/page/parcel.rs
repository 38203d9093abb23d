//! What the worker found, on its way to the page: as numbers, columns of numbers and text, without a word on what is what.
//!
//! Both ends are the same program, so nothing has to be named on the way. A report of four entries holds some 13 000
//! numbers; as text they would be written and read again digit by digit at every move of a drag, and the program that
//! reads them would weigh more than the drawings. As columns they are handed over whole, bit for bit.
//!
//! A type says how it travels by listing its fields once, for both directions (`parcel/report.rs`); one that is
//! forgotten does not compile. The sheet that a person saves is JSON all the same: [`crate::link::sheet`].

mod report;

use crate::jobs::Answer;

/// What can travel from the worker to the page.
pub trait Travels: Sized {
    /// Packs it behind what is packed already.
    fn pack(self, parcel: &mut Parcel);

    /// Takes it out again, in the order of packing. Once a parcel has run out, what is taken out means nothing.
    fn unpack(parcel: &mut Opened) -> Self;

    /// Packs a list: its length, then one after the other.
    fn pack_list(list: Vec<Self>, parcel: &mut Parcel) {
        list.len().pack(parcel);
        for item in list {
            item.pack(parcel);
        }
    }

    /// Takes a list out again.
    fn unpack_list(parcel: &mut Opened) -> Vec<Self> {
        let count = usize::unpack(parcel);
        let mut list = Vec::new();
        while list.len() < count && !parcel.ran_out {
            list.push(Self::unpack(parcel));
        }
        list
    }
}

/// Packs an answer.
pub fn pack(value: impl Travels) -> Answer {
    let mut parcel = Parcel { text: String::new(), numbers: Vec::new(), columns: vec![Vec::new()] };
    value.pack(&mut parcel);
    // The loose numbers travel as the first column.
    parcel.columns[0] = parcel.numbers;
    Answer { text: parcel.text, columns: parcel.columns }
}

/// Takes an answer out of its parcel.
///
/// # Errors
/// A sentence when the parcel holds less or more than that.
pub fn unpack<T: Travels>(answer: Answer) -> Result<T, String> {
    let mut columns = answer.columns.into_iter();
    let numbers = columns.next().unwrap_or_default().into_iter();
    let mut parcel = Opened { text: answer.text, place: 0, numbers, columns, ran_out: false };
    let value = T::unpack(&mut parcel);
    if parcel.ran_out || parcel.is_left() {
        return Err("The calculation's answer did not arrive whole.".to_owned());
    }
    Ok(value)
}

/// A parcel being packed.
#[derive(Debug)]
pub struct Parcel {
    text: String,
    numbers: Vec<f64>,
    columns: Vec<Vec<f64>>,
}

/// A parcel being unpacked.
#[derive(Debug)]
pub struct Opened {
    text: String,
    /// Where the text goes on, in bytes.
    place: usize,
    numbers: std::vec::IntoIter<f64>,
    columns: std::vec::IntoIter<Vec<f64>>,
    /// Whether something was asked for that is not there.
    ran_out: bool,
}

impl Opened {
    fn is_left(&self) -> bool {
        self.place < self.text.len() || self.numbers.len() + self.columns.len() > 0
    }

    /// What is there, or a sign that the parcel ran out.
    fn found<T: Default>(&mut self, found: Option<T>) -> T {
        self.ran_out |= found.is_none();
        found.unwrap_or_default()
    }
}

impl Travels for f64 {
    fn pack(self, parcel: &mut Parcel) {
        parcel.numbers.push(self);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        let number = parcel.numbers.next();
        parcel.found(number)
    }

    fn pack_list(list: Vec<Self>, parcel: &mut Parcel) {
        parcel.columns.push(list);
    }

    fn unpack_list(parcel: &mut Opened) -> Vec<Self> {
        let column = parcel.columns.next();
        parcel.found(column)
    }
}

impl Travels for usize {
    fn pack(self, parcel: &mut Parcel) {
        // Positions in lists: far below the whole numbers that an f64 holds exactly.
        (self as f64).pack(parcel);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        f64::unpack(parcel) as usize
    }
}

impl Travels for u32 {
    fn pack(self, parcel: &mut Parcel) {
        f64::from(self).pack(parcel);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        f64::unpack(parcel) as u32
    }
}

impl Travels for u8 {
    fn pack(self, parcel: &mut Parcel) {
        f64::from(self).pack(parcel);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        f64::unpack(parcel) as u8
    }

    fn pack_list(list: Vec<Self>, parcel: &mut Parcel) {
        f64::pack_list(list.into_iter().map(f64::from).collect(), parcel);
    }

    fn unpack_list(parcel: &mut Opened) -> Vec<Self> {
        f64::unpack_list(parcel).into_iter().map(|number| number as u8).collect()
    }
}

impl Travels for bool {
    fn pack(self, parcel: &mut Parcel) {
        u8::from(self).pack(parcel);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        u8::unpack(parcel) == 1
    }
}

impl Travels for String {
    fn pack(self, parcel: &mut Parcel) {
        self.len().pack(parcel);
        parcel.text.push_str(&self);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        let start = parcel.place;
        parcel.place = start.saturating_add(usize::unpack(parcel));
        let text = parcel.text.get(start..parcel.place).map(str::to_owned);
        parcel.found(text)
    }
}

impl<T: Travels> Travels for Vec<T> {
    fn pack(self, parcel: &mut Parcel) {
        T::pack_list(self, parcel);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        T::unpack_list(parcel)
    }
}

impl<T: Travels> Travels for Option<T> {
    fn pack(self, parcel: &mut Parcel) {
        self.is_some().pack(parcel);
        if let Some(value) = self {
            value.pack(parcel);
        }
    }

    fn unpack(parcel: &mut Opened) -> Self {
        bool::unpack(parcel).then(|| T::unpack(parcel))
    }
}

impl Travels for [f64; 3] {
    fn pack(self, parcel: &mut Parcel) {
        parcel.numbers.extend(self);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        std::array::from_fn(|_| f64::unpack(parcel))
    }
}

impl Travels for (f64, f64) {
    fn pack(self, parcel: &mut Parcel) {
        parcel.numbers.extend([self.0, self.1]);
    }

    fn unpack(parcel: &mut Opened) -> Self {
        (f64::unpack(parcel), f64::unpack(parcel))
    }
}

/// Says how a struct travels: its fields, all of them, in any order.
macro_rules! travels {
    ($name:ident { $($field:ident),+ $(,)? }) => {
        impl Travels for $name {
            fn pack(self, parcel: &mut Parcel) {
                let Self { $($field),+ } = self;
                $($field.pack(parcel);)+
            }

            fn unpack(parcel: &mut Opened) -> Self {
                Self { $($field: Travels::unpack(parcel)),+ }
            }
        }
    };
}

/// Says how an enum without data travels: its variants, all of them, in any order; the first stands in when a parcel has
/// run out.
macro_rules! travels_as_one_of {
    ($name:ident { $first:ident $(, $variant:ident)* $(,)? }) => {
        impl Travels for $name {
            fn pack(self, parcel: &mut Parcel) {
                match self {
                    $name::$first $(| $name::$variant)* => (self as u8).pack(parcel),
                }
            }

            fn unpack(parcel: &mut Opened) -> Self {
                let number = u8::unpack(parcel);
                [$($name::$variant),*].into_iter().find(|one| *one as u8 == number).unwrap_or($name::$first)
            }
        }
    };
}

use {travels, travels_as_one_of};

#[cfg(test)]
mod tests {
    use super::*;

    fn there_and_back<T: Travels>(value: T) -> T {
        unpack(pack(value)).unwrap()
    }

    #[test]
    fn what_is_packed_comes_out_again() {
        let texts = vec!["Linnet".to_owned(), String::new(), "Ω \"\u{1F985}\"\n".to_owned()];
        assert_eq!(there_and_back(texts.clone()), texts);
        let columns = vec![vec![0.1 + 0.2, -1e300], Vec::new()];
        assert_eq!(there_and_back(columns.clone()), columns);
        assert!(there_and_back(-0.0).is_sign_negative() && there_and_back(f64::NAN).is_nan());
        assert_eq!(there_and_back(vec![0_u8, 255]), [0, 255]);
        assert_eq!(there_and_back(vec![Some((1.0, 2.0)), None]), [Some((1.0, 2.0)), None]);
        assert_eq!(there_and_back(vec![[1.0, 2.0, 3.0]]), [[1.0, 2.0, 3.0]]);
        assert_eq!(there_and_back(vec![true, false]), [true, false]);
    }

    #[test]
    fn a_parcel_that_holds_less_or_more_is_refused() {
        let packed = || pack(vec!["two".to_owned(), "three".to_owned()]);
        assert!(unpack::<Vec<String>>(packed()).is_ok());
        assert!(unpack::<Vec<String>>(Answer::default()).is_err());
        let spoil = |change: fn(&mut Answer)| {
            let mut answer = packed();
            change(&mut answer);
            unpack::<Vec<String>>(answer).unwrap_err()
        };
        for refusal in [
            spoil(|answer| answer.text.truncate(5)),
            spoil(|answer| answer.text.push('.')),
            spoil(|answer| answer.columns[0].truncate(2)),
            spoil(|answer| answer.columns[0].push(1.0)),
            spoil(|answer| answer.columns.push(Vec::new())),
            spoil(|answer| answer.columns[0][0] = 1e300),
            spoil(|answer| answer.columns[0][1] = f64::NAN),
        ] {
            assert!(refusal.ends_with('.'), "{refusal}");
        }
    }
}

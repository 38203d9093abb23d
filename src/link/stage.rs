//! Results kept by a fingerprint of what they were made from, so that a change recomputes only what it touches.

mod fingerprint;

use std::rc::Rc;

use serde::Serialize;

use fingerprint::Fingerprint;

/// A fingerprint of everything a result depends on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key(u128);

/// The fingerprint of some parts of a plan and of the results they build on; the same on every machine.
///
/// Numbers are told apart bit for bit. Two different inputs share a fingerprint with a probability of 2⁻¹²⁸.
pub fn key(parts: &impl Serialize, on: &[Key]) -> Key {
    let mut print = Fingerprint::default();
    for key in on {
        print.word(key.0);
    }
    let fed = print.value(parts);
    debug_assert!(fed.is_ok(), "plan parts are plain data");
    Key(print.finish())
}

impl std::fmt::Display for Key {
    /// 32 hexadecimal digits.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl Key {
    /// A key as it was written by its `Display`; `None` for anything else.
    pub fn read(text: &str) -> Option<Self> {
        let is_one = text.len() == 32 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
        u128::from_str_radix(text, 16).ok().filter(|_| is_one).map(Self)
    }
}

/// A result whose memory counts.
pub trait Weighed {
    /// About how many bytes it takes; zero for what is small.
    fn bytes(&self) -> usize {
        0
    }
}

/// The last few results of one stage.
#[derive(Debug)]
pub struct Stage<T> {
    kept: Vec<(Key, Rc<T>)>,
    most: usize,
    most_bytes: usize,
    made: usize,
}

impl<T: Weighed> Stage<T> {
    /// Keeps at most this many results, at least one; the longest unused goes first.
    pub fn keeping(most: usize) -> Self {
        Self { kept: Vec::new(), most: most.max(1), most_bytes: usize::MAX, made: 0 }
    }

    /// And no more than so many bytes of them, but for the last one.
    pub fn within(self, most_bytes: usize) -> Self {
        Self { most_bytes, ..self }
    }

    /// The kept result, or a new one.
    pub fn get(&mut self, key: Key, make: impl FnOnce() -> T) -> Rc<T> {
        if let Some(value) = self.find(key) {
            return value;
        }
        self.made += 1;
        let value = Rc::new(make());
        self.kept.push((key, Rc::clone(&value)));
        let mut bytes: usize = self.kept.iter().map(|(_, kept)| kept.bytes()).sum();
        while self.kept.len() > self.most || bytes > self.most_bytes && self.kept.len() > 1 {
            bytes -= self.kept.remove(0).1.bytes();
        }
        value
    }

    /// The kept result, if there is one.
    pub fn find(&mut self, key: Key) -> Option<Rc<T>> {
        let found = self.kept.iter().position(|(known, _)| *known == key)?;
        let entry = self.kept.remove(found);
        let value = Rc::clone(&entry.1);
        self.kept.push(entry);
        Some(value)
    }

    /// How many results were made so far: what a change really recomputed.
    pub fn made(&self) -> usize {
        self.made
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    impl Weighed for f64 {}

    impl Weighed for Vec<u8> {
        fn bytes(&self) -> usize {
            self.len()
        }
    }

    #[test]
    fn a_result_is_made_once_per_key_and_the_longest_unused_is_forgotten() {
        let mut stage = Stage::keeping(2);
        let key_of = |number: f64| key(&number, &[]);
        for number in [1.0, 2.0, 1.0, 3.0, 1.0] {
            assert_eq!(*stage.get(key_of(number), || number), number);
        }
        assert_eq!(stage.made(), 3);
        stage.get(key_of(2.0), || 2.0);
        assert_eq!(stage.made(), 4, "2 was the longest unused when 3 came");
    }

    #[test]
    fn results_that_take_too_much_memory_are_forgotten_but_for_the_last() {
        let mut stage = Stage::keeping(9).within(100);
        let key_of = |size: usize| key(&size, &[]);
        for size in [30, 40, 20, 60] {
            assert_eq!(stage.get(key_of(size), || vec![0_u8; size]).len(), size);
        }
        assert_eq!([30, 40, 20, 60].map(|size| stage.find(key_of(size)).is_some()), [false, false, true, true]);
        stage.get(key_of(500), || vec![0; 500]);
        assert_eq!([20, 60, 500].map(|size| stage.find(key_of(size)).is_some()), [false, false, true]);
    }

    #[test]
    fn the_last_bit_of_a_number_makes_another_key() {
        assert_ne!(key(&0.1_f64, &[]), key(&0.1_f64.next_up(), &[]));
        assert_ne!(key(&1.0_f64, &[key(&1, &[])]), key(&1.0_f64, &[key(&2, &[])]));
    }

    #[test]
    fn a_key_is_read_as_it_was_written() {
        let written = key(&"some plan", &[]);
        assert_eq!(Key::read(&written.to_string()), Some(written));
        for odd in ["", "12", "+0123456789abcdef0123456789abcde", &"g".repeat(32), &"0".repeat(33)] {
            assert_eq!(Key::read(odd), None);
        }
    }
}

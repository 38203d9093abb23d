//! Tables of fields, of words and of kinds: how a type says what it is read from.

/// A structure by its fields, in the order of the type; `field = value` for one that may be absent and then has that
/// value.
#[macro_export]
macro_rules! stored_fields {
    ($name:ident { $($field:ident $(= $stand_in:expr)?),* $(,)? }) => {
        impl $crate::plan::json_reader::Stored for $name {
            fn read(
                reader: &mut $crate::plan::json_reader::Reader<'_>,
            ) -> Result<Self, $crate::plan::json_reader::Wrong> {
                let mut fields = reader.object(&[$(stringify!($field)),*])?;
                Ok(Self { $($field: reader.field(&mut fields, $crate::stored_fields!(@ $($stand_in)?))?),* })
            }
        }
    };
    (@ $stand_in:expr) => { Some($stand_in) };
    (@) => { None };
}

/// An enumeration by its words; nothing belongs to any of them.
#[macro_export]
macro_rules! stored_words {
    ($name:ident { $($word:literal => $variant:ident),* $(,)? }) => {
        impl $crate::plan::json_reader::Stored for $name {
            fn read(
                reader: &mut $crate::plan::json_reader::Reader<'_>,
            ) -> Result<Self, $crate::plan::json_reader::Wrong> {
                reader.word(&[$($word),*]).map(|index| [$(Self::$variant),*][index])
            }
        }
    };
}

/// An enumeration by its kinds, with what belongs to each of them.
macro_rules! stored_kinds {
    ($name:ident { $($word:literal => $variant:ident $(($inner:ty))? $({ $($field:ident),* })?),* $(,)? }) => {
        impl Stored for $name {
            fn read(reader: &mut Reader<'_>) -> Result<Self, Wrong> {
                let words: &'static [&'static str] = &[$($word),*];
                let kind = reader.kind(words)?;
                $(
                    if words[kind.index] == $word {
                        return reader.of_kind(kind, |reader| {
                            $( <$inner>::read(reader).map(Self::$variant) )?
                            $(
                                let mut fields = reader.object(&[$(stringify!($field)),*])?;
                                Ok(Self::$variant { $($field: reader.field(&mut fields, None)?),* })
                            )?
                        });
                    }
                )*
                unreachable!("a kind is one of the words")
            }
        }
    };
}

pub(in crate::plan) use stored_kinds;

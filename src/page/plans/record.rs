//! A kept plan as it lies in the store: a line about it, then its text.
//!
//! Both are one entry of the store, so they cannot come apart. The line lets a list be shown without reading the texts, and
//! tells a tab whether another one has written since.

/// In front of the keys of plans.
const PREFIX: &str = "lapmargin.plan.";

/// A kept plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// Differs with every writing, whichever tab wrote.
    pub mark: String,
    /// When it was last changed, in milliseconds since 1970.
    pub changed_ms: u64,
    /// The plan's name.
    pub name: String,
    /// The plan as text, perhaps of another version than this build reads.
    pub text: String,
}

impl Record {
    /// The entry of the store.
    pub fn entry(&self) -> String {
        let Self { mark, changed_ms, name, text } = self;
        format!("{mark} {changed_ms} {name}\n{text}")
    }

    /// Reads an entry. Where the line makes no sense, the whole entry is the text of a record without a name: nothing that
    /// somebody kept is left out of the list.
    pub fn read(entry: &str) -> Self {
        let parts = || {
            let (line, text) = entry.split_once('\n')?;
            let (mark, rest) = line.split_once(' ')?;
            let (changed, name) = rest.split_once(' ')?;
            let (mark, name, text) = (mark.to_owned(), name.to_owned(), text.to_owned());
            Some(Self { mark, changed_ms: changed.parse().ok()?, name, text })
        };
        parts().unwrap_or_else(|| Self {
            mark: String::new(),
            changed_ms: 0,
            name: "Without a name".to_owned(),
            text: entry.to_owned(),
        })
    }
}

/// The key of a plan.
pub fn key(id: &str) -> String {
    format!("{PREFIX}{id}")
}

/// The plan that a key belongs to, if it is the key of one.
pub fn id(key: &str) -> Option<&str> {
    key.strip_prefix(PREFIX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_record_comes_back_and_a_broken_entry_keeps_its_text() {
        let record = Record {
            mark: "k3x".to_owned(),
            changed_ms: 1_790_000_000_000,
            name: "Town yard, spring".to_owned(),
            text: "{\n  \"format\": 1\n}\n".to_owned(),
        };
        assert_eq!(Record::read(&record.entry()), record);
        for broken in ["", "{\"format\":", "mark later name\n{}", "mark 12\n{}"] {
            let read = Record::read(broken);
            assert_eq!((read.text.as_str(), read.mark.as_str()), (broken, ""));
        }
        assert_eq!(id(&key("a1")), Some("a1"));
        assert_eq!(id("lapmargin.preferences"), None);
    }
}

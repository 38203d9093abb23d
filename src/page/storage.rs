//! Where the page keeps texts between visits, and what it does where the browser keeps nothing.
//!
//! A browser may refuse to keep anything, or be full. Then the text is held in memory, so that the visit goes on with
//! everything in its place, and the page says what will be lost with it.

use std::cell::{Cell, RefCell};

/// Why something was not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotKept {
    /// The browser keeps nothing for this page.
    #[error("This browser does not let the page keep anything. Save your plans as files before you leave.")]
    Denied,
    /// There is no room left, or the browser otherwise refused this one.
    #[error(
        "The browser has no room left to keep the plan. Save it as a file, or delete plans that you no longer need."
    )]
    Full,
}

/// Texts under keys. One operation is whole or not at all.
pub trait Store {
    /// The text under a key.
    fn get(&self, key: &str) -> Option<String>;

    /// Puts a text under a key.
    ///
    /// # Errors
    /// [`NotKept`]; the former text is then still there.
    fn set(&self, key: &str, text: &str) -> Result<(), NotKept>;

    /// Takes a text away.
    fn remove(&self, key: &str);

    /// All keys, in no order.
    fn keys(&self) -> Vec<String>;
}

/// What lasts no longer than the visit.
#[derive(Default)]
pub struct MemoryStore(RefCell<Vec<(String, String)>>);

impl Store for MemoryStore {
    fn get(&self, key: &str) -> Option<String> {
        self.0.borrow().iter().find(|(other, _)| other == key).map(|(_, text)| text.clone())
    }

    fn set(&self, key: &str, text: &str) -> Result<(), NotKept> {
        self.remove(key);
        self.0.borrow_mut().push((key.to_owned(), text.to_owned()));
        Ok(())
    }

    fn remove(&self, key: &str) {
        self.0.borrow_mut().retain(|(other, _)| other != key);
    }

    fn keys(&self) -> Vec<String> {
        self.0.borrow().iter().map(|(key, _)| key.clone()).collect()
    }
}

/// A store that may refuse, and memory for what it refused.
pub struct Backed {
    store: Box<dyn Store>,
    refused: MemoryStore,
    why: Cell<NotKept>,
}

impl Backed {
    /// Backs a store.
    pub fn new(store: Box<dyn Store>) -> Self {
        Self { store, refused: MemoryStore::default(), why: Cell::new(NotKept::Full) }
    }

    /// Why something is held in memory only, while that is so.
    pub fn not_kept(&self) -> Option<NotKept> {
        (!self.refused.keys().is_empty()).then(|| self.why.get())
    }

    /// The text under a key.
    pub fn get(&self, key: &str) -> Option<String> {
        self.refused.get(key).or_else(|| self.store.get(key))
    }

    /// Puts a text under a key; into memory where the store refuses. Where there is room for it, there may be for what was
    /// refused before.
    pub fn set(&self, key: &str, text: &str) {
        match self.store.set(key, text) {
            Ok(()) => {
                self.refused.remove(key);
                self.move_in();
            }
            Err(why) => {
                self.why.set(why);
                // Memory refuses nothing.
                let _ = self.refused.set(key, text);
            }
        }
    }

    /// Takes a text away; where that makes room, what was refused moves in.
    pub fn remove(&self, key: &str) {
        self.refused.remove(key);
        self.store.remove(key);
        self.move_in();
    }

    /// Puts what was refused where it belongs, as far as there is room.
    fn move_in(&self) {
        for key in self.refused.keys() {
            if self.refused.get(&key).is_some_and(|text| self.store.set(&key, &text).is_ok()) {
                self.refused.remove(&key);
            }
        }
    }

    /// All keys, in no order.
    pub fn keys(&self) -> Vec<String> {
        let mut keys = self.refused.keys();
        for key in self.store.keys() {
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        keys
    }
}

#[cfg(target_arch = "wasm32")]
pub use browser::{Browser, keep_preferences, kept_preferences};

#[cfg(target_arch = "wasm32")]
mod browser {
    use super::{NotKept, Store};
    use crate::preferences::{self, Preferences};

    const PREFERENCES: &str = "lapmargin.preferences";

    /// What the browser keeps for this page.
    #[derive(Clone, Copy)]
    pub enum Browser {
        /// From visit to visit, for all tabs.
        Visits,
        /// For this tab alone, also when it is loaded again.
        Tab,
    }

    impl Browser {
        /// `None` where it is denied.
        fn storage(self) -> Option<web_sys::Storage> {
            let window = web_sys::window()?;
            match self {
                Self::Visits => window.local_storage().ok()?,
                Self::Tab => window.session_storage().ok()?,
            }
        }
    }

    impl Store for Browser {
        fn get(&self, key: &str) -> Option<String> {
            self.storage()?.get_item(key).ok()?
        }

        fn set(&self, key: &str, text: &str) -> Result<(), NotKept> {
            self.storage().ok_or(NotKept::Denied)?.set_item(key, text).map_err(|_| NotKept::Full)
        }

        fn remove(&self, key: &str) {
            if let Some(storage) = self.storage() {
                // What cannot be taken away is still in the list, for everyone to see.
                let _ = storage.remove_item(key);
            }
        }

        fn keys(&self) -> Vec<String> {
            let Some(storage) = self.storage() else { return Vec::new() };
            let count = storage.length().unwrap_or(0);
            (0..count).filter_map(|index| storage.key(index).ok()?).collect()
        }
    }

    /// The preferences of the last visit.
    pub fn kept_preferences() -> Preferences {
        preferences::read(Browser::Visits.get(PREFERENCES).as_deref())
    }

    /// Keeps the preferences for the next visit. Where they are refused, so are the plans, and that is said.
    pub fn keep_preferences(preferences: Preferences) {
        let _ = Browser::Visits.set(PREFERENCES, &serde_json::to_string(&preferences).unwrap_or_default());
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use std::rc::Rc;

    use super::*;

    /// Refuses texts of more bytes than it has room for.
    #[derive(Clone, Default)]
    pub struct SmallStore {
        /// What it keeps.
        pub kept: Rc<MemoryStore>,
        /// How many bytes it may keep in all.
        pub bytes: Rc<Cell<usize>>,
    }

    impl SmallStore {
        /// So many bytes.
        pub fn of(bytes: usize) -> Self {
            Self { kept: Rc::default(), bytes: Rc::new(Cell::new(bytes)) }
        }
    }

    impl Store for SmallStore {
        fn get(&self, key: &str) -> Option<String> {
            self.kept.get(key)
        }

        fn set(&self, key: &str, text: &str) -> Result<(), NotKept> {
            let others = self.keys().into_iter().filter(|other| other != key).filter_map(|other| self.get(&other));
            if others.map(|text| text.len()).sum::<usize>() + text.len() > self.bytes.get() {
                return Err(NotKept::Full);
            }
            self.kept.set(key, text)
        }

        fn remove(&self, key: &str) {
            self.kept.remove(key);
        }

        fn keys(&self) -> Vec<String> {
            self.kept.keys()
        }
    }

    #[test]
    fn what_a_store_refuses_is_there_all_the_same_and_moves_in_when_there_is_room() {
        let room = SmallStore::of(20);
        let store = Backed::new(Box::new(room.clone()));
        store.set("one", "just short");
        assert_eq!(store.not_kept(), None);
        store.set("one", "far too long for the room");
        store.set("two", "another one of them");
        assert_eq!(store.not_kept(), Some(NotKept::Full));
        assert_eq!(store.get("one").as_deref(), Some("far too long for the room"));
        assert_eq!(room.get("one").as_deref(), Some("just short"), "the former text is still there");
        assert_eq!(store.keys(), ["one", "two"]);
        // A text that fits makes no room by itself.
        store.set("three", "x");
        assert_eq!((room.get("three").as_deref(), room.get("two")), (Some("x"), None));
        room.bytes.set(60);
        store.set("three", "y");
        assert_eq!((store.not_kept(), room.keys().len()), (None, 3));
        room.bytes.set(28);
        store.set("two", "another one, and a longer one");
        assert_eq!(store.not_kept(), Some(NotKept::Full));
        store.remove("one");
        assert_eq!(store.not_kept(), Some(NotKept::Full));
        store.set("two", "another one of them");
        assert_eq!(room.get("two").as_deref(), Some("another one of them"));
        assert_eq!((store.get("one"), store.not_kept()), (None, None));
    }
}

//! Text that the person saves as a file.

/// A file name from the name people know the plan by: lower-case letters, digits and hyphens.
pub fn file_name(plan_name: &str, ending: &str) -> String {
    let mut stem = String::new();
    for letter in plan_name.chars().map(|letter| letter.to_ascii_lowercase()) {
        if is_in_a_word(letter) {
            stem.push(letter);
        } else if !stem.is_empty() && !stem.ends_with('-') {
            stem.push('-');
        }
        // A long name would be cut by some systems, with its ending.
        if stem.chars().count() >= 60 {
            break;
        }
    }
    let stem = stem.trim_end_matches('-');
    format!("{}{ending}", if stem.is_empty() { "plan" } else { stem })
}

/// Whether a letter may stand in a file name: letters and digits of plain ASCII, and the scripts that follow it up to
/// Hangul with their signs, but for punctuation. The library's own list of letters costs the page 2 kB.
fn is_in_a_word(letter: char) -> bool {
    let is_script = matches!(letter, '\u{c0}'..='\u{1fff}' | '\u{3040}'..='\u{d7ff}') && !matches!(letter, '×' | '÷');
    letter.is_ascii_alphanumeric() || is_script
}

/// Lets the browser save a text of JSON under a name.
///
/// # Errors
/// A sentence when the browser refuses.
#[cfg(target_arch = "wasm32")]
pub fn save(name: &str, text: &str) -> Result<(), String> {
    save_as(name, text, "application/json")
}

/// The same with a text of another kind, a media type.
///
/// # Errors
/// A sentence when the browser refuses.
#[cfg(target_arch = "wasm32")]
pub fn save_as(name: &str, text: &str, kind: &str) -> Result<(), String> {
    save_blob(name, blob(text, kind))
}

/// A text of a kind, as the browser passes files about.
#[cfg(target_arch = "wasm32")]
pub fn blob(text: &str, kind: &str) -> Option<web_sys::Blob> {
    let parts = js_sys::Array::of1(&wasm_bindgen::JsValue::from_str(text));
    let properties = web_sys::BlobPropertyBag::new();
    properties.set_type(kind);
    web_sys::Blob::new_with_str_sequence_and_options(&parts, &properties).ok()
}

/// Lets the browser save a file that is there already, or says that there is none.
///
/// # Errors
/// A sentence when the browser refuses.
#[cfg(target_arch = "wasm32")]
pub fn save_blob(name: &str, blob: Option<web_sys::Blob>) -> Result<(), String> {
    use wasm_bindgen::JsCast;

    let offer = || {
        let address = web_sys::Url::create_object_url_with_blob(&blob?).ok()?;
        let link = web_sys::window()?.document()?.create_element("a").ok()?;
        let link: web_sys::HtmlAnchorElement = link.unchecked_into();
        link.set_href(&address);
        link.set_download(name);
        link.click();
        web_sys::Url::revoke_object_url(&address).ok()
    };
    offer().ok_or_else(|| "The browser did not save the file.".to_owned())
}

/// Reads the text of a file from the person's disk and hands it on, or what is wrong, to go on after "cannot be opened:".
/// Nothing is read of a file that is too large for a plan.
#[cfg(target_arch = "wasm32")]
pub fn read(file: &web_sys::File, then: impl Fn(Result<String, String>) + 'static) {
    use crate::plan::{limits, load};

    if file.size() > limits::TEXT_BYTES as f64 {
        return then(Err(load::LoadError::TooLong { bytes: file.size() as usize }.to_string()));
    }
    let unreadable = || "the browser could not read it".to_owned();
    let Ok(reader) = web_sys::FileReader::new() else { return then(Err(unreadable())) };
    if reader.read_as_text(file).is_err() {
        return then(Err(unreadable()));
    }
    let done = reader.clone();
    gloo::events::EventListener::new(&reader, "loadend", move |_| {
        then(done.result().ok().and_then(|text| text.as_string()).ok_or_else(unreadable));
    })
    .forget();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_name_becomes_a_file_name() {
        assert_eq!(file_name("Town yard, spring", ".report.json"), "town-yard-spring.report.json");
        assert_eq!(file_name(" …/../ ", ".json"), "plan.json");
        assert_eq!(file_name("Höfe × Łąka – 東京", ".json"), "höfe-Łąka-東京.json");
        assert!(file_name(&"x".repeat(500), ".json").len() <= 65);
    }
}

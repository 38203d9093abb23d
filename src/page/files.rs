//! Text that the person saves as a file.

/// A file name from the name people know the plan by: lower-case letters, digits and hyphens.
pub fn file_name(plan_name: &str, ending: &str) -> String {
    let mut stem = String::new();
    for letter in plan_name.chars().map(|letter| letter.to_ascii_lowercase()) {
        if letter.is_alphanumeric() {
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

/// Lets the browser save a text under a name.
///
/// # Errors
/// A sentence when the browser refuses.
#[cfg(target_arch = "wasm32")]
pub fn save(name: &str, text: &str) -> Result<(), String> {
    use wasm_bindgen::{JsCast, JsValue};

    let offer = || -> Result<(), JsValue> {
        let parts = js_sys::Array::of1(&JsValue::from_str(text));
        let kind = web_sys::BlobPropertyBag::new();
        kind.set_type("application/json");
        let blob = web_sys::Blob::new_with_str_sequence_and_options(&parts, &kind)?;
        let address = web_sys::Url::create_object_url_with_blob(&blob)?;
        let document = web_sys::window().and_then(|window| window.document()).ok_or(JsValue::UNDEFINED)?;
        let link: web_sys::HtmlAnchorElement = document.create_element("a")?.unchecked_into();
        link.set_href(&address);
        link.set_download(name);
        link.click();
        web_sys::Url::revoke_object_url(&address)
    };
    offer().map_err(|_| "The browser did not save the file.".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_name_becomes_a_file_name() {
        assert_eq!(file_name("Town yard, spring", ".report.json"), "town-yard-spring.report.json");
        assert_eq!(file_name(" …/../ ", ".json"), "plan.json");
        assert!(file_name(&"x".repeat(500), ".json").len() <= 65);
    }
}

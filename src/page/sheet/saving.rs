//! The course as a picture of pixels.

use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, CanvasRenderingContext2d, HtmlCanvasElement, HtmlImageElement, Url};

use super::figure::Element;
use crate::files;

/// Pixels of the picture per pixel of the drawing, so that letters stay sharp in print.
const SCALE: f64 = 2.0;

/// The drawing of this size as a PNG file; nothing where the browser cannot draw it.
pub async fn png(drawing: &Element, sides: [f64; 2]) -> Option<Blob> {
    let address = Url::create_object_url_with_blob(&files::blob(&drawing.file(), "image/svg+xml")?).ok()?;
    let made = on_canvas(&address, sides.map(|side| side * SCALE)).await;
    // What cannot be given back is given back with the page.
    let _ = Url::revoke_object_url(&address);
    made
}

async fn on_canvas(address: &str, [width, height]: [f64; 2]) -> Option<Blob> {
    let image = HtmlImageElement::new().ok()?;
    image.set_src(address);
    JsFuture::from(image.decode()).await.ok()?;
    let canvas: HtmlCanvasElement = gloo::utils::document().create_element("canvas").ok()?.unchecked_into();
    canvas.set_width(width as u32);
    canvas.set_height(height as u32);
    let pen: CanvasRenderingContext2d = canvas.get_context("2d").ok()??.unchecked_into();
    pen.draw_image_with_html_image_element_and_dw_and_dh(&image, 0.0, 0.0, width, height).ok()?;
    let made = js_sys::Promise::new(&mut |done, _| {
        // A canvas that cannot be read leaves the promise open, and only a foreign image makes one so.
        let _ = canvas.to_blob(&done);
    });
    JsFuture::from(made).await.ok()?.dyn_into().ok()
}

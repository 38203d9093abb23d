//! Pictures of receivers on canvases.

use wasm_bindgen::{Clamped, JsCast};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, ImageData};
use yew::NodeRef;

use crate::link::picture::WIDTH;

/// Puts the pixels of a picture on a canvas. Without a canvas, or on one that gives no context, there is nothing to see.
pub fn put(canvas: &NodeRef, pixels: &[u8]) {
    let image = ImageData::new_with_u8_clamped_array(Clamped(pixels), WIDTH as u32);
    let context = canvas.cast::<HtmlCanvasElement>().and_then(|canvas| canvas.get_context("2d").ok().flatten());
    if let (Ok(image), Some(context)) =
        (image, context.and_then(|context| context.dyn_into::<CanvasRenderingContext2d>().ok()))
    {
        // An image of our own is never refused.
        let _ = context.put_image_data(&image, 0.0, 0.0);
    }
}

//! A picture, from the camera or from a file, shrunk by the browser's own canvas. One that the browser cannot read is refused, and
//! nothing is kept of it.

use js_sys::Uint8Array;
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, CanvasRenderingContext2d, HtmlCanvasElement, ImageBitmap};

/// The longer side of a kept photograph, in pixels.
const LONGEST: f64 = 1600.0;
/// What a kept photograph is.
pub(crate) const MEDIA: &str = "image/jpeg";

/// A photograph made small enough to keep.
pub(crate) struct Small {
    pub(crate) picture: Uint8Array,
    pub(crate) width: u32,
    pub(crate) height: u32,
}

/// Shrinks a picture to 1600 pixels at most. None where the browser cannot read it.
pub(crate) async fn shrink(file: &Blob) -> Option<Small> {
    let window = web_sys::window()?;
    let bitmap = JsFuture::from(window.create_image_bitmap_with_blob(file).ok()?).await.ok()?;
    let bitmap: ImageBitmap = bitmap.dyn_into().ok()?;
    let (width, height) = (f64::from(bitmap.width()), f64::from(bitmap.height()));
    let scale = (LONGEST / width.max(height)).min(1.0);
    let (width, height) = ((width * scale).round().max(1.0), (height * scale).round().max(1.0));
    let canvas: HtmlCanvasElement = window.document()?.create_element("canvas").ok()?.dyn_into().ok()?;
    canvas.set_width(width as u32);
    canvas.set_height(height as u32);
    let context: CanvasRenderingContext2d = canvas.get_context("2d").ok()??.dyn_into().ok()?;
    context.draw_image_with_image_bitmap_and_dw_and_dh(&bitmap, 0.0, 0.0, width, height).ok()?;
    let made = js_sys::Promise::new(&mut |done, _| {
        let told = Closure::once_into_js(move |picture: JsValue| {
            // The promise's own function refuses nothing.
            let _ = done.call1(&JsValue::NULL, &picture);
        });
        let _ = canvas.to_blob_with_type(told.unchecked_ref(), MEDIA);
    });
    let picture: Blob = JsFuture::from(made).await.ok()?.dyn_into().ok()?;
    Some(Small { picture: bytes(&picture).await?, width: width as u32, height: height as u32 })
}

/// What a `Blob` holds. It is kept as bytes: WebKit keeps no `Blob` in a private window.
async fn bytes(blob: &Blob) -> Option<Uint8Array> {
    Some(Uint8Array::new(&JsFuture::from(blob.array_buffer()).await.ok()?))
}

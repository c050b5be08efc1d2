//! Files for the reader to keep.

use super::report;
use js_sys::{Array, Promise, Uint8Array};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, HtmlCanvasElement, Url};

/// How long a browser may take to begin a download, ms.
const KEPT_MS: i32 = 60_000;

/// Gives `bytes` to the reader as the file `name`; false when the browser has no way to do it.
pub(crate) fn give(name: &str, kind: &str, bytes: &[u8]) -> bool {
    let parts = Array::of1(&Uint8Array::from(bytes));
    let options = BlobPropertyBag::new();
    options.set_type(kind);
    Blob::new_with_u8_array_sequence_and_options(&parts, &options)
        .ok()
        .and_then(|blob| give_blob(name, &blob))
        .is_some()
}

fn give_blob(name: &str, blob: &Blob) -> Option<()> {
    let window = web_sys::window()?;
    let page = window.document()?;
    let address = Url::create_object_url_with_blob(blob).ok()?;
    let link: HtmlAnchorElement = page.create_element("a").ok()?.dyn_into().ok()?;
    link.set_href(&address);
    link.set_download(name);
    link.click();
    report::saved(name, blob);
    let done = Closure::once_into_js(move || {
        let _ = Url::revoke_object_url(&address);
    });
    let _ =
        window.set_timeout_with_callback_and_timeout_and_arguments_0(done.unchecked_ref(), KEPT_MS);
    Some(())
}

/// A canvas as a PNG file; none when the browser refuses.
pub(crate) async fn png(canvas: &HtmlCanvasElement) -> Option<Vec<u8>> {
    let promise = Promise::new(&mut |done, _| {
        let refused = done.clone();
        // The callback is given the blob, which is what the promise is resolved with.
        if canvas.to_blob(&done).is_err() {
            let _ = refused.call1(&JsValue::NULL, &JsValue::NULL);
        }
    });
    let blob: Blob = JsFuture::from(promise).await.ok()?.dyn_into().ok()?;
    let buffer = JsFuture::from(blob.array_buffer()).await.ok()?;
    Some(Uint8Array::new(&buffer).to_vec())
}

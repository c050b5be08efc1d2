//! Reading the page's own files, with progress.

use super::language;
use app::texts::form;
use js_sys::{Reflect, Uint8Array};
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{ReadableStreamDefaultReader, Response};

/// Why a file did not arrive: a clause for the screen, without capital and full stop.
pub(crate) type Missing = String;

/// Reads a file piece by piece; `arrived` is given all bytes so far, and `true` at the end.
///
/// # Errors
///
/// A clause when the file is not there or the connection breaks off.
pub(crate) async fn streamed(
    address: &str,
    mut arrived: impl FnMut(&[u8], bool),
) -> Result<Vec<u8>, Missing> {
    let response = respond(address).await?;
    let mut bytes: Vec<u8> = Vec::new();
    let Some(body) = response.body() else {
        return Err(broken(address));
    };
    let reader: ReadableStreamDefaultReader = body
        .get_reader()
        .dyn_into()
        .map_err(|_ignored| broken(address))?;
    loop {
        let step = JsFuture::from(reader.read())
            .await
            .map_err(|_ignored| broken(address))?;
        let get =
            |key: &str| Reflect::get(&step, &JsValue::from_str(key)).unwrap_or(JsValue::UNDEFINED);
        if get("done").is_truthy() {
            break;
        }
        let Ok(piece) = get("value").dyn_into::<Uint8Array>() else {
            return Err(broken(address));
        };
        let old = bytes.len();
        bytes.resize(old + piece.length() as usize, 0);
        piece.copy_to(&mut bytes[old..]);
        arrived(&bytes, false);
    }
    arrived(&bytes, true);
    Ok(bytes)
}

/// Reads a small file whole.
///
/// # Errors
///
/// As [`streamed`].
pub(crate) async fn whole(address: &str) -> Result<Vec<u8>, Missing> {
    streamed(address, |_, _| {}).await
}

async fn respond(address: &str) -> Result<Response, Missing> {
    let window = web_sys::window().ok_or_else(|| broken(address))?;
    let value = JsFuture::from(window.fetch_with_str(address))
        .await
        .map_err(|_ignored| broken(address))?;
    let response: Response = value.dyn_into().map_err(|_ignored| broken(address))?;
    if response.ok() {
        Ok(response)
    } else {
        Err(form(
            language::texts().page.file_missing,
            &[name(address), &response.status().to_string()],
        ))
    }
}

fn broken(address: &str) -> Missing {
    form(language::texts().page.file_broken, &[name(address)])
}

fn name(address: &str) -> &str {
    address.rsplit('/').next().unwrap_or(address)
}

/// Comes back when the next animation frame has had time to be drawn.
pub(crate) async fn after_a_frame() {
    let promise = js_sys::Promise::new(&mut |done, _| {
        if let Some(window) = web_sys::window() {
            // A hidden page gets no frames, so a timer is the way out.
            let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(&done, 40);
        }
    });
    let _ = JsFuture::from(promise).await;
}

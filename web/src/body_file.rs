//! A body from the page's own files: the list, the catalogue, then the meshes as they arrive.

use crate::desk::Desk;
use crate::platform::{fetch, language};
use app::Action;
use app::anatomy::{BodyReader, Stage};
use app::texts::form;
use js_sys::Reflect;
use std::sync::Arc;
use wasm_bindgen::JsValue;

/// Where the files of one body are.
struct Files {
    model: String,
    catalogue: String,
    bytes: Option<u64>,
}

/// Fetches the body `id` and hands it to the desk, skin first; a failure is handed over too.
pub(crate) async fn fetch_body(desk: Desk, id: String) {
    if let Err(reason) = try_fetch(&desk, &id).await {
        desk.body_done();
        desk.act(Action::BodyFailed { id, reason });
    }
}

async fn try_fetch(desk: &Desk, id: &str) -> Result<(), String> {
    let files = find(id).await?;
    let catalogue = fetch::whole(&files.catalogue).await?;
    let mut reader = BodyReader::new(&catalogue).map_err(|error| error.to_string())?;
    reader.rename(&language::texts().names);
    let mut skin_shown = false;
    let mut trouble = None;
    let bytes = fetch::streamed(&files.model, |bytes, _| {
        if skin_shown || trouble.is_some() {
            return;
        }
        let received = u64::try_from(bytes.len()).unwrap_or(u64::MAX);
        desk.act(Action::BodyProgress {
            id: id.to_owned(),
            received,
            total: files.bytes,
        });
        match reader.feed(bytes) {
            Ok(Stage::Waiting(_)) => {}
            Ok(Stage::Skin(_) | Stage::Complete) => {
                skin_shown = true;
                if let Some(skin) = reader.skin() {
                    let facts = Arc::new(reader.facts().clone());
                    desk.act(Action::SkinArrived {
                        facts,
                        skin: Arc::new(skin.clone()),
                    });
                }
            }
            Err(error) => trouble = Some(error.to_string()),
        }
    })
    .await?;
    if let Some(trouble) = trouble {
        return Err(trouble);
    }
    // The skin is drawn before the organs are unpacked, which holds the page up for a moment.
    fetch::after_a_frame().await;
    let body = reader.finish(&bytes).map_err(|error| error.to_string())?;
    desk.body_done();
    desk.act(Action::BodyArrived(Arc::new(body)));
    Ok(())
}

async fn find(id: &str) -> Result<Files, String> {
    let address = web_sys::window()
        .and_then(|window| window.document()?.body()?.get_attribute("data-bodies"))
        .unwrap_or_else(|| "bodies.json".to_owned());
    let text = String::from_utf8_lossy(&fetch::whole(&address).await?).into_owned();
    let list = js_sys::JSON::parse(&text)
        .map_err(|_broken| language::texts().page.list_broken.to_owned())?;
    let entries = js_sys::Array::from(&list);
    let text_of = |entry: &JsValue, key: &str| {
        Reflect::get(entry, &JsValue::from_str(key))
            .ok()?
            .as_string()
    };
    entries
        .iter()
        .find(|entry| text_of(entry, "id").as_deref() == Some(id))
        .and_then(|entry| {
            let bytes = Reflect::get(&entry, &JsValue::from_str("bytes"))
                .ok()?
                .as_f64();
            Some(Files {
                model: text_of(&entry, "model")?,
                catalogue: text_of(&entry, "catalogue")?,
                bytes: bytes.map(whole_bytes),
            })
        })
        .ok_or_else(|| form(language::texts().page.no_such_body, &[id]))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a file size, brought to zero or more first; it only feeds a progress bar"
)]
fn whole_bytes(number: f64) -> u64 {
    number.max(0.0) as u64
}

//! Files that the reader hands to the page; they stay on the reader's machine.

use js_sys::Uint8Array;
use wasm_bindgen::JsCast as _;
use wasm_bindgen_futures::JsFuture;
use web_sys::{File, FileList, HtmlInputElement};

/// Names and contents of the files that were chosen; one that cannot be read is empty.
pub(crate) async fn files(input: &HtmlInputElement) -> Vec<(String, Vec<u8>)> {
    match input.files() {
        Some(list) => read(&list).await,
        None => Vec::new(),
    }
}

/// Names and contents of a list of files.
pub(crate) async fn read(list: &FileList) -> Vec<(String, Vec<u8>)> {
    let handed: Vec<File> = (0..list.length())
        .filter_map(|place| list.item(place))
        .collect();
    let mut files = Vec::new();
    for file in handed {
        let bytes = match JsFuture::from(file.array_buffer()).await {
            Ok(buffer) => Uint8Array::new(buffer.unchecked_ref()).to_vec(),
            Err(_) => Vec::new(),
        };
        files.push((file.name(), bytes));
    }
    files
}

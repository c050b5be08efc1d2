//! How a set comes in and goes out: files, starter sets, link, lines for a page, packages, preview, worksheet.

use super::Workshop;
use crate::examination::now;
use crate::panels::parts::{self, Button, Group, Menu};
use crate::platform::{copy, fetch, page_data, pick, save};
use crate::stage::saved;
use app::course::package::{Standard, package};
use app::course::qti;
use app::course::set;
use app::course::share::{Embed, Frame, Shown, element_snippet, frame_snippet, set_link};
use app::teach::{Quiz, TeachAction, quiz};
use app::texts::form;
use leptos::html;
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

/// Height of a frame for a set, px: room for picture, body and answers on a laptop.
const FRAME_PX: u32 = 720;

/// Open, save, begin anew, examples.
pub(super) fn files(work: Workshop) -> AnyView {
    let words = work.texts();
    let input = NodeRef::<html::Input>::new();
    let open = Button::new(words.open, move || {
        if let Some(input) = input.get_untracked() {
            input.click();
        }
    });
    let chosen = move |_| {
        let Some(input) = input.get_untracked() else {
            return;
        };
        spawn_local(async move {
            for (_, bytes) in pick::files(&input).await {
                work.act(TeachAction::Open(bytes));
            }
            input.set_value("");
        });
    };
    let save = Button::new(words.save, move || {
        let given = work.given();
        let (name, text) = (file_name(&given.title), set::pretty(&given));
        save::give(&format!("{name}.json"), "application/json", text.as_bytes());
    });
    let new = Button::new(words.new, move || work.act(TeachAction::New));
    let row = parts::div("row", vec![open.view(), save.view(), new.view()]);
    let hidden = view! {
        <input
            node_ref=input
            type="file"
            id="open-set"
            class="unseen"
            accept=".json,application/json"
            aria-label=words.open
            tabindex="-1"
            on:change=chosen
        />
    }
    .into_any();
    parts::group(
        "files-title",
        words.files,
        vec![row, hidden, starters(work)],
    )
}

/// Example sets, which are files of the page.
fn starters(work: Workshop) -> AnyView {
    let words = work.texts();
    // In the words of the page's language, where there are some.
    let own = page_data(&format!("starters-{}", work.handle.texts().language));
    let files = if own.is_empty() {
        page_data("starters")
    } else {
        own
    };
    let files: Vec<String> = files.split_whitespace().map(str::to_owned).collect();
    let mut options = vec![(String::new(), words.starter.to_owned())];
    options.extend(
        files
            .iter()
            .zip(words.starters)
            .map(|(file, name)| (file.clone(), name.to_owned())),
    );
    let menu = Menu {
        id: "starter",
        class: "",
        name: Some(words.starter),
        groups: Group::fixed(options),
        chosen: Signal::stored(String::new()),
        choose: Callback::new(move |file: String| {
            if file.is_empty() {
                return;
            }
            spawn_local(async move {
                match fetch::whole(&file).await {
                    Ok(bytes) => work.act(TeachAction::Open(bytes)),
                    Err(missing) => work.said.set(missing),
                }
            });
        }),
    };
    menu.view()
}

/// Link, lines for a page, packages, preview, worksheet.
pub(super) fn share(work: Workshop) -> AnyView {
    let words = work.texts();
    // The settings and the list are all that a set is made of, so its texts follow them.
    let link = Memo::new(move |_| {
        work.shown.track();
        set_link(&work.given())
    });
    let address = Memo::new(move |_| {
        format!(
            "{}embed.html#{}",
            folder(),
            link.with(|link| link.text.clone())
        )
    });
    let embed = move || Embed {
        shown: Shown::Set(Box::new(work.given())),
        ..Embed::default()
    };
    let lines = move |write: fn(&Frame<'_>) -> String| {
        Memo::new(move |_| {
            work.shown.track();
            let (base, title) = (folder(), work.given().title);
            write(&Frame {
                base: &base,
                embed: &embed(),
                title: &title,
                height_px: FRAME_PX,
            })
        })
    };
    let long = Signal::derive(move || {
        if link.with(|link| link.prefer_file) {
            words.long_link.to_owned()
        } else {
            String::new()
        }
    });
    let preview = Button {
        class: "firm",
        ..Button::new(words.preview, move || open_preview(work, None))
    };
    let sheet =
        Memo::new(move |_| format!("worksheet.html#{}", link.with(|link| link.text.clone())));
    let worksheet = view! {
        <a class="button" href=sheet target="_blank" rel="noopener">
            {words.worksheet}
        </a>
    }
    .into_any();
    let body = vec![
        parts::div("row", vec![preview.view(), worksheet]),
        text_out(work, "share-link", words.link, address),
        parts::paragraph("note", long),
        text_out(work, "share-frame", words.snippet, lines(frame_snippet)),
        text_out(work, "share-element", words.element, lines(element_snippet)),
        parts::paragraph("label", words.packages),
        parts::div(
            "row",
            Standard::ALL
                .map(|standard| pack_button(work, standard))
                .into_iter()
                .chain([quiz_button(work)])
                .collect(),
        ),
    ];
    parts::group("share-title", words.share, body)
}

/// A text to take away, with its button.
fn text_out(work: Workshop, id: &'static str, label: &'static str, text: Memo<String>) -> AnyView {
    let words = work.texts();
    let button = Button::new(words.copy_text, move || {
        let text = text.get_untracked();
        spawn_local(async move {
            let said = if copy::to_clipboard(&text).await {
                words.copied
            } else {
                copy::mark(id);
                words.marked
            };
            work.said.set(said.to_owned());
        });
    })
    .named(move || format!("{}: {label}", words.copy_text));
    view! {
        <div class="text-out">
            <label for=id>{label}</label>
            <input type="text" id=id readonly prop:value=text />
            {button.view()}
        </div>
    }
    .into_any()
}

fn pack_button(work: Workshop, standard: Standard) -> AnyView {
    let words = work.texts();
    let label = words.package.replace("{}", standard.name());
    Button::new(Signal::stored(label), move || {
        work.said.set(words.packing.to_owned());
        spawn_local(async move {
            let said = match pack(work, standard).await {
                Ok(()) => words.packed.to_owned(),
                Err(reason) => words.not_packed.replace("{}", &reason),
            };
            work.said.set(said);
        });
    })
    .view()
}

fn quiz_button(work: Workshop) -> AnyView {
    let words = work.texts();
    Button::new(words.quiz, move || {
        work.said.set(words.packing.to_owned());
        spawn_local(async move {
            let said = match make_quiz(work).await {
                Ok(said) => said,
                Err(reason) => words.not_packed.replace("{}", &reason),
            };
            work.said.set(said);
        });
    })
    .view()
}

/// Draws the pictures of the questions that a quiz can hold, and gives the package.
async fn make_quiz(work: Workshop) -> Result<String, String> {
    let texts = work.handle.texts();
    let words = texts.teach;
    let set = work.given();
    let quiz = work
        .handle
        .with(|desk| desk.read(|state| quiz(&set, state, texts)))
        .flatten();
    let Some(Quiz { drafts, left }) = quiz else {
        return Err(words.quiz_none.to_owned());
    };
    let mut items = Vec::new();
    for mut draft in drafts {
        for (shot, alt) in draft.shots {
            let canvas = work
                .handle
                .with(|desk| desk.aside(|_, drawing, texts| saved::alone(&shot, drawing, texts)))
                .flatten()
                .ok_or("a picture could not be drawn")?;
            let png = save::png(&canvas)
                .await
                .ok_or("a picture could not be drawn")?;
            draft.item.pictures.push((png, alt.to_owned()));
        }
        items.push(draft.item);
    }
    if items.is_empty() {
        return Ok(words.quiz_none.to_owned());
    }
    let zip = qti::package(&set, &items, now());
    let name = format!("{}-qti.zip", file_name(&set.title));
    if !save::give(&name, "application/zip", &zip) {
        return Err("the browser refused the download".to_owned());
    }
    Ok(if left == 0 {
        words.packed.to_owned()
    } else {
        let pattern = texts.counted(words.quiz_left, left);
        format!("{} {}", words.packed, form(pattern, &[&left.to_string()]))
    })
}

/// Collects the page's own files and gives the package.
async fn pack(work: Workshop, standard: Standard) -> Result<(), String> {
    let set = work.given();
    let list = fetch::whole("files.json").await?;
    let names = app::anatomy::json::Json::read(&list)
        .and_then(|json| json.as_list("files").map(<[_]>::to_vec))
        .map_err(|error| error.to_string())?;
    let bodies: Vec<String> = set
        .bodies()
        .iter()
        .map(|id| format!("bodies/{id}-"))
        .collect();
    let mut files = Vec::new();
    for name in names.iter().filter_map(|name| name.as_text("file").ok()) {
        let needed =
            !name.starts_with("bodies/") || bodies.iter().any(|body| name.starts_with(&**body));
        if needed && ![".gz", ".br"].iter().any(|end| name.ends_with(end)) {
            files.push((name.to_owned(), fetch::whole(name).await?));
        }
    }
    let zip = package(&set, standard, &files, now()).map_err(|error| error.to_string())?;
    let name = format!("{}-{}.zip", file_name(&set.title), standard.key());
    if save::give(&name, "application/zip", &zip) {
        Ok(())
    } else {
        Err("the browser refused the download".to_owned())
    }
}

/// A file name made of a title.
fn file_name(title: &str) -> String {
    let plain: String = title
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() {
                c.to_ascii_lowercase()
            } else {
                '-'
            }
        })
        .take(40)
        .collect();
    let name: Vec<&str> = plain.split('-').filter(|part| !part.is_empty()).collect();
    if name.is_empty() {
        "planeward-set".to_owned()
    } else {
        name.join("-")
    }
}

/// The folder of this page, with its last slash.
fn folder() -> String {
    let here = web_sys::window()
        .and_then(|window| window.location().href().ok())
        .unwrap_or_default();
    let here = here.split(['#', '?']).next().unwrap_or_default();
    here.rsplit_once('/')
        .map(|(folder, _)| format!("{folder}/"))
        .unwrap_or_default()
}

const PREVIEW: &str = "teach-preview";

fn dialog() -> Option<web_sys::HtmlDialogElement> {
    use wasm_bindgen::JsCast as _;
    web_sys::window()?
        .document()?
        .get_element_by_id(PREVIEW)?
        .dyn_into()
        .ok()
}

/// Shows the set as it is now, or one of its questions, as a learner gets it.
pub(super) fn open_preview(work: Workshop, entry: Option<usize>) {
    let given = work.given();
    let one = entry.and_then(|entry| given.questions.get(entry));
    let only = one.map_or_else(String::new, |one| format!("&question={}", one.id));
    let text = format!("embed.html#{}{only}", set_link(&given).text);
    work.preview.set(Some(text));
    if let Some(dialog) = dialog() {
        let _ = dialog.show_modal();
    }
}

/// The set as learners get it, in a frame over the page.
pub(crate) fn preview(work: Workshop) -> AnyView {
    let words = work.texts();
    let address = work.preview;
    let close = Button::new(words.close, move || {
        if let Some(dialog) = dialog() {
            dialog.close();
        }
    });
    let frame = move || {
        address.get().map(|address| {
            view! { <iframe src=address title=words.preview_title></iframe> }.into_any()
        })
    };
    view! {
        <dialog
            id=PREVIEW
            class="help preview"
            aria-label=words.preview_title
            on:close=move |_| address.set(None)
        >
            <div class="row">
                <h2 tabindex="-1">{words.preview_title}</h2>
                {close.view()}
            </div>
            {frame}
        </dialog>
    }
    .into_any()
}

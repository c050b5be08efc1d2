//! The page of results: files in, tables out. Nothing leaves the reader's machine.

use crate::page;
use crate::panels::parts::{self, Button};
use crate::platform::prefer::Theme;
use crate::platform::{language, pick, save};
use app::results::{Column, GroupView, Results, ResultsView, RowView};
use app::texts::ResultsTexts;
use leptos::html;
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

/// Length of a full bar of the chart, in the drawing's own units.
const BAR: f64 = 200.0;

/// Width of a letter of its names, about.
const LETTER: usize = 7;

/// Height of a line of the chart.
const LINE: usize = 22;

#[derive(Clone, Copy)]
struct Reports {
    results: StoredValue<Results, LocalStorage>,
    shown: RwSignal<ResultsView>,
}

impl Reports {
    fn change(self, change: impl FnOnce(&mut Results)) {
        self.results.update_value(change);
        let shown = self
            .results
            .with_value(|results| results.view(language::texts()));
        self.shown.set(shown);
    }
}

/// Puts the page into its element, in place of the loading words.
pub(crate) fn mount() {
    page::mount_view(results);
}

fn results() -> AnyView {
    Theme::stored().show();
    let texts = language::texts();
    let reports = Reports {
        results: StoredValue::new_local(Results::default()),
        shown: RwSignal::new(ResultsView::default()),
    };
    let words = &language::texts().results;
    let left = Memo::new(move |_| reports.shown.with(|view| view.left.clone()));
    let list = move || {
        let ResultsView { groups, sorted, .. } = reports.shown.get();
        groups
            .into_iter()
            .enumerate()
            .map(|(place, group)| report(reports, place, group, sorted))
            .collect::<Vec<AnyView>>()
    };
    let left_out = move || {
        left.get()
            .into_iter()
            .map(|line| view! { <li>{line}</li> }.into_any())
            .collect::<Vec<AnyView>>()
    };
    let footer = texts.footer.join(" ");
    view! {
        <div class="page results">
            <header class="head">
                <h1 class="brand">{texts.panels.title}</h1>
                <p class="plane">{words.title}</p>
                <div class="tools">{crate::teach::ways(texts)}</div>
            </header>
            <main class="report">
                {take(reports)}
                <section class="left-out" role="status" hidden=move || left.with(Vec::is_empty)>
                    <h2>{words.left_heading}</h2>
                    <ul>{left_out}</ul>
                </section>
                {list}
            </main>
            <footer class="foot">{footer}</footer>
        </div>
    }
    .into_any()
}

/// Where files come in.
fn take(reports: Reports) -> AnyView {
    let words = &language::texts().results;
    let input = NodeRef::<html::Input>::new();
    let open = Button {
        class: "firm",
        ..Button::new(words.open, move || {
            if let Some(input) = input.get_untracked() {
                input.click();
            }
        })
    };
    let clear = Button {
        disabled: Signal::derive(move || reports.shown.with(|view| view.files == 0)),
        ..Button::new(words.clear, move || reports.change(Results::clear))
    };
    let chosen = move |_| {
        let Some(input) = input.get_untracked() else {
            return;
        };
        spawn_local(async move {
            let files = pick::files(&input).await;
            reports.change(|results| results.add(files));
            input.set_value("");
        });
    };
    let dropped = move |event: web_sys::DragEvent| {
        event.prevent_default();
        let Some(list) = event.data_transfer().and_then(|data| data.files()) else {
            return;
        };
        spawn_local(async move {
            let files = pick::read(&list).await;
            reports.change(|results| results.add(files));
        });
    };
    let count = Signal::derive(move || {
        reports.shown.with(|view| match view.files {
            0 => words.none.to_owned(),
            files => words.files.replace("{}", &files.to_string()),
        })
    });
    view! {
        <section
            class="drop"
            aria-label=words.open
            on:dragover=move |event| event.prevent_default()
            on:drop=dropped
        >
            <p>{words.intro}</p>
            <div class="row">{open.view()} <span class="soft">{words.drop}</span> {clear.view()}</div>
            <input
                node_ref=input
                type="file"
                id="open-results"
                class="unseen"
                multiple
                accept=".json,application/json"
                aria-label=words.open
                tabindex="-1"
                on:change=chosen
            />
            <p class="note" role="status">
                {count}
            </p>
        </section>
    }
    .into_any()
}

fn report(
    reports: Reports,
    place: usize,
    group: GroupView,
    sorted: Option<(usize, bool)>,
) -> AnyView {
    let words = &language::texts().results;
    let give =
        |label: &'static str, ending: &'static str, text: fn(&Results, usize) -> Option<String>| {
            Button::new(label, move || {
                if let Some(text) = reports.results.with_value(|results| text(results, place)) {
                    save::give(
                        &format!("planeward-{ending}.csv"),
                        "text/csv",
                        text.as_bytes(),
                    );
                }
            })
            .view()
        };
    let exports = parts::div(
        "row",
        vec![
            give(words.export_items, "questions", Results::items_csv),
            give(words.export_answers, "answers", Results::answers_csv),
        ],
    );
    let facts = group.facts.join(" ");
    let findings = lines(group.findings.clone());
    let nothing_found = group.findings.is_empty();
    let meanings = lines(words.figures_of.map(str::to_owned).to_vec());
    view! {
        <section class="set-report">
            <h2>{group.title.clone()}</h2>
            <p>{facts}</p>
            {exports}
            {table(reports, &group, sorted)}
            <details class="figures">
                <summary>{words.figures}</summary>
                <ul>{meanings}</ul>
            </details>
            {chart(words, &group)}
            {matrix(words, &group)}
            <div hidden=nothing_found>
                <h3>{words.findings}</h3>
                <ul>{findings}</ul>
            </div>
        </section>
    }
    .into_any()
}

fn lines(lines: Vec<String>) -> Vec<AnyView> {
    lines
        .into_iter()
        .map(|line| view! { <li>{line}</li> }.into_any())
        .collect()
}

fn table(reports: Reports, group: &GroupView, sorted: Option<(usize, bool)>) -> AnyView {
    let words = &language::texts().results;
    let heads = Column::ALL
        .into_iter()
        .zip(words.columns)
        .enumerate()
        .map(|(place, (column, name))| {
            let order = match sorted {
                Some((by, falling)) if by == place => {
                    Some(if falling { "descending" } else { "ascending" })
                }
                _ => None,
            };
            let button = Button {
                class: "plain-button",
                ..Button::new(name, move || reports.change(|results| results.sort(column)))
            }
            .named(move || words.sort.replace("{}", name));
            view! {
                <th scope="col" aria-sort=order>
                    {button.view()}
                </th>
            }
            .into_any()
        })
        .collect::<Vec<AnyView>>();
    let rows = group.rows.iter().map(row).collect::<Vec<AnyView>>();
    view! {
        <div class="scroll" tabindex="0" role="group" aria-label=words.items>
            <table class="items">
                <caption>{words.items}</caption>
                <thead>
                    <tr>{heads}</tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
    }
    .into_any()
}

fn row(row: &RowView) -> AnyView {
    let mut cells = row.cells.iter().cloned();
    let first = cells.next().unwrap_or_default();
    let cells = cells
        .map(|cell| view! { <td class="number">{cell}</td> }.into_any())
        .collect::<Vec<AnyView>>();
    let remark = row.remark.clone();
    view! {
        <tr>
            <th scope="row">{first} <span class="remark">{remark}</span></th>
            {cells}
        </tr>
    }
    .into_any()
}

/// Bars, one a question; the same in one sentence for those who do not see them.
fn chart(words: &'static ResultsTexts, group: &GroupView) -> AnyView {
    let height = group.rows.len() * LINE;
    let name_of = |cells: &[String]| -> String {
        let name = cells.first().and_then(|name| name.split(':').next());
        name.unwrap_or_default().to_owned()
    };
    let longest = group
        .rows
        .iter()
        .map(|row| name_of(&row.cells).chars().count());
    let start = longest.max().unwrap_or(0).clamp(2, 20) * LETTER;
    let bars = group
        .rows
        .iter()
        .enumerate()
        .map(|(place, row)| {
            let name = name_of(&row.cells);
            let share = row.cells.get(2).cloned().unwrap_or_default();
            let top = place * LINE;
            let width = row.share.unwrap_or(0.0).clamp(0.0, 1.0) * BAR;
            view! {
                <g transform=format!("translate(0 {top})")>
                    <text x=start.to_string() y="15" text-anchor="end">{name}</text>
                    <rect class="whole" x=(start + 8).to_string() y="4" width=BAR.to_string() height="14" />
                    <rect class="bar" x=(start + 8).to_string() y="4" width=format!("{width:.1}") height="14" />
                    <text x=(start + 216).to_string() y="15">{share}</text>
                </g>
            }
            .into_any()
        })
        .collect::<Vec<AnyView>>();
    let words_of_it = group.chart.clone();
    view! {
        <figure>
            <figcaption>{words.chart_title}</figcaption>
            <svg class="chart" viewBox=format!("0 0 {} {height}", start + 260) role="img" aria-label=words_of_it>
                {bars}
            </svg>
        </figure>
    }
    .into_any()
}

fn matrix(words: &'static ResultsTexts, group: &GroupView) -> Option<AnyView> {
    if group.planes.is_empty() {
        return None;
    }
    let heads = group
        .planes
        .iter()
        .map(|name| view! { <th scope="col">{name.clone()}</th> }.into_any())
        .collect::<Vec<AnyView>>();
    let most = group
        .counts
        .iter()
        .flatten()
        .copied()
        .max()
        .unwrap_or(1)
        .max(1);
    let rows = group
        .planes
        .iter()
        .zip(&group.counts)
        .enumerate()
        .map(|(right, (name, counts))| {
            let cells = counts
                .iter()
                .enumerate()
                .map(|(answered, count)| {
                    let strength = (4 * count).div_ceil(most);
                    let class = match (right == answered, *count > 0) {
                        (true, _) => "agree",
                        (false, true) => "differ",
                        (false, false) => "",
                    };
                    view! { <td class=format!("number {class} s{strength}")>{*count}</td> }
                        .into_any()
                })
                .collect::<Vec<AnyView>>();
            view! {
                <tr>
                    <th scope="row">{name.clone()}</th>
                    {cells}
                </tr>
            }
            .into_any()
        })
        .collect::<Vec<AnyView>>();
    Some(
        view! {
            <div class="scroll" tabindex="0" role="group" aria-label=words.matrix>
                <table class="matrix">
                    <caption>{words.matrix}</caption>
                    <thead>
                        <tr>
                            <th scope="col">{format!("{} ↓ / {} →", words.right_plane, words.answered_plane)}</th>
                            {heads}
                        </tr>
                    </thead>
                    <tbody>{rows}</tbody>
                </table>
            </div>
        }
        .into_any(),
    )
}

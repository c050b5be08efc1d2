//! A question in words, for somebody who sees neither view.

use anatomy::Body;
use geometry::{ApexSide, ImageSide, Sides};
use picture::Contents;
use practice::compose::mark_side;
use practice::{Kind, Question};

use super::sentences;
use crate::state::State;
use crate::texts::{PractiseTexts, Texts, fill};
use crate::views::pose_sentences;

/// The question for somebody who sees neither view: what the views show of it in words, without what is asked.
///
/// Scored as the same skill (an equivalent item form; our own, to be tried with users).
pub(super) fn in_words(
    state: &State,
    seen: Option<&Contents>,
    question: &Question,
    texts: &Texts,
) -> String {
    let display = question.display();
    let words = &texts.practise;
    let mut parts = Vec::new();
    if display.body {
        parts.push(pose_sentences(state, texts));
    }
    if display.picture {
        let veil = state.veil();
        let mark = veil.mark_at.unwrap_or(state.convention().mark);
        if display.mark {
            let side = sentences::image_side(mark_side(mark), words);
            parts.push(fill(words.words_mark, &[side]));
        }
        if display.letters {
            parts.push(letters(state, veil.exchanged, texts));
        } else if question.kind == Kind::Side || question.kind == Kind::Annotate {
            let side = match state.convention().apex {
                ApexSide::Top => ImageSide::Top,
                ApexSide::Bottom => ImageSide::Bottom,
            };
            let side = sentences::image_side(side, words);
            parts.push(fill(words.words_face, &[side]));
        }
        if question.kind == Kind::TransducerFromPicture {
            parts.push(shape_of_field(state, words));
        } else if let (Some(body), Some(seen)) = (state.body(), seen) {
            parts.push(picture(state, body, seen, question, texts));
        }
    }
    parts.join(" ")
}

/// What the two views show while pictures are acquired, without the name of the plane.
pub(super) fn scene_words(state: &State, seen: Option<&Contents>, texts: &Texts) -> String {
    let words = &texts.practise;
    let side = sentences::image_side(mark_side(state.convention().mark), words);
    let mut parts = vec![
        pose_sentences(state, texts),
        fill(words.words_mark, &[side]),
        letters(state, false, texts),
    ];
    if let (Some(body), Some(seen)) = (state.body(), seen) {
        parts.push(listed(state, body, seen, texts));
    }
    parts.join(" ")
}

fn letters(state: &State, exchanged: bool, texts: &Texts) -> String {
    let mut sides = Sides::of(&state.plane());
    if exchanged {
        std::mem::swap(&mut sides.top, &mut sides.bottom);
    }
    texts.pictures.sides(&sides, state.tolerance())
}

/// How wide the picture is at the top and at the bottom: what its shape shows.
fn shape_of_field(state: &State, words: &PractiseTexts) -> String {
    let field = state.field();
    let face = field.face();
    let width = match (face.first(), face.last()) {
        (Some(first), Some(last)) => (last[0] - first[0]).abs(),
        _ => 0.0,
    };
    fill(
        words.words_shape,
        &[
            &millimetres(width),
            &millimetres(field.edge_drop().get()),
            &millimetres(field.depth().get()),
            &millimetres(field.width_at(field.depth()).get()),
        ],
    )
}

fn millimetres(value: f64) -> String {
    format!("{value:.0}")
}

/// Structures that the words name at most.
const MOST_ROWS: usize = 8;

/// What the picture shows, near to far, without how the plane runs to any axis.
fn picture(
    state: &State,
    body: &Body,
    seen: &Contents,
    question: &Question,
    texts: &Texts,
) -> String {
    let words = &texts.practise;
    let mut sentence = listed(state, body, seen, texts);
    if question.display().lit
        && let Some(subject) = &question.subject
        && let Some(one) = body
            .find(subject.structure.as_str())
            .and_then(|index| seen.find(index))
    {
        let [x, y] = one.centre;
        let side = if x < 0.0 {
            ImageSide::Left
        } else {
            ImageSide::Right
        };
        sentence.push(' ');
        sentence.push_str(&fill(
            words.words_lit,
            &[
                &subject.label.to_lowercase(),
                &millimetres(one.bounds.width()),
                &millimetres(one.bounds.height()),
                &millimetres(y.abs()),
                &millimetres(x.abs()),
                sentences::image_side(side, words),
            ],
        ));
    }
    sentence
}

/// What the picture shows, near to far.
fn listed(state: &State, body: &Body, seen: &Contents, texts: &Texts) -> String {
    let field = state.field();
    let words = &texts.practise;
    let list: Vec<String> = texts
        .pictures
        .rows(body, &field, seen)
        .into_iter()
        .filter(|row| row.named)
        .take(MOST_ROWS)
        .map(|row| {
            let [width, height] = row.size_mm;
            fill(
                words.words_row,
                &[
                    &row.name,
                    texts.pictures.across(row.across),
                    &millimetres(row.depth_mm),
                    &millimetres(width),
                    &millimetres(height),
                ],
            )
        })
        .collect();
    fill(words.words_list, &[&list.join("; ")])
}

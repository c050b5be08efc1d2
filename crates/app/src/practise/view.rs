//! What the Practise screen shows, as plain data.

use course::record::date;
use picture::Contents;
use practice::{Choice, Kind, Question, Skill, Task};

use super::figure::{CompareView, FigureView, compare};
use super::in_words::{in_words, scene_words};
use super::pictures::{self, PicturesView};
use super::review::{ReviewView, review};
use super::round::{Item, Round, Stage, available, progress};
use super::told::{ToldView, told_view, worked_told};
use super::{Note, Screen, check, sentences};
use crate::state::State;
use crate::texts::{PractiseTexts, Texts, fill};

/// The whole screen.
#[derive(Debug, Clone, PartialEq)]
pub struct PractiseView {
    /// Whether the screen is open.
    pub open: bool,
    /// Changes whenever the screen has to be built anew: the focus then goes to its heading.
    pub page: (usize, u8),
    /// A sentence to be told once.
    pub note: Option<String>,
    /// Whether this is the round of a set, which is all that its page has.
    pub of_a_set: bool,
    /// When the round began, milliseconds since 1970 (UTC), where the time it takes is shown and runs.
    pub clock_ms: Option<u64>,
    /// Between rounds.
    pub home: Option<HomeView>,
    /// A question, or a worked example.
    pub question: Option<QuestionView>,
    /// Pictures that a set wants.
    pub pictures: Option<PicturesView>,
    /// The two views that the answer that is told gives to compare.
    pub compare: Option<CompareView>,
    /// The questions of a check.
    pub sheet: Option<SheetView>,
    /// After a round.
    pub review: Option<ReviewView>,
}

/// Between rounds.
#[derive(Debug, Clone, PartialEq)]
pub struct HomeView {
    /// The kinds with how they stand.
    pub kinds: Vec<KindRow>,
    /// What is weak, in a sentence.
    pub weak: String,
    /// What comes next, in a sentence.
    pub next: Option<String>,
    /// The day of the examination, and what comes up before it.
    pub exam: ExamView,
    /// How much is recorded.
    pub record: String,
    /// The kind that is practised alone; empty for all.
    pub only: &'static str,
    /// Whether the time that a round takes is shown.
    pub timed: bool,
}

/// Time that has passed, as minutes and seconds: "3:05".
#[must_use]
pub fn time_words(ms: u64) -> String {
    let seconds = ms / 1000;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// The day of the examination, or of the first patient.
#[derive(Debug, Clone, PartialEq)]
pub struct ExamView {
    /// "2026-12-24"; empty where none is set.
    pub date: String,
    /// How much comes up for review before it; empty where no day is set.
    pub words: String,
    /// Day by day when, and what.
    pub rows: Vec<(String, String)>,
}

/// The questions of a check, all on one page.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetView {
    /// "Readiness check".
    pub heading: &'static str,
    /// The questions.
    pub questions: Vec<QuestionView>,
    /// "3 of 5 answered."
    pub answered: String,
}

/// A kind of question.
#[derive(Debug, Clone, PartialEq)]
pub struct KindRow {
    /// Its key.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// How it stands.
    pub standing: String,
}

/// A question.
#[derive(Debug, Clone, PartialEq)]
pub struct QuestionView {
    /// "Question 3 of 10", or "Worked example".
    pub heading: String,
    /// The kind's name.
    pub kind: &'static str,
    /// What is asked.
    pub prompt: String,
    /// What the picture's caption says, where it has one.
    pub caption: Option<String>,
    /// The same question for somebody who sees neither view.
    pub words: String,
    /// Choices.
    pub parts: Vec<PartView>,
    /// A line to type.
    pub write: Option<WriteView>,
    /// Whether the probe has to be moved.
    pub place: bool,
    /// Hints so far.
    pub hints: Vec<String>,
    /// Whether there is another one.
    pub more_hints: bool,
    /// Whether it is open: it can be answered, skipped.
    pub asking: bool,
    /// Whether this is a worked example.
    pub worked: bool,
    /// What came out.
    pub told: Option<ToldView>,
    /// Whether the next page is the review.
    pub last: bool,
    /// Whether pictures come after it.
    pub pictures_follow: bool,
    /// What it shows in its own part of the page; only in a check.
    pub figure: Option<FigureView>,
}

/// A part to choose in.
#[derive(Debug, Clone, PartialEq)]
pub struct PartView {
    /// Its heading.
    pub legend: &'static str,
    /// Its options.
    pub options: Vec<OptionView>,
}

/// An option.
#[derive(Debug, Clone, PartialEq)]
pub struct OptionView {
    /// What it stands for.
    pub choice: Choice,
    /// Its words.
    pub words: String,
    /// Whether it is chosen.
    pub chosen: bool,
    /// Whether it is right, once that is told.
    pub right: Option<bool>,
}

/// A line to type.
#[derive(Debug, Clone, PartialEq)]
pub struct WriteView {
    /// What stands in it.
    pub line: String,
}

/// The screen for a state and what its picture shows.
pub(crate) fn practise_view(state: &State, seen: Option<&Contents>, texts: &Texts) -> PractiseView {
    let practise = &state.practise;
    let open = practise.screen == Screen::Practise;
    let mut view = PractiseView {
        open,
        page: (0, 0),
        note: None,
        of_a_set: practise.is_of_a_set,
        clock_ms: None,
        home: None,
        question: None,
        pictures: None,
        compare: None,
        sheet: None,
        review: None,
    };
    if !open {
        return view;
    }
    view.note = practise.note.as_ref().map(|note| note_words(note, texts));
    match &practise.round {
        // The page of a set has no rounds of its own to offer.
        None if practise.is_of_a_set => {}
        None => view.home = Some(home(state, texts)),
        Some(round) => {
            let stage = match round.stage {
                Stage::Worked => 1,
                Stage::Asking => 2,
                Stage::Told => 3,
                Stage::Review => 4,
                Stage::Acquiring => 5,
                Stage::Sheet => 6,
            };
            view.page = (round.at, stage);
            view.compare = compare(state, texts);
            view.clock_ms = round.clock_ms.filter(|_| round.ended_ms.is_none());
            if round.stage == Stage::Review {
                view.review = Some(review(state, round, texts));
            } else if round.stage == Stage::Acquiring {
                view.pictures = pictures::view(state, scene_words(state, seen, texts), texts);
            } else if round.stage == Stage::Sheet {
                view.sheet = Some(sheet(state, round, texts));
            } else if let Some(item) = round.item() {
                view.question = Some(question(state, seen, round, (round.at, item), texts));
            }
        }
    }
    view
}

fn note_words(note: &Note, texts: &Texts) -> String {
    let words = &texts.practise;
    let counted = |pattern: &'static str, n: usize, rest: &[&str]| {
        let n_words = n.to_string();
        let mut values = vec![n_words.as_str()];
        values.extend(rest);
        fill(texts.counted(pattern, n), &values)
    };
    match note {
        Note::Waiting => words.waiting.to_owned(),
        Note::NoQuestions => words.no_questions.to_owned(),
        Note::ChooseFirst => words.choose_first.to_owned(),
        Note::WriteFirst => words.write_first.to_owned(),
        Note::TryAgain => words.try_again.to_owned(),
        Note::Merged(n) => counted(words.merged, *n, &[]),
        Note::NotARecord(reason) => fill(words.not_a_record, &[reason]),
        Note::Unreadable(reason) => fill(words.unreadable, &[reason]),
        Note::Damaged(n, line, reason) => counted(words.damaged, *n, &[&line.to_string(), reason]),
        Note::NotKept => words.storage_failed.to_owned(),
        Note::Erased => words.erased.to_owned(),
        Note::LeftOpen(numbers) => {
            let list: Vec<String> = numbers.iter().map(usize::to_string).collect();
            let pattern = texts.counted(words.left_open, numbers.len());
            fill(pattern, &[&list.join(", ")])
        }
        Note::ExamIsPast => words.exam_past.to_owned(),
    }
}

fn home(state: &State, texts: &Texts) -> HomeView {
    let words = &texts.practise;
    let progress = progress(state);
    let kinds = Kind::ALL
        .into_iter()
        .map(|kind| {
            let (right, tries) = progress.of_kind(kind);
            let pattern = if tries == 0 {
                words.kind_new
            } else if progress.kind_is_mastered(kind) {
                words.kind_mastered
            } else {
                words.kind_some
            };
            KindRow {
                key: kind.key(),
                name: sentences::kind_words(kind, words),
                standing: fill(pattern, &[&right.to_string(), &tries.to_string()]),
            }
        })
        .collect();
    let (weak, next) = weak_and_next(state, texts);
    let count = state.practise.record.answers();
    HomeView {
        kinds,
        weak,
        next,
        exam: exam(state, texts),
        record: fill(
            texts.counted(words.record_count, count),
            &[&count.to_string()],
        ),
        only: state.practise.only.map_or("", Kind::key),
        timed: state.practise.timed,
    }
}

/// How many skills a sentence names.
const NAMED: usize = 3;

/// What is weak and what comes next, each a sentence.
pub(super) fn weak_and_next(state: &State, texts: &Texts) -> (String, Option<String>) {
    let words = &texts.practise;
    let progress = progress(state);
    let mut weak: Vec<String> = progress
        .weak()
        .into_iter()
        .map(|skill| sentences::skill_words(skill, texts))
        .collect();
    weak.dedup();
    weak.truncate(NAMED);
    let weak = if weak.is_empty() {
        words.no_weak.to_owned()
    } else {
        fill(words.weak, &[&weak.join("; ")])
    };
    // Where nobody has told the time yet, it is that of the last answer.
    let events = &mut state.practise.record.events();
    let last = events.next_back().map_or(0, |(id, _)| id.at_ms);
    let last = last.max(state.practise.now_ms);
    let mut next: Vec<String> = progress
        .round(&available(state), NAMED, last, 0)
        .into_iter()
        .map(|skill| sentences::skill_words(skill, texts))
        .collect();
    next.dedup();
    let next = (!next.is_empty()).then(|| fill(words.due_next, &[&next.join("; ")]));
    (weak, next)
}

/// The question in words; of a movement what was seen before it and what is seen after it.
fn both_in_words(
    state: &State,
    seen: Option<&Contents>,
    (item, question): (&Item, &Question),
    texts: &Texts,
) -> String {
    let now = in_words(state, seen, question, texts);
    let before = item.given.as_ref().filter(|_| question.after.is_some());
    match before {
        Some(before) if !before.words.is_empty() => {
            let words = &texts.practise;
            format!("{}: {} {}: {now}", words.before, before.words, words.after)
        }
        _ => now,
    }
}

/// Days that are listed before the examination at most.
const DAYS_LISTED: usize = 6;

/// The day of the examination with what comes up for review before it, day by day.
fn exam(state: &State, texts: &Texts) -> ExamView {
    let words = &texts.practise;
    let Some(exam_ms) = state.practise.record.exam_ms() else {
        return ExamView {
            date: String::new(),
            words: String::new(),
            rows: Vec::new(),
        };
    };
    let day = date(exam_ms);
    let now = state.practise.now_ms;
    let due = if exam_ms > now {
        progress(state).due_until(exam_ms)
    } else {
        Vec::new()
    };
    let mut days: Vec<(String, Vec<Skill>)> = Vec::new();
    for (skill, due_ms) in &due {
        let when = if *due_ms <= now {
            words.due_now.to_owned()
        } else {
            date(*due_ms)
        };
        match days.last_mut() {
            Some((known, skills)) if *known == when => skills.push(*skill),
            _ => days.push((when, vec![*skill])),
        }
    }
    let left: usize = days
        .iter()
        .skip(DAYS_LISTED)
        .map(|(_, skills)| skills.len())
        .sum();
    let mut rows: Vec<(String, String)> = days
        .into_iter()
        .take(DAYS_LISTED)
        .map(|(when, skills)| (when, named(&skills, texts)))
        .collect();
    if left > 0 {
        let more = fill(texts.counted(words.more_skills, left), &[&left.to_string()]);
        rows.push((words.later.to_owned(), more));
    }
    let count = due.len();
    let pattern = if exam_ms <= now {
        words.exam_past
    } else if count == 0 {
        words.exam_none
    } else {
        texts.counted(words.exam_due, count)
    };
    ExamView {
        words: fill(pattern, &[&count.to_string(), &day]),
        date: day,
        rows,
    }
}

/// The skills in words, each once, and how many more there are.
fn named(skills: &[Skill], texts: &Texts) -> String {
    let mut list: Vec<String> = Vec::new();
    for skill in skills {
        let one = sentences::skill_words(*skill, texts);
        if !list.contains(&one) {
            list.push(one);
        }
    }
    let left = list.len().saturating_sub(NAMED);
    list.truncate(NAMED);
    if left > 0 {
        let pattern = texts.counted(texts.practise.more_skills, left);
        list.push(fill(pattern, &[&left.to_string()]));
    }
    list.join("; ")
}

fn sheet(state: &State, round: &Round, texts: &Texts) -> SheetView {
    let words = &texts.practise;
    let all = round.items.len();
    let answered = all - check::left_open(round).len();
    SheetView {
        heading: words.check_heading,
        questions: round
            .items
            .iter()
            .enumerate()
            .map(|numbered| question(state, None, round, numbered, texts))
            .collect(),
        answered: fill(words.answered, &[&answered.to_string(), &all.to_string()]),
    }
}

fn question(
    state: &State,
    seen: Option<&Contents>,
    round: &Round,
    (place, item): (usize, &Item),
    texts: &Texts,
) -> QuestionView {
    let words = &texts.practise;
    let worked = round.stage == Stage::Worked;
    let told = matches!(round.stage, Stage::Told);
    let question = match (&item.example, worked) {
        (Some(example), true) => example,
        _ => &item.question,
    };
    let heading = if worked {
        words.worked.to_owned()
    } else {
        let (number, all) = (place + 1, round.items.len());
        fill(words.number, &[&number.to_string(), &all.to_string()])
    };
    let sheet = round.stage == Stage::Sheet;
    let check = sheet || round.is_silent() || round.set().is_some_and(|set| !set.has_hints());
    let own = round.set().filter(|_| !worked);
    let own_prompt = own.and_then(|set| set.prompt(place));
    let own_hint = own
        .filter(|set| set.has_hints())
        .and_then(|set| set.hint(place));
    QuestionView {
        heading,
        kind: sentences::kind_words(question.kind, words),
        prompt: own_prompt.map_or_else(|| sentences::prompt(question, words), str::to_owned),
        caption: sentences::caption(question, texts),
        words: match &item.figure {
            Some(figured) => figured.words.clone(),
            None => both_in_words(state, seen, (item, question), texts),
        },
        parts: parts(question, item, worked, told, words),
        write: matches!(question.task, Task::Write { .. }).then(|| WriteView {
            line: item.line.clone(),
        }),
        place: question.kind == Kind::PlaceProbe,
        hints: if worked {
            Vec::new()
        } else {
            let mut list = hints(item, words);
            list.extend(own_hint.map(|hint| fill(words.free_hint, &[hint])));
            list
        },
        more_hints: !check && item.hints < super::round::most_hints(item),
        asking: sheet || round.stage == Stage::Asking,
        worked,
        told: if worked {
            Some(worked_told(question, texts))
        } else if told {
            item.marked
                .as_ref()
                .zip(item.answer.as_ref())
                .map(|(marked, answer)| told_view(item, marked, answer, texts))
        } else {
            None
        },
        last: place + 1 == round.items.len(),
        pictures_follow: round.set().is_some_and(|set| set.has_pictures()),
        figure: item.figure.as_ref().map(|one| one.figure.clone()),
    }
}

fn parts(
    question: &Question,
    item: &Item,
    worked: bool,
    told: bool,
    words: &PractiseTexts,
) -> Vec<PartView> {
    question
        .parts()
        .iter()
        .enumerate()
        .map(|(place, part)| PartView {
            legend: sentences::part(part.asked, words),
            options: part
                .options
                .iter()
                .map(|option| OptionView {
                    choice: *option,
                    words: sentences::choice(*option, words),
                    chosen: if worked {
                        *option == part.right
                    } else {
                        item.chosen.get(place).copied().flatten() == Some(*option)
                    },
                    right: (worked || told).then_some(*option == part.right),
                })
                .collect(),
        })
        .collect()
}

fn hints(item: &Item, words: &PractiseTexts) -> Vec<String> {
    let rule = sentences::rule(item.question.kind, words);
    let mut hints = Vec::new();
    let mut left = item.hints;
    if item.first_step {
        hints.push(fill(words.free_hint, &[rule]));
    } else if left > 0 {
        hints.push(fill(words.hint_taken, &[rule]));
        left -= 1;
    }
    if left > 0
        && let Some(wrong) = super::round::struck_out(&item.question)
    {
        let not = fill(words.not_this, &[&sentences::choice(wrong, words)]);
        hints.push(fill(words.hint_taken, &[&not]));
    }
    hints
}

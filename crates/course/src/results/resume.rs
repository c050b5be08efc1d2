//! An unfinished round as a short text, for course systems that keep a few kilobytes for the content. Version 1.
//!
//! ```text
//! p1;0f3a…;7k;1;tq8x4a;0.100.100.1.0.12.sagittal;3.50.0.2.1.40.coronal~sagittal
//! ```
//!
//! Version, identity of the set, seed, attempt, start (seconds since 1970), then for every answered question: its place in
//! the set (drawn ones counted through, before any shuffling), score and score of the first try in percent, hints, time to
//! the first answer in seconds, and the answers between `~`. Seed and start are in base 36. All of it is ASCII: some
//! systems count bytes, some characters.
//!
//! A text of several lines is several such states, which are merged: answers once given are never lost because a course
//! system was late to hand out what it kept.

use std::collections::BTreeMap;

/// What SCORM 1.2 keeps at least, bytes (`cmi.suspend_data`).
pub const SCORM_12: usize = 4096;

/// Longest answer that is kept, bytes as written.
const LONGEST_ANSWER: usize = 200;

/// An unfinished round.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Progress {
    /// [`crate::set::identity`] of the set.
    pub set: String,
    /// Seed of the round.
    pub seed: u64,
    /// Which round it is, from 1.
    pub attempt: u32,
    /// When it began, seconds since 1970.
    pub started_s: u64,
    /// The answered questions by their place in the set.
    pub answered: BTreeMap<u32, Answered>,
}

/// One answered question.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answered {
    /// Share of the marks that count, percent.
    pub score: u32,
    /// Share of the marks after the first try, percent.
    pub first_score: u32,
    /// How many tries there were.
    pub tries: u32,
    /// How many hints were asked for.
    pub hints: u32,
    /// Time to the first answer, s.
    pub seconds: u32,
    /// The answers, oldest first; left out where the text would have become too long.
    pub answers: Vec<String>,
}

/// The text, at most `most` bytes. Where it does not fit, answers are left out, longest first; then, which a set of this
/// program does not come to, the last questions.
#[must_use]
pub fn write(progress: &Progress, most: usize) -> String {
    let mut parts = vec![
        "p1".to_owned(),
        progress.set.clone(),
        base36(progress.seed),
        progress.attempt.to_string(),
        base36(progress.started_s),
    ];
    let mut items: Vec<(String, String)> = Vec::new();
    for (place, item) in &progress.answered {
        let figures = format!(
            "{place}.{}.{}.{}.{}.{}",
            item.score, item.first_score, item.tries, item.hints, item.seconds
        );
        let answers: Vec<String> = item.answers.iter().map(|answer| escaped(answer)).collect();
        let mut answers = answers.join("~");
        if answers.len() > LONGEST_ANSWER {
            answers.clear();
        }
        items.push((figures, answers));
    }
    let head: usize = parts.iter().map(|part| part.len() + 1).sum::<usize>() - 1;
    let size = |items: &[(String, String)]| {
        let of = |(figures, answers): &(String, String)| {
            figures.len() + 1 + answers.len() + usize::from(!answers.is_empty())
        };
        head + items.iter().map(of).sum::<usize>()
    };
    while size(&items) > most {
        let longest = items
            .iter_mut()
            .map(|(_, answers)| answers)
            .max_by_key(|answers| answers.len());
        let had_any = longest.is_some_and(|answers| !std::mem::take(answers).is_empty());
        if !had_any && items.pop().is_none() {
            break;
        }
    }
    parts.extend(items.into_iter().map(|(figures, answers)| {
        if answers.is_empty() {
            figures
        } else {
            format!("{figures}.{answers}")
        }
    }));
    parts.join(";")
}

/// Reads what a course system kept. Total: any text gives a state or `None`. Lines of another set, seed or version, and
/// questions that cannot be read, are passed over; what several lines say is merged, more tries winning.
#[must_use]
pub fn read(text: &str, set: &str) -> Option<Progress> {
    let mut merged: Option<Progress> = None;
    for line in text.lines().take(64) {
        let Some(progress) = one(line.trim(), set) else {
            continue;
        };
        merged = Some(match merged {
            None => progress,
            Some(first) => merge(first, progress),
        });
    }
    merged
}

/// Two states of one round as one; of another round the one that began first, since that is what was marked.
#[must_use]
pub fn merge(mut first: Progress, second: Progress) -> Progress {
    if first.seed != second.seed || first.set != second.set {
        return if second.started_s < first.started_s {
            second
        } else {
            first
        };
    }
    first.started_s = first.started_s.min(second.started_s);
    for (place, item) in second.answered {
        let slot = first.answered.entry(place).or_default();
        if item.tries > slot.tries {
            *slot = item;
        }
    }
    first
}

fn one(line: &str, set: &str) -> Option<Progress> {
    let mut parts = line.split(';');
    if parts.next()? != "p1" || parts.next()? != set {
        return None;
    }
    let mut progress = Progress {
        set: set.to_owned(),
        seed: u64::from_str_radix(parts.next()?, 36).ok()?,
        attempt: parts.next()?.parse().ok()?,
        started_s: u64::from_str_radix(parts.next()?, 36).ok()?,
        answered: BTreeMap::new(),
    };
    for part in parts.take(super::MOST_ITEMS) {
        if let Some((place, item)) = answered(part) {
            progress.answered.insert(place, item);
        }
    }
    Some(progress)
}

fn answered(part: &str) -> Option<(u32, Answered)> {
    let mut fields = part.splitn(7, '.');
    let mut number = || fields.next()?.parse::<u32>().ok();
    let place = number()?;
    let (score, first_score) = (number()?, number()?);
    let (tries, hints, seconds) = (number()?, number()?, number()?);
    if score > 100 || first_score > 100 {
        return None;
    }
    // A line that was cut off behind the figures has no answers rather than an empty one.
    let answers = fields
        .next()
        .filter(|list| !list.is_empty())
        .map_or_else(Vec::new, |list| {
            list.split('~').map(crate::link::percent_decoded).collect()
        });
    Some((
        place,
        Answered {
            score,
            first_score,
            tries,
            hints,
            seconds,
            answers,
        },
    ))
}

fn base36(mut value: u64) -> String {
    let mut digits = Vec::new();
    loop {
        let digit = u32::try_from(value % 36).unwrap_or(0);
        digits.extend(char::from_digit(digit, 36));
        value /= 36;
        if value == 0 {
            return digits.iter().rev().collect();
        }
    }
}

/// Letters, digits and `_-` as they are, the rest in percent form.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || byte == b'_' || byte == b'-' {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SET: &str = "0123456789abcdef";

    fn sample(questions: u32) -> Progress {
        let item = |place| Answered {
            score: place % 101,
            first_score: 0,
            tries: 2,
            hints: 1,
            seconds: 40,
            answers: vec!["coronal".to_owned(), format!("Maße {place}; ~.")],
        };
        Progress {
            set: SET.to_owned(),
            seed: crate::set::LARGEST_SEED,
            attempt: 3,
            started_s: 1_795_596_301,
            answered: (0..questions).map(|place| (place, item(place))).collect(),
        }
    }

    #[test]
    fn what_fits_is_read_back() {
        for questions in [0, 1, 40] {
            let progress = sample(questions);
            let text = write(&progress, SCORM_12);
            assert!(text.is_ascii() && text.len() <= SCORM_12, "{text}");
            assert_eq!(read(&text, SET), Some(progress));
        }
        assert_eq!(read(&write(&sample(3), SCORM_12), "another set"), None);
    }

    #[test]
    fn what_does_not_fit_loses_answers_before_marks() {
        let text = write(&sample(200), SCORM_12);
        assert!(
            text.len() <= SCORM_12 && text.len() > SCORM_12 - 60,
            "{}",
            text.len()
        );
        let back = read(&text, SET).expect("a state");
        assert_eq!(back.answered.len(), 200, "every mark is there");
        assert!(
            back.answered.values().any(|item| item.answers.is_empty()),
            "not every answer"
        );
        let short = read(&write(&sample(200), 300), SET).expect("a state");
        assert!(
            !short.answered.is_empty() && short.answered.len() < 30,
            "cut"
        );
    }

    #[test]
    fn late_states_are_merged() {
        let mut early = sample(3);
        let mut late = sample(5);
        early.answered.retain(|place, _| *place != 1);
        late.answered.retain(|place, _| *place != 0);
        let text = format!("{}\n{}", write(&late, SCORM_12), write(&early, SCORM_12));
        assert_eq!(read(&text, SET), Some(sample(5)));
    }

    proptest! {
        #[test]
        fn any_text_is_survived(text in "(p1;0123456789abcdef;)?.{0,80}(\n.{0,40})?") {
            if let Some(progress) = read(&text, SET) {
                prop_assert_eq!(read(&write(&progress, 64_000), SET), Some(progress));
            }
        }

        #[test]
        fn any_answer_comes_back(answer in ".{1,20}") {
            let mut progress = sample(1);
            progress.answered.entry(0).or_default().answers = vec![answer];
            prop_assert_eq!(read(&write(&progress, SCORM_12), SET), Some(progress));
        }
    }
}

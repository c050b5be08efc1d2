//! Answering input line by line.

use std::io::{BufRead, Write};

use anyhow::{Error, Result, anyhow, bail};
use serde::Serialize;

use crate::answer::{self, Answer};
use crate::bodies::Bodies;
use crate::request::Request;
use crate::resolve;

/// What holds for lines that do not say.
#[derive(Debug)]
pub(crate) struct Defaults {
    pub(crate) tolerance_deg: f64,
    pub(crate) body: Option<String>,
    /// Whether the outlines are wanted.
    pub(crate) loops: bool,
}

#[derive(Debug, Serialize)]
struct BadLine {
    error: String,
    line: usize,
}

/// Answers every line of `input`; how many were bad.
pub(crate) fn answer_all(
    defaults: &Defaults,
    bodies: &mut Bodies,
    mut input: impl BufRead,
    output: &mut impl Write,
) -> Result<usize> {
    let mut bad = 0;
    let mut bytes = Vec::new();
    for line in 1.. {
        bytes.clear();
        if input.read_until(b'\n', &mut bytes)? == 0 {
            break;
        }
        if bytes.trim_ascii().is_empty() {
            continue;
        }
        match answer(defaults, bodies, &bytes) {
            Ok(answer) => serde_json::to_writer(&mut *output, &answer)?,
            Err(error) => {
                bad += 1;
                let error = format!("{error:#}");
                serde_json::to_writer(&mut *output, &BadLine { error, line })?;
            }
        }
        output.write_all(b"\n")?;
        // Whoever waits for an answer before the next question gets it at once.
        output.flush()?;
    }
    Ok(bad)
}

fn answer(defaults: &Defaults, bodies: &mut Bodies, bytes: &[u8]) -> Result<Answer> {
    let request: Request = serde_json::from_slice(bytes).map_err(|error| malformed(&error))?;
    let body = match request.body.as_ref().or(defaults.body.as_ref()) {
        Some(id) => Some(bodies.get(id)?),
        None => None,
    };
    let question = resolve::question(&request, body, defaults.tolerance_deg)?;
    match (body, &question.field) {
        (Some(body), Some(field)) => Ok(answer::on_body(&question, body, field, defaults.loops)),
        _ if defaults.loops => bail!("a section needs contact_mm or window"),
        _ => Ok(answer::of_pose(&question)),
    }
}

/// Says what is wrong with the text, and where in the line; the parser's own line number counts
/// within the one line it was given and would mislead.
pub(crate) fn malformed(error: &serde_json::Error) -> Error {
    let text = error.to_string();
    let place = format!(" at line {} column {}", error.line(), error.column());
    let what = text.strip_suffix(&place).unwrap_or(&text);
    anyhow!("not a valid line, at column {}: {what}", error.column())
}

//! Which of the lines that are typed are words of the console, and which look like a command where any text may be the
//! answer.

use crate::report::clean;
use crate::walk::command_words;
use crate::walk::machine::Machine;
use crate::walk::question::{Expects, Question, Refusal};

/// The first word, where the console itself may know it: alone on its line, behind a colon at a text question.
pub fn command_word(question: &Question, typed: &str) -> Option<String> {
    let typed = typed.trim();
    let word = match (question.expects.is_text(), typed.strip_prefix(':')) {
        (_, Some(word)) => word,
        (true, None) => return None,
        (false, None) => typed,
    };
    Some(word.trim().to_lowercase())
}

/// The name of a file, without the quotes that a terminal puts round one that is dropped on it.
pub fn file_name(typed: &str) -> &str {
    let typed = typed.trim();
    let inner = |quote| typed.strip_prefix(quote).and_then(|it: &str| it.strip_suffix(quote));
    inner('"').or_else(|| inner('\'')).filter(|inner| !inner.is_empty()).unwrap_or(typed)
}

/// At a question that takes any text a command needs its colon. What looks like one without it is hardly ever the
/// answer: a witness called `mended 1 "new spring"` would stand on the record for good.
pub fn bare_word(question: &Question, typed: &str, machine: &Machine) -> Option<Refusal> {
    let typed = typed.trim();
    if !question.expects.is_text() {
        return None;
    }
    let first = typed.split_whitespace().next().unwrap_or_default().to_lowercase();
    let is_alone = first.len() == typed.len();
    let second = typed.split_whitespace().nth(1).unwrap_or_default();
    let second = second.split('.').next().unwrap_or_default();
    let names_a_step = machine.program().steps.iter().any(|step| step.name == second);
    let is_list = first == "show" && ["facts", "words"].contains(&second);
    let has_more = typed.contains(['"', '=']) || names_a_step || is_list;
    // `defect "..."` is what that question asks for.
    if question.expects == Expects::Defects && first == "defect" && !is_alone {
        return None;
    }
    let is_meant = is_alone || has_more || UNMISTAKABLE.contains(&first.as_str());
    let known = command_words().chain(WORDS.iter().copied()).any(|word| word == first) && is_meant;
    known.then(|| {
        Refusal::new(format!("This question takes any text, and {} looks like a command.", clean(typed)))
            .help(format!("Type :{} for the command. If it is the answer, put it in quotes.", clean(typed)))
    })
}

/// No defect, no name and no alteration begins with one of these.
const UNMISTAKABLE: &[&str] = &["note", "correct", "remeasure", "mended", "accepted", "waive", "rejoin"];

/// Words of the console itself; all others are the walk's.
const WORDS: &[&str] = &["help", "pause", "show", "sign"];

//! How questions, briefings and replies look: data in, lines out. Nothing here prints or decides.
//!
//! One quiet line says where we are, then the question, what to type, and the prompt; all of it fits 60 columns.

use super::console::Shown;
use crate::check::program::StateWord;
use crate::report::{clean, cut, width_of, wrapped};
use crate::walk::machine::{Status, StepStatus};
use crate::walk::question::{Briefing, Expects, Place, Question, Refusal, Said, Tone};
use crate::walk::spoken;

const INDENT: &str = "  ";

/// Columns of a title that still say something.
const LEAST_OF_TITLE: usize = 8;

/// Below this the words of `help` stand above their meanings.
const BESIDE_EACH_OTHER: usize = 50;

/// Where we are, the question and its hints.
pub fn question(question: &Question, width: usize) -> Vec<Shown> {
    let mut lines = vec![Shown::blank()];
    if let Some(place) = &question.place {
        lines.extend(place_lines(place, width).into_iter().map(Shown::plain));
    }
    let (ask, listed) = question.ask.split_once('\n').unwrap_or((&question.ask, ""));
    lines.extend(plain(ask, width, "", INDENT));
    lines.extend(listed.lines().flat_map(|item| plain(item, width, INDENT, "     ")));
    let hints: Vec<String> = question.hints.iter().map(|hint| clean(hint)).collect();
    lines.extend(hint_lines(&hints, width).into_iter().map(Shown::plain));
    lines
}

/// Hints side by side where they fit, else one below the other.
fn hint_lines(hints: &[String], width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for hint in hints {
        match lines.last_mut() {
            Some(line) if width_of(line) + width_of(hint) + 3 <= width => {
                line.truncate(line.trim_end_matches('.').len());
                line.push_str(";  ");
                line.push_str(hint);
            }
            _ => lines.extend(wrapped(hint, width, INDENT, "    ")),
        }
    }
    lines
}

/// The title gives way; where that is not enough, the count of readings and the try go into a row of their own.
fn place_lines(place: &Place, width: usize) -> Vec<String> {
    let step = format!("step {} of {}  {} ", place.number, place.of, clean(&place.name));
    let reading = match place.reading {
        Some((number, of)) if of > 1 => format!("   reading {number} of {of}"),
        _ => String::new(),
    };
    let attempt = match place.attempt {
        0 | 1 => "   as found".to_owned(),
        further => format!("   try {further}"),
    };
    let title = clean(&place.title);
    let room = width.saturating_sub(width_of(&step) + width_of(&reading) + width_of(&attempt));
    if room >= LEAST_OF_TITLE {
        return vec![format!("{step}{}{reading}{attempt}", cut(&title, room))];
    }
    let room = width.saturating_sub(width_of(&step));
    let mut rows = wrapped(&format!("{step}{}", cut(&title, room.max(LEAST_OF_TITLE))), width, "", INDENT);
    rows.extend(wrapped(format!("{reading}{attempt}").trim_start(), width, INDENT, INDENT));
    rows
}

/// What is shown when a step or a further try of it begins. `section` only where it changes.
pub fn briefing(place: &Place, briefing: &Briefing, new_section: bool, width: usize) -> Vec<Shown> {
    let mut lines = vec![Shown::blank()];
    if let Some(section) = briefing.section.as_ref().filter(|_| new_section) {
        let title = clean(section);
        lines.extend(strong(&title, width));
        lines.push(Shown::plain("=".repeat(width_of(&title).min(width))));
        lines.push(Shown::blank());
    }
    let attempt = if place.attempt > 1 { format!(", try {}", place.attempt) } else { String::new() };
    let heading = format!("{}  {}{attempt}", clean(&place.name), clean(&place.title));
    lines.extend(strong(&heading, width));
    lines.push(Shown::plain("-".repeat(width_of(&heading).min(width))));

    let mut part = |name: &str, texts: &[String], strong: bool| {
        for text in texts {
            let first = format!("{name}: ");
            let shown = wrapped(&clean(text), width, &first, INDENT);
            lines.extend(shown.into_iter().map(|text| Shown { text, strong }));
        }
    };
    part("Caution", &briefing.cautions, true);
    if briefing.powered {
        let text =
            "This step runs the machine. Guards on, bar, key and spanners out, stand clear.".to_owned();
        part("Caution", &[text], true);
    }
    part("By", &briefing.by, false);
    part("Keep", &briefing.keeps, false);
    part("Set-up", &briefing.setup, false);
    part("With", &briefing.instruments, false);
    part("Conditions", &briefing.conditions, false);
    part("Note", &briefing.notes, false);
    part("Basis", &briefing.basis, false);
    lines
}

/// Where a walk that is taken up again goes on.
pub fn here(question: &Question, width: usize) -> Vec<Shown> {
    match &question.place {
        Some(place) => {
            let text = format!("It goes on at {}", place_lines(place, width).join(" "));
            plain(&text, width, "", INDENT)
        }
        None => Vec::new(),
    }
}

/// Shown where a step that was shown before goes on.
pub fn back_at(place: &Place, width: usize) -> Vec<Shown> {
    let text = format!("Back at {}  {}", clean(&place.name), clean(&place.title));
    let mut lines = vec![Shown::blank()];
    lines.extend(strong(&text, width));
    lines
}

/// What is said after an answer. The words carry it; the mark before them is for the eye.
pub fn said(said: &[Said], width: usize) -> Vec<Shown> {
    let mut lines = Vec::new();
    for Said { tone, text } in said {
        let (mark, strong) = match tone {
            Tone::Echo => ("  = ", false),
            Tone::Well => ("  ", true),
            Tone::NotWell => ("! ", true),
            Tone::Advice => ("  To do: ", false),
            Tone::Notice => ("  ", false),
        };
        for (at, part) in text.lines().enumerate() {
            let first = if at == 0 { mark } else { "    " };
            lines.extend(
                wrapped(&clean(part), width, first, "    ").into_iter().map(|text| Shown { text, strong }),
            );
        }
    }
    lines
}

/// Why an answer was not taken.
pub fn refusal(refusal: &Refusal, width: usize) -> Vec<Shown> {
    let mut lines = plain(&format!("Not taken: {}", refusal.message), width, INDENT, "    ");
    if let Some(help) = &refusal.help {
        lines.extend(plain(help, width, INDENT, "    "));
    }
    lines
}

pub fn plain(text: &str, width: usize, first: &str, rest: &str) -> Vec<Shown> {
    let mut lines = Vec::new();
    for (at, part) in text.lines().enumerate() {
        let first = if at == 0 { first } else { rest };
        lines.extend(wrapped(&clean(part), width, first, rest).into_iter().map(Shown::plain));
    }
    lines
}

/// What the eye should find.
pub fn strong(text: &str, width: usize) -> Vec<Shown> {
    wrapped(&clean(text), width, "", INDENT).into_iter().map(Shown::strong).collect()
}

/// A command to be copied: where it is too long for a row, it goes on in the next as the shell understands it.
pub fn command(command: &str, width: usize) -> Vec<Shown> {
    let command = clean(command);
    if width_of(&command) + width_of(INDENT) <= width {
        return vec![Shown::plain(format!("{INDENT}{command}"))];
    }
    let mut rows = wrapped(&command, width.saturating_sub(2), INDENT, "    ");
    let last = rows.len().saturating_sub(1);
    rows.iter_mut().take(last).for_each(|row| row.push_str(" \\"));
    rows.into_iter().map(Shown::plain).collect()
}

/// A heading with its items below, or nothing where there are none.
pub fn list(heading: &str, items: &[String], width: usize) -> Vec<Shown> {
    if items.is_empty() {
        return Vec::new();
    }
    let indent = heading.get(..heading.len() - heading.trim_start().len()).unwrap_or_default();
    let mut lines = plain(heading.trim_start(), width, indent, "    ");
    for item in items {
        lines.extend(plain(item, width, "  - ", "    "));
    }
    lines
}

/// The lists of the exit: what a signature would be put to, and what stands in its way.
pub fn exit(status: &Status, width: usize) -> Vec<Shown> {
    let mut lines = vec![Shown::blank()];
    let verdict = format!("As it stands: {}", status.verdict.words());
    lines.extend(strong(&verdict, width));
    lines.extend(list("Still open:", &status.open, width));
    lines.extend(list("Stale, to be taken again:", &status.stale, width));
    lines.extend(list("Exceptions that are signed with it:", &status.exceptions, width));
    lines.extend(not_passed(status, width));
    lines
}

fn not_passed(status: &Status, width: usize) -> Vec<Shown> {
    let is_bad = |step: &&StepStatus| {
        matches!(
            step.stand.state,
            StateWord::Fails | StateWord::Undecided | StateWord::Stopped | StateWord::Blocked
        )
    };
    let bad = status.steps.iter().filter(is_bad);
    let bad: Vec<String> =
        bad.map(|StepStatus { name, title, stand }| format!("{name} {title}: {stand}")).collect();
    list("Not passed:", &bad, width)
}

/// The two lists when the walk is left for now. Of what nobody has begun the names are enough.
pub fn exit_for_now(status: &Status, width: usize) -> Vec<Shown> {
    let to_do = status.steps.iter().filter(|step| step.stand.state == StateWord::ToDo);
    let to_do: Vec<&str> = to_do.map(|step| step.name.as_str()).collect();
    let is_to_do = |open: &str| to_do.iter().any(|name| open.starts_with(&format!("{name} ")));
    let mut open: Vec<String> = status.open.iter().filter(|open| !is_to_do(open)).cloned().collect();
    if !to_do.is_empty() {
        open.push(format!("{} of {} steps to do: {}", to_do.len(), status.steps.len(), to_do.join(", ")));
    }
    let mut lines = list("Goes on by the clock:", &status.going_on, width);
    lines.extend(list("Still open:", &open, width));
    lines.extend(not_passed(status, width));
    lines.extend(list("Stale, to be taken again:", &status.stale, width));
    lines.extend(list("Defects:", &status.defects, width));
    if !lines.is_empty() {
        lines.insert(0, Shown::blank());
    }
    lines
}

/// What the word `help` prints.
pub fn help(expects: &Expects, width: usize) -> Vec<Shown> {
    let colon = if expects.is_text() { ":" } else { "" };
    let now = match expects {
        Expects::Number { unit } => format!(
            "Now a number in {unit}, as read: 0.006, -0.002 or 0,006. Another unit may stand behind it. Several numbers \
             with blanks between take the stations that follow."
        ),
        Expects::Count => "Now a whole number.".to_owned(),
        Expects::Words(words) => format!("Now one of: {}.", spoken(&words.join(", "))),
        Expects::YesNo => "Now yes or no.".to_owned(),
        Expects::Date => "Now a date: 2026-03-02.".to_owned(),
        Expects::Text => "Now any words; those below need a colon before them here.".to_owned(),
        Expects::Defects => {
            "Now what is found, one a line, then done; the words below need a colon before them here."
                .to_owned()
        }
        Expects::Name => "Now a person's name; the words below need a colon before them here.".to_owned(),
        Expects::List => {
            "Now names, with commas between; the words below need a colon before them here.".to_owned()
        }
        Expects::Photo => "Now the name of a file; the words below need a colon before them here.".to_owned(),
        Expects::TakeOrRetype => "Enter takes it as shown; anything else is typed anew.".to_owned(),
        Expects::AfterStep => "Enter goes on; or measure again, adjust, or correct first.".to_owned(),
        Expects::Time => "Now a time as the sheet says: 09:40, or with its day 2026-03-02 09:40.".to_owned(),
        Expects::Wait { .. } => "Enter when the time is over.".to_owned(),
        Expects::Nothing => "Nothing is asked: `sign` closes the walk; or go back to a step.".to_owned(),
    };
    let mut lines = plain(&now, width, INDENT, INDENT);
    lines.push(Shown::blank());
    for (word, meaning) in WORDS {
        let word = format!("{colon}{word}");
        let rest = " ".repeat(if width < BESIDE_EACH_OTHER { 6 } else { 26 });
        let first = if word.len() > 22 || width < BESIDE_EACH_OTHER {
            lines.extend(plain(&word, width, INDENT, "    "));
            rest.clone()
        } else {
            format!("{INDENT}{word:<24}")
        };
        lines.extend(wrapped(meaning, width, &first, &rest).into_iter().map(Shown::plain));
    }
    lines
}

/// The words at the prompt, as an example in a procedure file has them.
const WORDS: &[(&str, &str)] = &[
    (
        "pause",
        "leave; the walk goes on later exactly here, and asks then for the room and whether what was half read is untouched",
    ),
    ("show", "how the walk stands"),
    ("show L3", "all that was entered there, as correct takes it; show facts: what was asked first"),
    ("back", "the answer before was typed wrong"),
    ("correct L3.tilt[head] = 0.6 \"why\"", "a value typed wrong earlier; the old one stays, struck out"),
    ("take L9", "that step first; the others come after it"),
    ("remeasure L3.tilt", "machine untouched: measure again, all readings are kept"),
    ("adjust L3.shim = 0.05", "what was really moved; behind it: torque 25 Nm by \"NAME\""),
    ("altered L3 \"what\"", "the same in words; behind it: at, moved, toward, torque, by"),
    ("again L3", "the next try, after adjusting"),
    ("enter R1.temp at 30 min = 31.2", "a row of a series, read then and typed now"),
    ("using dial", "another one from here on; which is asked, or its number: using DI-09"),
    ("not read \"why\"", "a station that cannot be read"),
    (
        "break L5.dial \"why\"",
        "the set-up was disturbed: the series is joined or begins again; with zero intact behind it, it goes on",
    ),
    (
        "rejoin L5.dial at place 150 mm, 200 mm = -0.011, -0.010",
        "other stations read again, to join its parts",
    ),
    ("skip L3 \"why\"", "leave a step out; it stands as an exception"),
    ("waive L3 \"why\" by PARTY", "a party accepts it as it is"),
    ("held L3 by PARTY", "the witness has put their name"),
    ("defect \"what\"", "something found; mended 1 \"how\" when it is"),
    ("defect \"what\" photo drain.jpg", "the same with its picture"),
    ("note \"text\"", "a remark on the record"),
    (
        "stop \"why\"",
        "blocks every step that runs the machine; cleared by altered L3 \"what was done\", then again L3, the step it was called in",
    ),
    ("justify L3.shim \"why\"", "why an adjustment stays whose advice was withdrawn"),
    ("sign", "at the end: close the walk and sign; what is found later is added with bedway amend"),
    ("reopen \"why\"", "a walk that is closed and not signed yet: take it up again"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::program::StepId;

    fn place() -> Place {
        Place {
            step: StepId(0),
            name: "L16".into(),
            title: "Spindle axis parallel to carriage travel, horizontal plane".into(),
            number: 3,
            of: 24,
            attempt: 1,
            reading: Some((2, 4)),
        }
    }

    #[test]
    fn a_question_fits_sixty_columns_and_loses_no_sense() {
        let question = Question {
            place: Some(place()),
            ask: "Dial 300 mm from the nose, spindle turned to 180 deg".into(),
            hints: vec![
                "in mm".into(),
                "plus: toward the operator".into(),
                "minus: away from the operator".into(),
            ],
            expects: Expects::Number { unit: "mm".into() },
        };
        let shown: Vec<String> = super::question(&question, 60).into_iter().map(|line| line.text).collect();
        assert_eq!(
            shown,
            [
                "",
                "step 3 of 24  L16 Spindle axis..   reading 2 of 4   as found",
                "Dial 300 mm from the nose, spindle turned to 180 deg",
                "  in mm;  plus: toward the operator",
                "  minus: away from the operator",
            ]
        );
    }

    #[test]
    fn what_is_not_well_is_marked_in_print_too() {
        let reply = [Said { tone: Tone::NotWell, text: "L3 failed\nsecond line".into() }];
        let shown = said(&reply, 60);
        assert_eq!(shown[0].text, "! L3 failed");
        assert_eq!(shown[1].text, "    second line");
    }
}

//! Words that may be typed at any question: the words of the worked examples, and a few of the prompt's own.
//!
//! At a question that takes any text a command needs a leading colon, so that no answer is ever mistaken for one.

use crate::check::Commands;
use crate::check::program::{Act, Program, Stations, StepId};
use crate::diagnostic::Problem;
use crate::quantity::Unit;
use crate::source::Span;
use crate::syntax;

use super::alteration::{parted, put};
use super::own_quotes::has_own_quotes;
use super::question::{Expects, Refusal};
use super::{correct_photo, correct_said};

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Command {
    /// To the entry just made.
    Back,
    /// Of the step that stands, without further words.
    Again,
    Adjust,
    Remeasure,
    Skip,
    /// That step now, out of the order of the file.
    Take(String),
    /// A walk that is closed, with the reason.
    Reopen(String),
    /// Another instrument from here on, by its kind or its number.
    Using(String),
    /// A whole line in the words of the examples.
    Line(String),
}

/// Words that begin a command line. `observe`, `enter` and the like only make sense with more behind them.
const WORDS: &[&str] = &[
    "correct",
    "remeasure",
    "adjust",
    "altered",
    "again",
    "skip",
    "waive",
    "defect",
    "mended",
    "accepted",
    "note",
    "stop",
    "justify",
    "break",
    "rejoin",
    "held",
    "list",
    "using",
    "enter",
    "observe",
];

/// The words of the prompt, for help and for the choice of words in answers.
pub fn words() -> impl Iterator<Item = &'static str> {
    WORDS.iter().copied().chain(["back", "take", "reopen"])
}

/// How a command is written, by an example.
pub(super) fn how(word: &str) -> Option<&'static str> {
    Some(match word.to_lowercase().as_str() {
        "correct" => {
            "correct L3.tilt[head, first] = 0.6 \"why\", or of what was said: correct move 1 = 0.05 \"why\". show L3 and \
             show words say what there is, written so."
        }
        "remeasure" => "remeasure L3.tilt, or remeasure L3.tilt[head, first] = 0.6",
        "adjust" => "adjust L3.shim = 0.05",
        "altered" => "altered L3 \"what, how much, which way\"",
        "again" => "again L3",
        "skip" => "skip L3 \"why\"",
        "waive" => "waive L3 \"why\" by PARTY",
        "defect" => "defect \"what\", or defect \"what\" photo drain.jpg",
        "mended" => "mended 1 \"how\"",
        "note" => "note \"text\"",
        "stop" => "stop \"why\"",
        "justify" => "justify L3.shim \"why\"",
        "break" => "break L5.dial \"why\"",
        "accepted" => "accepted 1 \"why\" by PARTY",
        _ => return None,
    })
}

/// A command, if the line is one at a question of this kind.
pub(super) fn read(typed: &str, expects: &Expects) -> Option<Command> {
    let (colon, line) = match typed.strip_prefix(':') {
        Some(rest) => (true, rest.trim()),
        None => (false, typed),
    };
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let first = first.to_lowercase();
    if !colon && (expects.is_text() || is_choice(&first, rest, expects)) {
        return None;
    }
    // `keep` answers a query; elsewhere it is no command.
    let keep = first == "keep" && *expects == Expects::TakeOrRetype;
    if !keep && !words().any(|word| word == first) {
        return colon.then(|| Command::Line(line.to_owned()));
    }
    Some(match (first.as_str(), rest.trim()) {
        ("back", _) | ("correct", "") => Command::Back,
        ("again", "") => Command::Again,
        ("adjust" | "altered", "") => Command::Adjust,
        ("remeasure", "") => Command::Remeasure,
        ("skip", "") => Command::Skip,
        ("take", name) => Command::Take(name.to_owned()),
        ("reopen", reason) => Command::Reopen(reason.to_owned()),
        ("using", which) if !states_a_property(which) && !names_its_number(which) => {
            Command::Using(which.to_owned())
        }
        _ => Command::Line(line.to_owned()),
    })
}

/// `using dial resolution 0.0005 mm` says of an instrument what it is like; `using dial`, `using DI-09` which one it is.
fn states_a_property(text: &str) -> bool {
    let word = text.split_whitespace().nth(1).unwrap_or_default();
    ["resolution", "uncertainty", "zero", "fresh", "scale", "range"].contains(&word)
}

/// `using dial "DI-07"`: of which kind, and which one.
fn names_its_number(text: &str) -> bool {
    text.split_once(char::is_whitespace).is_some_and(|(_, rest)| rest.trim_start().starts_with('"'))
}

fn is_choice(first: &str, rest: &str, expects: &Expects) -> bool {
    matches!(expects, Expects::Words(words) if rest.is_empty() && words.iter().any(|word| word.to_lowercase() == first))
}

/// A command as it is called across the shop, put as the grammar has it: quotes round its words, and the reading that
/// stands where `break` names none. A line that has quotes stays as it was typed, unless they are part of its words.
pub(super) fn completed(program: &Program, line: &str, reading: Option<&str>) -> String {
    let line = addressed(program, line);
    let line = line.as_str();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let (lower, rest) = (word.to_lowercase(), rest.trim());
    let (head, words) = match lower.as_str() {
        "defect" if let Some((text, photo)) = with_photo(rest) => {
            let text = if text.starts_with('"') { text.to_owned() } else { quoted(text) };
            return format!("defect {text} photo {}", quoted(&photo));
        }
        "note" | "defect" | "keep" => ("", rest),
        "altered" => {
            let (head, words) = named_head(program, rest);
            let (done, beside) = parted(words, words.contains('"'));
            let done = if done.contains('"') || done.is_empty() { done.to_owned() } else { quoted(done) };
            let head = if head.is_empty() { String::new() } else { format!("{head} ") };
            return format!("altered {head}{done}{}", put(&beside));
        }
        "skip" | "waive" | "break" | "justify" | "stop" => named_head(program, rest),
        "mended" | "accepted" => {
            let rest = rest.strip_prefix("defect ").unwrap_or(rest).trim_start();
            rest.split_once(char::is_whitespace).unwrap_or((rest, ""))
        }
        "adjust" => {
            let (target, rest) = target_head(rest);
            let (amount, beside) = parted(rest.trim_start_matches(['=', ' ', '\t']), true);
            return match amount.is_empty() {
                true => line.to_owned(),
                false => format!("adjust {target} = {}{}", amounts(amount), put(&beside)),
            };
        }
        "correct" if let Some(put) = correct_said::completed(rest) => return put,
        "correct" if let Some(put) = correct_photo::completed(program, rest) => return put,
        "correct" if !rest.contains('"') => {
            let (target, rest) = target_head(rest);
            let amount = &signed(correct_said::without_equals(rest));
            if amount.is_empty() {
                return line.to_owned();
            }
            if let Some(why) = super::entry::strip_words(amount, "not read") {
                let why = why.strip_prefix("because ").unwrap_or(why);
                return format!("correct {target} = not read {}", quoted(why));
            }
            let (value, reason) = value_head(amount);
            let value = value.trim_end_matches(',');
            let reason = reason.strip_prefix("because ").unwrap_or(reason);
            let reason = if reason.is_empty() { "typed wrong" } else { reason };
            return format!("correct {target} = {value} {}", quoted(reason));
        }
        "list" if !rest.contains('"') => {
            let (target, items) = target_head(rest);
            let items = items.trim_start_matches(['=', ' ', '\t']).split([',', ';']);
            let items: Vec<String> = items.map(|item| quoted(item.trim())).collect();
            return format!("list {target} = {}", items.join(", "));
        }
        "remeasure" if !rest.contains(['=', '"']) => {
            let named = Some(target_head(rest)).filter(|(target, _)| target.contains('.'));
            return match named.or(reading.map(|it| (it, rest))) {
                Some((it, why)) if !why.is_empty() => format!("remeasure {it} {}", quoted(why.trim())),
                _ => line.to_owned(),
            };
        }
        "correct" | "remeasure" | "enter" | "rejoin" => {
            let (target, values) = target_head(rest);
            let values = signed(values);
            let values = if lower == "correct" { values.replacen(", \"", " \"", 1) } else { values };
            return format!("{lower} {target}{values}");
        }
        _ => return line.to_owned(),
    };
    let words = words.trim();
    let stays = words.is_empty() || (words.contains('"') && !has_own_quotes(&lower, head, words));
    let head = match (lower.as_str(), head, reading) {
        ("break", "", Some(reading)) if !rest.is_empty() => reading,
        _ => head,
    };
    if stays {
        return [lower.as_str(), head, words]
            .into_iter()
            .filter(|it| !it.is_empty())
            .collect::<Vec<_>>()
            .join(" ");
    }
    let (words, tail) = match (lower.as_str(), words.rsplit_once(" by ")) {
        ("waive" | "accepted", Some((words, party))) => (words, format!(" by {party}")),
        _ if lower == "break" => match words.strip_suffix("zero intact") {
            Some(words) => (words.trim(), " zero intact".to_owned()),
            None => (words, String::new()),
        },
        _ => (words, String::new()),
    };
    let head = if head.is_empty() { String::new() } else { format!("{head} ") };
    format!("{lower} {head}{}{tail}", quoted(words))
}

/// Amounts, and perhaps a remark behind a single one.
fn amounts(typed: &str) -> String {
    let put = signed(typed);
    let (amount, remark) = value_head(&put);
    let is_remark = remark.starts_with(char::is_alphabetic) && !amount.ends_with(',');
    match is_remark && !put.contains('"') {
        true => format!("{amount} {}", quoted(remark)),
        false => put,
    }
}

/// Stations in brackets as they are shown and said, `[near side, high]`, put as they are written.
fn addressed(program: &Program, line: &str) -> String {
    let before_words = line.find('"').unwrap_or(line.len());
    let Some((open, close)) =
        line.find('[').zip(line.find(']')).filter(|(open, close)| open < close && *close < before_words)
    else {
        return line.to_owned();
    };
    let is_station = |name: &str| {
        program
            .axes
            .iter()
            .any(|axis| matches!(&axis.stations, Stations::Words(words) if words.iter().any(|it| it == name)))
    };
    let stations = line[open + 1..close].split(',').map(|said| {
        let said = said.trim();
        let (axis, rest) = said.split_once(' ').unwrap_or((said, ""));
        match (said.replace(' ', "_"), rest.replace(' ', "_")) {
            (all, _) if is_station(&all) => all,
            (_, rest) if rest.contains('_') && is_station(&rest) => format!("{axis} {rest}"),
            _ => said.to_owned(),
        }
    });
    format!("{}{}{}", &line[..=open], stations.collect::<Vec<_>>().join(", "), &line[close..])
}

/// Numbers as the grammar has them: no plus, a minus closed up. Signs called in words are taken, words in quotes are
/// left alone.
fn signed(line: &str) -> String {
    let (values, words) = line.split_at(line.find('"').unwrap_or(line.len()));
    let mut put = String::new();
    let mut rest = values;
    while let Some(at) = rest.find(|c: char| !c.is_whitespace()) {
        let (gap, token) = rest.split_at(at);
        let (token, after) = token.split_at(token.find(char::is_whitespace).unwrap_or(token.len()));
        let before_number =
            |text: &str| text.trim_start().starts_with(|c: char| c.is_ascii_digit() || c == '.');
        put.push_str(gap);
        rest = after;
        match (token.to_lowercase().as_str(), token.strip_prefix('+')) {
            ("plus" | "+", _) if before_number(after) => rest = after.trim_start(),
            ("minus" | "-", _) if before_number(after) => {
                put.push('-');
                rest = after.trim_start();
            }
            (_, Some(number)) if before_number(number) => put.push_str(number),
            _ => put.push_str(token),
        }
    }
    format!("{put}{rest}{words}")
}

/// A text in quotes.
pub fn quoted(text: &str) -> String {
    let mut inner = String::with_capacity(text.len() + 2);
    for letter in text.trim().chars() {
        match letter {
            '"' | '\\' => inner.extend(['\\', letter]),
            '{' | '}' => inner.extend([letter, letter]),
            // A text stands on one line.
            letter if letter.is_control() => inner.push(' '),
            letter => inner.push(letter),
        }
    }
    format!("\"{inner}\"")
}

/// What stands behind the word `defect`.
pub(super) fn defect_said(line: &str) -> Option<&str> {
    let (first, rest) = line.split_once(char::is_whitespace)?;
    first.eq_ignore_ascii_case("defect").then_some(rest.trim())
}

/// What was found, and the file of its picture. Without quotes only what looks like the name of a file is one: a crack
/// may be "seen in the photo of last year".
pub(super) fn with_photo(words: &str) -> Option<(&str, String)> {
    let (text, file) = words.rsplit_once(" photo ")?;
    let (text, file) = (text.trim().trim_end_matches([',', ';']), file.trim());
    let in_quotes = |text: &str| text.len() > 1 && text.starts_with('"') && text.ends_with('"');
    let ends = file.rsplit_once('.');
    let is_name = ends.is_some_and(|(stem, ending)| !stem.is_empty() && !ending.is_empty())
        && !file.contains([' ', '\t', '"']);
    let is_photo = match in_quotes(text) {
        true => !file.is_empty() && (in_quotes(file) || !file.contains('"')),
        false => !text.is_empty() && !text.contains('"') && (in_quotes(file) || is_name),
    };
    is_photo.then(|| (text, super::entry::unquoted(file)))
}

/// `skip STEP` without its reason, which is asked for then.
pub(super) fn skipped_unsaid(program: &Program, line: &str) -> Option<StepId> {
    let name = line.strip_prefix("skip ")?.trim();
    program.steps.iter().position(|step| step.name == name).map(StepId)
}

/// `STEP.NAME[stations]` at the beginning, and the rest.
fn target_head(line: &str) -> (&str, &str) {
    // `at 30 min`, `of try 1`, `read again` belong to the target.
    let more =
        |rest: &str| ["at ", "of ", "read again"].iter().any(|word| rest.trim_start().starts_with(word));
    let (head, rest) = plain_target(line);
    match rest.find('=').filter(|_| more(rest)) {
        Some(at) => line.split_at(head.len() + at),
        None => (head, rest),
    }
}

fn plain_target(line: &str) -> (&str, &str) {
    let bracket = line.find('[').filter(|at| !line.get(..*at).unwrap_or("").contains(['=', ' ']));
    let end = match bracket {
        Some(_) => line.find(']').map_or(line.len(), |at| at + 1),
        None => line.find([' ', '\t', '=']).unwrap_or(line.len()),
    };
    line.split_at(end)
}

/// A value with its unit at the beginning, and the words behind it.
fn value_head(text: &str) -> (&str, &str) {
    let word = |from: usize| {
        let rest = text.get(from..).unwrap_or("");
        let start = from + (rest.len() - rest.trim_start().len());
        let length = text.get(start..).unwrap_or("").find(char::is_whitespace);
        (start, length.map_or(text.len(), |length| start + length))
    };
    let (_, mut end) = word(0);
    let (start, next) = word(end);
    if text.get(start..next).is_some_and(|unit| Unit::parse(unit).is_some()) {
        end = next;
    }
    let (value, reason) = text.split_at(end);
    (value, reason.trim())
}

/// The step, or the value of a step, that the line begins with, and the rest of it.
fn named_head<'l>(program: &Program, line: &'l str) -> (&'l str, &'l str) {
    let end = line.find([' ', '\t', '"']).unwrap_or(line.len());
    let (head, rest) = line.split_at(end);
    let step = head.split_once('.').map_or(head, |(step, _)| step);
    match program.steps.iter().any(|it| it.name == step) {
        true => (head, rest),
        false => ("", line),
    }
}

/// A command line with its names looked up. `current` is the step that is meant where none is named.
pub(super) fn resolve(program: &Program, line: &str, current: Option<StepId>) -> Result<Act, Vec<Problem>> {
    let parsed = syntax::parse_command_line(line)?;
    Commands::new(program).resolve(program, current, &parsed, Span::new(0, line.len()))
}

/// What is wrong with a command, in one sentence.
pub(super) fn refusal_of(problems: &[Problem], typed: &str) -> Refusal {
    let word = typed.split_whitespace().next().unwrap_or_default();
    match (problems.first(), how(word)) {
        // Of a line that cannot be read at all an example says more than what was expected where.
        (Some(problem), Some(how)) if problem.message.contains("expected `") => {
            Refusal::new(format!("\"{typed}\" cannot be read.")).help(format!("It is written so: {how}"))
        }
        (problem, _) => problem_said(problem, typed),
    }
}

fn problem_said(problem: Option<&Problem>, typed: &str) -> Refusal {
    match problem {
        Some(problem) => Refusal { message: problem.message.clone(), help: problem.help.clone() },
        None => Refusal::new(format!("\"{typed}\" is not understood.")).help("Type help for the words."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn program() -> Program {
        let text = "language 1\nprocedure \"p\"\ndecide simple\nparty owner \"o\"\nsection s \"s\"\n\
            step L3 \"Twist\"\n  read tilt in mm\n  unsigned\n  report tilt\n";
        let parsed = syntax::parse_text("p.bedway", text);
        crate::check::check(&parsed).program.expect("a whole program")
    }

    #[test]
    fn words_need_no_quotes_at_the_bench() {
        let program = program();
        let put = |line: &str| completed(&program, line, Some("L3.tilt"));
        assert_eq!(put("note lamp moved"), r#"note "lamp moved""#);
        assert_eq!(put(r#"note the "rear" foot"#), r#"note "the \"rear\" foot""#);
        assert_eq!(put("list L3.foot front, tail rear"), r#"list L3.foot = "front", "tail rear""#);
        assert_eq!(put("Skip L3 no bar here"), r#"skip L3 "no bar here""#);
        assert_eq!(put("skip no bar"), r#"skip "no bar""#);
        assert_eq!(put("waive L3 agreed by letter by owner"), r#"waive L3 "agreed by letter" by owner"#);
        assert_eq!(put("mended 1 welded"), r#"mended 1 "welded""#);
        assert_eq!(
            put("defect chip tray cracked photo pictures/drain.jpg"),
            r#"defect "chip tray cracked" photo "pictures/drain.jpg""#
        );
        assert_eq!(
            put(r#"defect "tray cracked" photo drain 1.jpg"#),
            r#"defect "tray cracked" photo "drain 1.jpg""#
        );
        assert_eq!(
            put("defect worn as seen in the photo of last year"),
            r#"defect "worn as seen in the photo of last year""#
        );
        assert_eq!(put(r#"break "bench knocked""#), r#"break L3.tilt "bench knocked""#);
        assert_eq!(put("remeasure L3.tilt bubble not at rest"), r#"remeasure L3.tilt "bubble not at rest""#);
        assert_eq!(put("remeasure bubble not at rest"), r#"remeasure L3.tilt "bubble not at rest""#);
        assert_eq!(put("break bench knocked zero intact"), r#"break L3.tilt "bench knocked" zero intact"#);
    }

    #[test]
    fn amounts_need_no_equals_sign_and_a_slip_no_reason_of_its_own() {
        let program = program();
        let put = |line: &str| completed(&program, line, None);
        assert_eq!(put("adjust L3.shim -0,02 mm"), "adjust L3.shim = -0,02 mm");
        assert_eq!(put("adjust shim = 0.02"), "adjust shim = 0.02");
        assert_eq!(put("adjust shim 0.02 mm half a turn"), r#"adjust shim = 0.02 mm "half a turn""#);
        let beside = "torque 25 N m, by Bo Example";
        assert_eq!(
            put(&format!("adjust shim 0,02 mm, {beside}")),
            r#"adjust shim = 0,02 mm torque 25 Nm by "Bo Example""#
        );
        assert_eq!(
            put(&format!("altered L3 bolts up, {beside}")),
            r#"altered L3 "bolts up" torque 25 Nm by "Bo Example""#
        );
        assert_eq!(put("altered \"bolts up\" torque 25 Nm"), r#"altered "bolts up" torque 25 Nm"#);
        assert_eq!(put("adjust L3.shim minus 0,02 mm"), "adjust L3.shim = -0,02 mm");
        assert_eq!(
            put("correct L3.tilt[tail] minus 4.5 heard wrong"),
            r#"correct L3.tilt[tail] = -4.5 "heard wrong""#
        );
        assert_eq!(
            put("correct L3.tilt[tail] = +5,5 sign lost"),
            r#"correct L3.tilt[tail] = 5,5 "sign lost""#
        );
        assert_eq!(
            put(r#"correct L3.tilt[tail] = plus 4.5 "it is + 4.5""#),
            r#"correct L3.tilt[tail] = 4.5 "it is + 4.5""#
        );
        assert_eq!(put("remeasure L3.tilt = +1 - 2, minus 3"), "remeasure L3.tilt = 1 -2, -3");
        assert_eq!(
            put("correct L3.tilt[tail, first] 4.5 div sign lost"),
            r#"correct L3.tilt[tail, first] = 4.5 div "sign lost""#
        );
        assert_eq!(put("correct L3.tilt = 0,6"), r#"correct L3.tilt = 0,6 "typed wrong""#);
    }

    #[test]
    fn what_has_quotes_or_is_no_text_stays() {
        let program = program();
        for line in
            [r#"skip L3 "no bar""#, r#"waive "by letter" by owner"#, "adjust L3.shim = 0.02", "again L3"]
        {
            assert_eq!(completed(&program, line, None), line);
        }
    }
}

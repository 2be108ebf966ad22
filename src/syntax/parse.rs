//! A whole text to its tree: scans a line, chooses its block and rule, reads it, puts it in its place.
//!
//! A line that cannot be read costs one problem. A step, method or example whose first line is broken is still opened
//! under the name it gives, so that the lines beneath it are read as usual; other broken blocks are left out whole.

use super::ast::*;
use super::block::{Block, LineKind};
use super::cursor::Cursor;
use super::grammar::{Rule, read};
use super::node::{Node, attach, lower_line};
use super::scan::{Doubt, Joined, Scanner, Start};
use super::shape;
use super::words;
use crate::diagnostic::{Code, Problem, nearest};

/// How many problems of one file are kept.
pub const PROBLEM_LIMIT: usize = 1000;

/// A block that is open, and whether its first line could be read.
#[derive(Clone, Copy)]
struct Open {
    block: Block,
    sound: bool,
}

pub(super) struct Parser<'a> {
    text: &'a str,
    file: File,
    open: Vec<Open>,
    problems: Vec<Problem>,
    /// Where the lines just above should have stood, if they stood nowhere: told once for all of them.
    astray: Vec<Block>,
}

/// The tree of a text and the problems of its lines, in the order of the file.
pub(super) fn parse_file(text: &str) -> (File, Vec<Problem>) {
    parse_from(text, 0)
}

/// The same of what stands from a line on; its places are those in the whole text.
pub(super) fn parse_from(text: &str, from: usize) -> (File, Vec<Problem>) {
    let open = vec![Open { block: Block::File, sound: true }];
    let mut parser = Parser { text, file: File::default(), open, problems: Vec::new(), astray: Vec::new() };
    let mut scanner = Scanner::new(text);
    scanner.begin_at(from);
    loop {
        match scanner.start() {
            Ok(start) => parser.line(&mut scanner, start),
            Err(tail) => {
                parser.file.tail = tail;
                return (parser.file, parser.problems);
            }
        }
    }
}

impl<'a> Parser<'a> {
    fn line(&mut self, scanner: &mut Scanner<'_>, start: Start) {
        let word = self.slice(start.word);
        let chosen = self.choose(word);
        let meant = if chosen.is_none() { self.opener_meant(word) } else { None };
        let placed = chosen.or(meant);
        if let Some((at, line)) = placed {
            self.open.truncate(at + 1);
            // Before it is read, so that what it opens takes part in saying where it ends.
            self.open.extend(line.opens.map(|block| Open { block, sound: true }));
        }
        let open = self.open.clone();
        let taken = |word: &str| open.iter().any(|open| open.block.takes(word).is_some());
        let mut joined = scanner.join(start, &taken, false);
        let depth = placed.map_or(self.open.len().saturating_sub(1), |(at, _)| at);
        let result = match chosen {
            None => self.unknown_word(start.word, joined.body),
            Some((at, line)) => {
                self.astray.clear();
                let block = open.get(at).map_or(Block::File, |open| open.block);
                let mut result = self.read(block, line, start.word, &mut joined).map_err(Some);
                if let (Err(Some(problem)), Some(doubt)) = (&result, joined.doubtful)
                    && problem.span().end >= doubt.next.start
                {
                    // It goes on over a line that would do by itself: more likely a slip at its end.
                    result = Err(Some(runs_on(self.text, doubt)));
                    scanner.back(start);
                    joined = scanner.join(start, &taken, true);
                }
                result
            }
        };
        let layout = self.file.layout.len();
        let sound = result.is_ok();
        self.file.layout.push(Layout {
            leading: start.leading,
            body: joined.body,
            trailing: joined.trailing,
            depth,
            sound,
        });
        let beneath_sound = placed.is_none_or(|(at, _)| open.iter().take(at + 1).all(|open| open.sound));
        let node = match result {
            Ok(node) => Some(node),
            Err(problem) => {
                problem.into_iter().for_each(|problem| self.problem(problem));
                self.file.broken.push(joined.body);
                let opened = placed.and_then(|(_, line)| line.opens);
                let named = opened.and_then(|block| stand_in(block, self.slice(joined.body), joined.body));
                if let (Some(_), None, Some(last)) = (opened, &named, self.open.last_mut()) {
                    last.sound = false;
                }
                named.map(Node::Item)
            }
        };
        if let Some(node) = node.filter(|_| beneath_sound)
            && let Err(span) = attach(&mut self.file.items, joined.body, layout, node)
        {
            self.problem(super::grammar::unreadable(span));
        }
    }

    /// The innermost open block that takes the word, by its place among the open ones.
    fn choose(&self, word: &str) -> Option<(usize, LineKind)> {
        let open = self.open.iter().enumerate().rev();
        open.filter_map(|(at, open)| open.block.takes(word).map(|line| (at, line))).next()
    }

    fn read(&self, block: Block, line: LineKind, word: Span, joined: &mut Joined) -> Result<Node, Problem> {
        if let Some(fault) = joined.fault.take() {
            return Err(fault);
        }
        let base = if line.rule == Rule::row_line { word.start } else { word.end };
        let rest = self.text.get(base..joined.body.end).unwrap_or("");
        let tokens = read(line.rule, rest, base).map_err(|problem| shape::shown(problem, line))?;
        lower_line(block, line.word, Cursor::over_line(tokens))
    }

    /// The block that a misspelt first word was meant to open, so that the lines beneath it are read as its own.
    fn opener_meant(&self, word: &str) -> Option<(usize, LineKind)> {
        if self.is_full() || Block::ALL.iter().any(|block| block.takes(word).is_some()) {
            return None;
        }
        let openers = self.open.iter().enumerate().rev().flat_map(|(at, open)| {
            let lines = open.block.lines().iter().filter(|line| line.opens.is_some());
            lines.map(move |line| (at, *line))
        });
        let near = nearest(&word.to_ascii_lowercase(), openers.clone().map(|(_, line)| line.word))?;
        openers.into_iter().find(|(_, line)| line.word == near)
    }

    /// What is said of a line that no open block takes: nothing, if the line above is astray for the same reason.
    fn unknown_word(&mut self, word: Span, body: Span) -> Result<Node, Option<Problem>> {
        let found = self.slice(word);
        let elsewhere: Vec<Block> =
            Block::ALL.into_iter().filter(|block| block.takes(found).is_some()).collect();
        if self.is_full() || elsewhere.iter().any(|block| self.astray.contains(block)) {
            return Err(self.is_full().then(|| too_many(word)));
        }
        let problem = self.told_astray(word, body, &elsewhere);
        self.astray = elsewhere;
        Err(Some(problem))
    }

    fn told_astray(&self, word: Span, body: Span, elsewhere: &[Block]) -> Problem {
        if word.is_empty() {
            return self.no_word(word.start, body);
        }
        let found = self.slice(word);
        if !elsewhere.is_empty() {
            let places: Vec<&str> = elsewhere.iter().map(|block| block.said()).collect();
            let place = places.join(" or ");
            return Problem::fault(
                Code::WrongBlock,
                word,
                format!("`{found}` stands {place}, and none is open here"),
            )
            .label("out of place")
            .help("move the line, or write the line that opens its block above it");
        }
        let known = || self.open.iter().rev().flat_map(|open| open.block.lines()).map(|line| line.word);
        let all = || Block::ALL.into_iter().flat_map(Block::lines).map(|line| line.word);
        let small = found.to_ascii_lowercase();
        let near = nearest(&small, known()).or_else(|| nearest(&small, all()));
        let problem = Problem::fault(Code::UnknownWord, word, format!("no line begins with `{found}`"))
            .label("not a word that begins a line");
        match near {
            Some(near) => problem.help(format!("perhaps `{near}`")),
            None => problem
                .help("a line begins with a word that says what it is; the language reference lists them"),
        }
    }

    /// A line that begins with something else than a word.
    fn no_word(&self, at: usize, body: Span) -> Problem {
        let found = words::token(self.text.get(at..body.end).unwrap_or(""));
        let span = Span::new(at, at + found.len().max(1));
        if found.starts_with('"') {
            return Problem::fault(Code::StrayText, span, "this text belongs to no line")
                .label("nothing above it goes on")
                .help("a text goes on in the line right below, without a blank line between; else write `note` before it");
        }
        if let Some(problem) = found.chars().next().and_then(|c| super::characters::look_alike(c, span)) {
            return problem;
        }
        Problem::fault(Code::UnknownWord, span, format!("a line begins with a word, not with `{found}`"))
            .label("expected a word")
            .help("a line goes on in the next one only after `, ; = + - * / ^ and or not then else` or in a bracket")
    }

    fn problem(&mut self, problem: Problem) {
        match self.problems.len() {
            count if count < PROBLEM_LIMIT => self.problems.push(problem),
            PROBLEM_LIMIT => self.problems.push(too_many(problem.span())),
            _ => {}
        }
    }

    /// As many problems are kept as are kept: what is found now is only counted.
    fn is_full(&self) -> bool {
        self.problems.len() >= PROBLEM_LIMIT
    }

    fn slice(&self, span: Span) -> &'a str {
        self.text.get(span.start..span.end).unwrap_or("")
    }
}

fn too_many(span: Span) -> Problem {
    Problem::fault(Code::TooMany, span, format!("more than {PROBLEM_LIMIT} lines cannot be read"))
        .label("from here on they are not listed")
        .help("mend the ones above first; is this a procedure file at all?")
}

fn runs_on(text: &str, doubt: Doubt) -> Problem {
    let slice = |span: Span| text.get(span.start..span.end).unwrap_or("");
    let (ends_in, next) = (slice(doubt.ends_in), slice(doubt.next));
    let message =
        format!("the line ends in `{ends_in}` and so goes on, but the next line begins with `{next}`");
    Problem::fault(Code::RunsOn, doubt.ends_in, message)
        .label("the line goes on after this")
        .and(doubt.next, "is this a line of its own?")
        .help(format!("take the `{ends_in}` away, or write what follows it"))
}

/// A step, method or example with a broken first line, under the name that it gives.
fn stand_in(block: Block, body: &str, span: Span) -> Option<Item> {
    let rest = body.split_once([' ', '\t']).map_or("", |(_, rest)| rest.trim_start());
    let text = words::token(rest);
    let is_name = text.starts_with(|c: char| c.is_ascii_alphabetic()) && !words::RESERVED.contains(&text);
    let start = span.start + (body.len() - rest.len());
    let name = Name {
        text: if is_name { text.to_string() } else { String::new() },
        span: Span::new(start, start + text.len()),
    };
    let title = Prose { span, parts: Vec::new() };
    let lines = Vec::new();
    match block {
        Block::Step => Some(Item::Step(Step { name, title, follows: None, repeats: None, lines })),
        Block::Method => Some(Item::Method(Method { name, parameters: Vec::new(), title: None, lines })),
        Block::Example => Some(Item::Example(Example { title, lines: Vec::new() })),
        _ => None,
    }
}

//! A terminal: a line that can be edited, with those typed before to go back to, and a gauge heard beside it.
//!
//! While a line is being typed nothing else takes its place: what the gauge sends then waits for the line to be sent
//! or emptied, and is named above it. So a half typed answer never ends up under another question.

use std::collections::VecDeque;
use std::io::{self, Write};
use std::sync::mpsc::{self, Receiver};
use std::time::{Duration, Instant};

use crossterm::event::{self, Event};
use crossterm::terminal::size;

use super::drawing::Drawing;
use super::editor::{Editor, Pressed};
use super::keys::Keys;
use super::waiting::Waker;
use super::{Cable, Console, PROMPT, Shown, Typed};
use crate::cli::failure::Failure;
use crate::cli::gauge::{self, Heard};
use crate::report::{cut, width_of, wrapped};

/// Wider lines are hard to read from an arm's length.
const WIDEST: usize = 80;

/// A window that is being drawn wider or narrower is left alone for so long.
const SETTLED: Duration = Duration::from_millis(200);

/// Keys that are there are seen within it. No time at all would not even look.
const AT_HAND: Duration = Duration::from_millis(10);

const BOLD: &str = "\x1b[1m";
const PLAIN: &str = "\x1b[0m";

pub struct TerminalConsole {
    keys: Keys,
    editor: Editor,
    drawing: Drawing,
    bold: bool,
    rings: bool,
    waker: Waker,
    heard: Option<Receiver<Heard>>,
    /// Lines of the gauge that wait, and whether a line of the keyboard has been sent since they came.
    held: VecDeque<(String, bool)>,
    /// When the last line of the keyboard was sent.
    sent: Option<Instant>,
    /// The width that was laid out for last.
    laid_out: usize,
}

/// How the terminal is to be used.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Bold for what the eye should find.
    pub bold: bool,
    /// It moves its cursor when told.
    pub moves: bool,
    /// It shows nothing but ASCII.
    pub ascii: bool,
    /// It rings when something is due.
    pub rings: bool,
}

impl std::fmt::Debug for TerminalConsole {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TerminalConsole").field("drawing", &self.drawing).finish_non_exhaustive()
    }
}

impl TerminalConsole {
    pub fn new(look: Look, cable: Option<&Cable>) -> Result<Self, Failure> {
        let (waker, wake) = Waker::new()?;
        let mut console = Self {
            keys: Keys::begin(look.moves)?,
            editor: Editor::default(),
            drawing: Drawing::new(look.moves, look.ascii),
            bold: look.bold,
            rings: look.rings,
            waker,
            heard: None,
            held: VecDeque::new(),
            sent: None,
            laid_out: 0,
        };
        if let Some(cable) = cable {
            let (tell, heard) = mpsc::channel();
            gauge::listen(&cable.path, cable.serial, move |it| tell.send(it).is_ok() && wake.wake())?;
            console.heard = Some(heard);
        }
        Ok(console)
    }

    /// Columns to lay text out for.
    pub fn reading_width() -> usize {
        Self::columns().min(WIDEST)
    }

    fn columns() -> usize {
        let columns = size().map_or(0, |(columns, _)| usize::from(columns));
        // A terminal that does not know its size says 0.
        if columns < 20 { WIDEST } else { columns }
    }

    /// What the gauge has sent, if nothing stands in its way; what does stand is told about it.
    fn listen(&mut self, prompt: &str) -> io::Result<Option<Typed>> {
        let out = &mut io::stdout();
        while let Some(heard) = self.heard.as_ref().and_then(|heard| heard.try_recv().ok()) {
            let free = self.editor.is_empty() && self.held.is_empty();
            let above = match heard {
                Heard::Line { line, at } => {
                    let late = self.sent.is_some_and(|sent| at < sent);
                    if free {
                        return Ok(Some(Typed::Gauge { line, late }));
                    }
                    let text =
                        format!("  From the gauge: {}. It waits for the line you are typing.", line.trim());
                    self.held.push_back((line, late));
                    text
                }
                Heard::News(news) if free => return Ok(Some(Typed::GaugeNews(news))),
                Heard::News(news) => format!("{}{}", news.mark(), news.text),
            };
            self.above(&above, prompt, out)?;
        }
        Ok(None)
    }

    /// Says something above the line that is being typed, and draws that anew below.
    fn above(&mut self, text: &str, prompt: &str, out: &mut dyn Write) -> io::Result<()> {
        for line in wrapped(text, Self::reading_width() - 1, "", "    ") {
            self.drawing.above(&line, out)?;
        }
        self.draw(prompt, out)
    }

    fn draw(&mut self, prompt: &str, out: &mut dyn Write) -> io::Result<()> {
        self.drawing.line(prompt, self.editor.halves(), Self::columns(), out)?;
        out.flush()
    }

    /// What a gauge sent as it is shown behind the prompt, in one row whatever it was.
    fn gauge_row(&self, line: &str) -> String {
        const MARK: &str = "   (gauge)";
        let room = Self::reading_width().saturating_sub(PROMPT.len() + MARK.len());
        format!("{}{MARK}", cut(&self.drawing.shown(line.trim()), room))
    }

    fn ring(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.rings {
            write!(out, "\x07")?;
        }
        out.flush()
    }

    /// Reads until the line is sent or something else comes. The row of the prompt is left behind it.
    fn edit(&mut self, prompt: &str, until: Option<Instant>, is_secret: bool) -> io::Result<Typed> {
        let out = &mut io::stdout();
        let mut until = until;
        let mut resized: Option<Instant> = None;
        loop {
            if !is_secret && let Some(typed) = self.listen(prompt)? {
                return Ok(typed);
            }
            let now = Instant::now();
            if until.is_some_and(|until| until <= now) {
                self.ring(out)?;
                if self.editor.is_empty() {
                    return Ok(Typed::Due);
                }
                until = None;
                self.above("  The time has come: the next reading is due.", prompt, out)?;
            }
            if resized.is_some_and(|at| now.duration_since(at) >= SETTLED) {
                resized = None;
                if !is_secret && Self::reading_width() != self.laid_out {
                    return Ok(Typed::Resized);
                }
                self.draw(prompt, out)?;
            }
            let next = [until, resized.map(|at| at + SETTLED)].into_iter().flatten().min();
            if !self.waker.wait(next.map(|at| at.saturating_duration_since(now)))? {
                return Ok(Typed::End);
            }
            while event::poll(AT_HAND)? {
                let pressed = match event::read()? {
                    Event::Key(key) => self.editor.press(key),
                    Event::Paste(text) => {
                        self.editor.paste(&text);
                        Pressed::Nothing
                    }
                    Event::Resize(..) => {
                        resized = Some(Instant::now());
                        continue;
                    }
                    _ => continue,
                };
                match pressed {
                    Pressed::Enter => {
                        let line = if is_secret { self.editor.take() } else { self.editor.send() };
                        self.held.iter_mut().for_each(|(_, late)| *late = true);
                        self.sent = Some(Instant::now());
                        return Ok(Typed::Line(line));
                    }
                    Pressed::Interrupt => return Ok(Typed::Interrupted),
                    Pressed::End => return Ok(Typed::End),
                    Pressed::Suspend => self.keys.suspend()?,
                    Pressed::Redraw | Pressed::Nothing => {}
                }
                if !is_secret {
                    self.draw(prompt, out)?;
                }
                // Nothing stands in the way of the gauge any more.
                if self.editor.is_empty()
                    && !is_secret
                    && let Some((line, late)) = self.held.pop_front()
                {
                    return Ok(Typed::Gauge { line, late });
                }
            }
        }
    }
}

impl Console for TerminalConsole {
    fn width(&mut self) -> usize {
        Self::reading_width()
    }

    fn show(&mut self, lines: &[Shown]) -> io::Result<()> {
        let width = self.width();
        let mut out = io::stdout().lock();
        for line in lines {
            let text = self.drawing.shown(line.text.trim_end());
            // Spelled out, a line may have become too wide.
            let indent = " ".repeat(text.len() - text.trim_start().len());
            let rows = match width_of(&text) > width && self.drawing.ascii {
                true => wrapped(text.trim_start(), width, &indent, &indent),
                false => vec![text],
            };
            for row in rows {
                match self.bold && line.strong {
                    true => writeln!(out, "{BOLD}{row}{PLAIN}")?,
                    false => writeln!(out, "{row}")?,
                }
            }
        }
        out.flush()
    }

    fn read(&mut self, due: Option<Duration>) -> io::Result<Typed> {
        if self.held.front().is_some_and(|(_, late)| *late)
            && let Some((line, late)) = self.held.pop_front()
        {
            self.show(&[Shown::plain(format!("{PROMPT}{}", self.gauge_row(&line)))])?;
            return Ok(Typed::Gauge { line, late });
        }
        self.laid_out = self.width();
        let out = &mut io::stdout();
        self.drawing.begin(PROMPT, out)?;
        self.draw(PROMPT, out)?;
        let until = due.and_then(|due| Instant::now().checked_add(due));
        // A terminal that is gone ends the input: the walk is left in good order.
        let typed = self.edit(PROMPT, until, false).unwrap_or(Typed::End);
        match &typed {
            Typed::Gauge { line, .. } => {
                writeln!(out, "{}", self.gauge_row(line))?;
            }
            Typed::Line(line) => {
                self.drawing.whole(PROMPT, line, Self::columns(), out)?;
                writeln!(out)?;
            }
            _ => writeln!(out)?,
        }
        Ok(typed)
    }

    fn secret(&mut self, ask: &str) -> io::Result<Option<String>> {
        let asked = self.drawing.shown(&format!("{ask}:"));
        let mut rows = wrapped(&asked, Self::reading_width() - PROMPT.len(), "", "  ");
        let prompt = format!("{} ", rows.pop().unwrap_or_default());
        self.show(&rows.into_iter().map(Shown::plain).collect::<Vec<_>>())?;
        let out = &mut io::stdout();
        let begun = self.editor.take();
        self.drawing.begin(&prompt, out)?;
        out.flush()?;
        let typed = self.edit(&prompt, None, true);
        self.editor.take();
        self.editor.paste(&begun);
        writeln!(out)?;
        Ok(match typed {
            Ok(Typed::Line(secret)) => Some(secret),
            _ => None,
        })
    }

    fn is_interactive(&self) -> bool {
        true
    }
}

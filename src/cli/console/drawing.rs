//! Puts the line that is being typed on the screen: in place on a terminal that can move its cursor, else letter by
//! letter. One row is enough for any length: what does not fit is shifted out to the left.

use std::io::{self, Write};

use unicode_width::UnicodeWidthChar as _;

use super::PROMPT;
use crate::cli::ascii::to_ascii;
use crate::report::{clean, width_of};

#[derive(Debug)]
pub struct Drawing {
    /// Whether the terminal moves its cursor when told.
    pub moves: bool,
    pub ascii: bool,
    /// What a terminal that does not has been sent of the line.
    sent: String,
}

impl Drawing {
    pub fn new(moves: bool, ascii: bool) -> Self {
        Self { moves, ascii, sent: String::new() }
    }

    pub fn shown(&self, text: &str) -> String {
        let text = clean(text);
        if self.ascii { to_ascii(&text).into_owned() } else { text }
    }

    /// A prompt with nothing behind it yet.
    pub fn begin(&mut self, prompt: &str, out: &mut dyn Write) -> io::Result<()> {
        self.sent.clear();
        write!(out, "{}", self.shown(prompt))
    }

    /// The line as it is now; the cursor stands between its halves.
    pub fn line(
        &mut self,
        prompt: &str,
        (before, behind): (&str, &str),
        columns: usize,
        out: &mut dyn Write,
    ) -> io::Result<()> {
        let (before, behind) = (self.shown(before), self.shown(behind));
        if self.moves {
            let prompt = self.shown(prompt);
            // The last column stays free: a terminal would go on in the next row.
            let room = columns.saturating_sub(width_of(&prompt) + 1).max(8);
            let before = last_columns(&before, room);
            let behind = first_columns(&behind, room - width_of(before));
            let cursor = width_of(&prompt) + width_of(before);
            return write!(out, "\r{prompt}{before}{behind}\x1b[K\r\x1b[{cursor}C");
        }
        let line = before + &behind;
        if let Some(more) = line.strip_prefix(self.sent.as_str()) {
            write!(out, "{more}")?;
        } else if let Some(less) = self.sent.strip_prefix(line.as_str()) {
            write!(out, "{}", "\x08 \x08".repeat(width_of(less)))?;
        } else {
            write!(out, "\r\n{}{line}", self.shown(prompt))?;
        }
        self.sent = line;
        Ok(())
    }

    /// A line that was sent stays on the screen whole, in as many rows as it takes.
    pub fn whole(&self, prompt: &str, line: &str, columns: usize, out: &mut dyn Write) -> io::Result<()> {
        let (prompt, line) = (self.shown(prompt), self.shown(line));
        match self.moves && width_of(&prompt) + width_of(&line) >= columns {
            true => write!(out, "\r\x1b[K{prompt}{line}"),
            false => Ok(()),
        }
    }

    /// Something said while a line is being typed: above it.
    pub fn above(&mut self, text: &str, out: &mut dyn Write) -> io::Result<()> {
        self.sent.clear();
        let clear = if self.moves { "\r\x1b[K" } else { "\r\n" };
        write!(out, "{clear}{}\r\n", self.shown(text))?;
        match self.moves {
            true => Ok(()),
            false => write!(out, "{PROMPT}"),
        }
    }
}

fn last_columns(text: &str, room: usize) -> &str {
    let letters = text.char_indices().rev();
    let mut width = 0;
    let fits = letters.take_while(|(_, letter)| {
        width += letter.width().unwrap_or(0);
        width <= room
    });
    let at = fits.last().map_or(text.len(), |(at, _)| at);
    text.get(at..).unwrap_or_default()
}

fn first_columns(text: &str, room: usize) -> &str {
    let mut width = 0;
    let too_wide = text.char_indices().find(|(_, letter)| {
        width += letter.width().unwrap_or(0);
        width > room
    });
    text.get(..too_wide.map_or(text.len(), |(at, _)| at)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(drawing: &mut Drawing, halves: (&str, &str), columns: usize) -> String {
        let mut out = Vec::new();
        drawing.line(PROMPT, halves, columns, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn a_line_longer_than_the_window_shows_the_part_at_the_cursor() {
        let mut drawing = Drawing::new(true, false);
        assert_eq!(drawn(&mut drawing, ("0.01", " x"), 40), "\r> 0.01 x\x1b[K\r\x1b[6C");
        assert_eq!(drawn(&mut drawing, ("abcdefghijkl", "mnop"), 12), "\r> defghijkl\x1b[K\r\x1b[11C");
        assert_eq!(drawn(&mut drawing, ("ab", "cdefghijklmnop"), 12), "\r> abcdefghi\x1b[K\r\x1b[4C");
        assert_eq!(
            drawn(&mut drawing, ("\u{738b}\u{738b}\u{738b}\u{738b}\u{738b}", ""), 12)
                .matches('\u{738b}')
                .count(),
            4
        );
    }

    #[test]
    fn a_line_that_was_sent_is_seen_whole() {
        let sent = |line: &str| {
            let mut out = Vec::new();
            Drawing::new(true, false).whole(PROMPT, line, 12, &mut out).unwrap();
            String::from_utf8(out).unwrap()
        };
        assert_eq!(sent("abcdefghijklmnop"), "\r\x1b[K> abcdefghijklmnop");
        assert_eq!(sent("abc"), "", "what fits stands there already");
    }

    #[test]
    fn a_plain_terminal_is_sent_no_more_than_letters_and_steps_back() {
        let mut drawing = Drawing::new(false, true);
        assert_eq!(drawn(&mut drawing, ("0", ""), 40), "0");
        assert_eq!(drawn(&mut drawing, ("0.1", ""), 40), ".1");
        assert_eq!(drawn(&mut drawing, ("0.", ""), 40), "\x08 \x08");
        assert_eq!(drawn(&mut drawing, ("0,", ""), 40), "\r\n> 0,");
        assert_eq!(drawn(&mut drawing, ("0,\u{738b}", ""), 40), "\\u{738b}");
    }
}

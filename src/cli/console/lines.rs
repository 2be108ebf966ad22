//! Lines from standard input, from a file of answers, or from a test. What is typed is shown behind its prompt, so that
//! the output reads like the screen of a terminal.

use std::fmt;
use std::io::{self, BufRead, Read, Write};
use std::time::Duration;

use super::{Console, PROMPT, Shown, Typed};
use crate::report::clean;

/// No answer is longer; what is, is a mistake in the file or the pipe.
const LONGEST: usize = 64 * 1024;

const WIDTH: usize = 80;

/// Gives one typed line after the other.
pub trait LineSource {
    fn next_line(&mut self) -> io::Result<Typed>;
}

impl<R: BufRead> LineSource for R {
    fn next_line(&mut self) -> io::Result<Typed> {
        read_line(self)
    }
}

impl LineSource for Box<dyn LineSource> {
    fn next_line(&mut self) -> io::Result<Typed> {
        self.as_mut().next_line()
    }
}

pub struct LinesConsole<S, W> {
    source: S,
    out: W,
    /// Lines that begin with `# ` are remarks: in a file of answers, not in what is typed.
    remarks: bool,
    /// The line of the answers that was read last.
    line: Option<u64>,
}

impl<S, W> fmt::Debug for LinesConsole<S, W> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("LinesConsole")
    }
}

impl<S: LineSource, W: Write> LinesConsole<S, W> {
    pub fn new(source: S, out: W) -> Self {
        Self { source, out, remarks: false, line: None }
    }

    /// What somebody types who sees the questions, with remarks between: a transcript.
    pub fn with_remarks(source: S, out: W) -> Self {
        Self { source, out, remarks: true, line: None }
    }

    /// Answers written before anything was asked: a file of them, or what comes down a pipe.
    pub fn of_answers(source: S, out: W) -> Self {
        Self { source, out, remarks: true, line: Some(0) }
    }

    pub fn into_output(self) -> W {
        self.out
    }

    fn next(&mut self) -> io::Result<Typed> {
        loop {
            let typed = self.source.next_line()?;
            if matches!(typed, Typed::Line(_) | Typed::Unreadable(_)) {
                self.line = self.line.map(|line| line + 1);
            }
            match &typed {
                Typed::Line(line) if self.remarks && line.starts_with("# ") => {}
                _ => return Ok(typed),
            }
        }
    }
}

impl<S: LineSource, W: Write> Console for LinesConsole<S, W> {
    fn width(&mut self) -> usize {
        WIDTH
    }

    fn show(&mut self, lines: &[Shown]) -> io::Result<()> {
        for line in lines {
            writeln!(self.out, "{}", line.text.trim_end())?;
        }
        self.out.flush()
    }

    fn read(&mut self, _due: Option<Duration>) -> io::Result<Typed> {
        let typed = self.next()?;
        match &typed {
            Typed::Line(line) => writeln!(self.out, "{PROMPT}{}", clean(line))?,
            Typed::Unreadable(_) => writeln!(self.out, "{PROMPT}...")?,
            Typed::Gauge { line, .. } => writeln!(self.out, "{PROMPT}{}   (gauge)", clean(line.trim()))?,
            _ => writeln!(self.out, "{}", PROMPT.trim_end())?,
        }
        self.out.flush()?;
        Ok(typed)
    }

    fn secret(&mut self, ask: &str) -> io::Result<Option<String>> {
        let typed = self.next()?;
        writeln!(self.out, "{ask} (not shown)")?;
        match typed {
            Typed::Line(line) => Ok(Some(line)),
            _ => Ok(None),
        }
    }

    fn is_interactive(&self) -> bool {
        false
    }

    fn line_of_answers(&self) -> Option<u64> {
        self.line
    }
}

/// One line without its line end, in memory bounded by [`LONGEST`] whatever comes.
fn read_line(reader: &mut impl BufRead) -> io::Result<Typed> {
    let mut bytes = Vec::new();
    reader.by_ref().take(LONGEST as u64).read_until(b'\n', &mut bytes)?;
    if bytes.is_empty() {
        return Ok(Typed::End);
    }
    if bytes.last() != Some(&b'\n') && bytes.len() >= LONGEST {
        skip_line(reader)?;
        return Ok(Typed::Unreadable(format!("that line is longer than {LONGEST} bytes")));
    }
    match String::from_utf8(bytes) {
        Ok(line) => Ok(Typed::Line(line.trim_end_matches(['\n', '\r']).to_owned())),
        Err(_) => Ok(Typed::Unreadable("that line is not text in UTF-8".to_owned())),
    }
}

fn skip_line(reader: &mut impl BufRead) -> io::Result<()> {
    loop {
        let buffer = reader.fill_buf()?;
        let (used, done) = match buffer.iter().position(|byte| *byte == b'\n') {
            Some(at) => (at + 1, true),
            None => (buffer.len(), buffer.is_empty()),
        };
        reader.consume(used);
        if done {
            return Ok(());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(bytes: &[u8]) -> Vec<Typed> {
        let mut source = bytes;
        std::iter::repeat_with(|| read_line(&mut source).unwrap())
            .take_while(|typed| *typed != Typed::End)
            .collect()
    }

    #[test]
    fn line_ends_of_every_kind_and_a_missing_last_one_are_taken() {
        let line = |text: &str| Typed::Line(text.to_owned());
        assert_eq!(lines(b"1\r\n\n-0,5\n2"), [line("1"), line(""), line("-0,5"), line("2")]);
        assert_eq!(lines(b""), []);
    }

    #[test]
    fn a_line_without_end_or_without_text_is_refused_and_the_next_one_is_read() {
        let mut bytes = vec![b'7'; 3 * LONGEST];
        bytes.extend_from_slice(b"\n\xff\xfe\n5\n");
        let read = lines(&bytes);
        assert!(matches!(&read[..2], [Typed::Unreadable(_), Typed::Unreadable(_)]), "{read:?}");
        assert_eq!(read[2..], [Typed::Line("5".to_owned())]);
    }

    #[test]
    fn remarks_are_passed_over_in_a_file_of_answers_only() {
        let mut console = LinesConsole::with_remarks(&b"# the bar\n#7\n"[..], Vec::new());
        assert_eq!(console.read(None).unwrap(), Typed::Line("#7".to_owned()));
        let mut console = LinesConsole::new(&b"# 7\n"[..], Vec::new());
        assert_eq!(console.read(None).unwrap(), Typed::Line("# 7".to_owned()));
    }
}

//! A source text with its name, byte spans into it, and line numbers.
//!
//! Knows nothing of the language. `LineIndex` is built once, so that a place is found in logarithmic time.

use std::sync::Arc;

/// A half-open range of bytes in one source text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    pub start: usize,
    pub end: usize,
}

impl Span {
    pub fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The smallest span that covers both.
    pub fn to(self, other: Span) -> Span {
        Span::new(self.start.min(other.start), self.end.max(other.end))
    }

    pub fn is_empty(self) -> bool {
        self.end <= self.start
    }
}

/// The text of one file, with those that it includes behind it. Cheap to clone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceFile {
    name: Arc<str>,
    text: Arc<str>,
    line_starts: Arc<[usize]>,
    /// Name and beginning of each further file in it.
    further: Arc<[(String, usize)]>,
}

impl SourceFile {
    /// `text` as it is shown and counted: a byte-order mark is dropped by the caller that read the bytes.
    pub fn new(name: impl Into<Arc<str>>, text: impl Into<Arc<str>>) -> Self {
        let text: Arc<str> = text.into();
        let line_starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { name: name.into(), text, line_starts, further: Arc::new([]) }
    }

    /// Several files in one text: the name of each and where it begins, at the beginning of a line.
    pub fn whole(mut parts: Vec<(String, usize)>, text: impl Into<Arc<str>>) -> Self {
        let further = if parts.is_empty() { Vec::new() } else { parts.split_off(1) };
        let name = parts.pop().map(|(name, _)| name).unwrap_or_default();
        Self { further: further.into(), ..Self::new(name, text) }
    }

    /// The same files with another text of the same length.
    pub fn with_text(&self, text: impl Into<Arc<str>>) -> Self {
        Self { further: self.further.clone(), ..Self::new(self.name.clone(), text) }
    }

    /// The file in which a byte offset lies: its name, and from where to where it goes.
    pub fn part(&self, offset: usize) -> (&str, Span) {
        let next = self.further.partition_point(|(_, start)| *start <= offset);
        let end = self.further.get(next).map_or(self.text.len(), |(_, start)| *start);
        match next.checked_sub(1).and_then(|own| self.further.get(own)) {
            Some((name, start)) => (name, Span::new(*start, end)),
            None => (&self.name, Span::new(0, end)),
        }
    }

    pub fn name(&self) -> &str {
        &self.name
    }

    pub fn text(&self) -> &str {
        &self.text
    }

    /// The text of a span; empty if the span does not lie in the file on character boundaries.
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    /// The line that holds a byte offset, without its line feed.
    pub fn line_span(&self, offset: usize) -> Span {
        let next = self.line_starts.partition_point(|&start| start <= offset);
        let start = self.line_starts.get(next.saturating_sub(1)).copied().unwrap_or(0);
        let end = self.line_starts.get(next).map_or(self.text.len(), |&start| start - 1);
        Span::new(start, end)
    }

    /// Line and column of a byte offset in its own file, both counted from 1, the column in characters.
    pub fn place(&self, offset: usize) -> (usize, usize) {
        let above = self.line_starts.partition_point(|&start| start < self.part(offset).1.start);
        let (line, column) = self.place_in_text(offset);
        (line - above.min(line - 1), column)
    }

    fn place_in_text(&self, offset: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|&start| start <= offset).max(1);
        let start = self.line_starts.get(line - 1).copied().unwrap_or(0);
        let column = self.text.get(start..offset).map_or(0, |before| before.chars().count());
        (line, column + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_lines_and_characters_from_one() {
        let file = SourceFile::new("f", "ab\ncä d\n");
        assert_eq!(file.place(0), (1, 1));
        assert_eq!(file.place(3), (2, 1));
        assert_eq!(file.place(7), (2, 4));
        assert_eq!(file.slice(Span::new(3, 4)), "c");
    }

    #[test]
    fn a_place_in_an_included_file_is_counted_from_its_own_beginning() {
        let file = SourceFile::whole(vec![("f".into(), 0), ("g".into(), 6)], "ab\ncd\nef\ngh\n");
        assert_eq!((file.part(4).0, file.place(4)), ("f", (2, 2)));
        assert_eq!((file.part(6).0, file.place(6)), ("g", (1, 1)));
        assert_eq!((file.part(10).0, file.place(10)), ("g", (2, 2)));
    }
}

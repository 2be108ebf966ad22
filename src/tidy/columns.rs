//! Columns: what stands under one another where lines of one kind stand together.

use super::joined;
use super::spacing::{Kind, Token};

/// A line on its way to its place.
pub(super) struct Row<'a> {
    /// Blank lines and comment lines above it.
    pub above: Vec<String>,
    pub indent: usize,
    /// Its first line in parts, between which the columns are; empty for a line that stays as it is.
    pub cells: Vec<String>,
    /// The lines over which it goes on, with their indentation.
    pub below: Vec<String>,
    pub comment: Option<String>,
    pub word: &'a str,
    pub parent: &'a str,
    pub depth: usize,
}

impl Row<'_> {
    pub fn write(&self, text: &mut String) {
        for line in &self.above {
            text.push_str(line);
            text.push('\n');
        }
        text.push_str(&" ".repeat(self.indent));
        for cell in &self.cells {
            text.push_str(cell);
        }
        for (at, line) in self.below.iter().enumerate() {
            if at > 0 || !self.cells.is_empty() {
                text.push('\n');
            }
            text.push_str(line);
        }
        if let Some(comment) = &self.comment {
            text.push_str("  ");
            text.push_str(comment);
        }
        text.push('\n');
    }

    fn width(&self) -> usize {
        self.cells.iter().map(|cell| cell.chars().count()).sum()
    }

    /// Whether it stands right below `above` and is a line of the same kind.
    fn continues(&self, above: &Row<'_>) -> bool {
        self.above.is_empty()
            && (self.word, self.parent, self.depth) == (above.word, above.parent, above.depth)
            && self.cells.len() == above.cells.len()
            && self.cells.len() > 1
            && self.below.is_empty()
            && above.below.is_empty()
    }

    /// Whether its comment stands right below that of `above`.
    fn comments_on(&self, above: &Row<'_>) -> bool {
        self.above.is_empty()
            && self.comment.is_some()
            && above.comment.is_some()
            && self.depth == above.depth
            && [self, above].iter().all(|row| row.below.is_empty() && !row.cells.is_empty())
    }
}

/// Pads cells so that they stand under one another, then comments.
pub(super) fn align(rows: &mut [Row<'_>]) {
    for group in rows.chunk_by_mut(|above, row| row.continues(above)) {
        let columns = group.first().map_or(0, |row| row.cells.len()).saturating_sub(1);
        for column in 0..columns {
            let width = |row: &Row<'_>| row.cells.get(column).map_or(0, |cell| cell.chars().count());
            let widest = group.iter().map(width).max().unwrap_or(0);
            for row in group.iter_mut() {
                let missing = widest - width(row);
                if let Some(cell) = row.cells.get_mut(column) {
                    cell.push_str(&" ".repeat(missing));
                }
            }
        }
    }
    for group in rows.chunk_by_mut(|above, row| row.comments_on(above)) {
        let widest = group.iter().map(Row::width).max().unwrap_or(0);
        for row in group.iter_mut().filter(|row| row.comment.is_some()) {
            let missing = widest.saturating_sub(row.width());
            if row.below.is_empty() && !row.cells.is_empty() {
                row.cells.push(" ".repeat(missing));
            }
        }
    }
}

/// How wide the first word stands in a block, so that what follows it makes a column.
fn word_width(word: &str, parent: &str) -> usize {
    match (parent, word) {
        // Words that read on, and lines that open a block or make columns of their own.
        (
            _,
            "only" | "stop" | "valid" | "high" | "there" | "not" | "open" | "when" | "up" | "every" | "then",
        ) => 0,
        (
            _,
            "read" | "observe" | "let" | "adjustment" | "remedy" | "fact" | "axis" | "section" | "crosscheck",
        ) => 0,
        (_, "instrument" | "gauge" | "table" | "step" | "method" | "example") => 0,
        ("" | "step" | "method" | "adjustment" | "remedy", _) => 10,
        ("read" | "observe" | "let", _) => 8,
        ("instrument" | "gauge", _) => 12,
        _ => 0,
    }
}

/// The first line of a line in cells, each with the blanks behind it. `alone` if it does not go on.
pub(super) fn cells(word: &str, parent: &str, tokens: &[Token<'_>], alone: bool) -> Vec<String> {
    let Some((first, rest)) = tokens.split_first() else { return Vec::new() };
    if rest.is_empty() {
        return vec![first.text.to_string()];
    }
    let width = word_width(word, parent).max(first.text.chars().count() + 1);
    let mut cells = vec![format!("{:<width$}", first.text)];
    let at = |text: &str| rest.iter().position(|token| token.kind != Kind::Text && token.text == text);
    let cuts: Vec<usize> = match word {
        _ if !alone => Vec::new(),
        "fact" => vec![1, 2],
        "let" => at("=").into_iter().collect(),
        "over" => vec![1],
        "uncertainty" if matches!(parent, "instrument" | "gauge") => vec![1],
        "when" | "up" | "every" if parent == "table" => {
            let reach = if word == "when" { at("up").or(at("every")) } else { None };
            reach.into_iter().chain(at("then").or(at("adds"))).collect()
        }
        _ => Vec::new(),
    };
    let gap = if matches!(word, "over" | "when" | "up" | "every") { "  " } else { " " };
    let mut from = 0;
    for cut in cuts.into_iter().filter(|&cut| cut > 0 && cut < rest.len()) {
        cells.push(joined(rest.get(from..cut).unwrap_or(&[])) + gap);
        from = cut;
    }
    cells.push(joined(rest.get(from..).unwrap_or(&[])));
    // The first word belongs to the first cell, else lines of different words would not line up.
    if let [head, second, ..] = cells.as_mut_slice() {
        let joined = format!("{head}{second}");
        *head = joined;
        cells.remove(1);
    }
    cells
}

//! Plain text on a page: safe to show, broken at a width, in columns. Widths are columns of a terminal.

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};
use unicode_width::UnicodeWidthStr;

const WIDTH: usize = 80;

/// A page of text as it is laid out, line by line.
#[derive(Debug, Default)]
pub(super) struct Page {
    text: String,
}

impl Page {
    pub fn into_text(self) -> String {
        self.text
    }

    pub fn line(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    pub fn heading(&mut self, text: &str) {
        self.line("");
        self.line(text);
        self.line(&"-".repeat(width_of(text)));
    }

    pub fn wrap(&mut self, text: &str, first: &str, rest: &str) {
        for line in wrapped(&clean(text), WIDTH, first, rest) {
            self.line(&line);
        }
    }

    pub fn items(&mut self, items: &[String]) {
        for item in items {
            self.wrap(item, "  - ", "    ");
        }
    }

    pub fn columns(&mut self, rows: &[Vec<String>], most: &[usize]) {
        for line in columns(rows, most, WIDTH, "  ") {
            self.line(&line);
        }
    }

    /// One row in columns that were fitted to all of them.
    pub fn row(&mut self, row: &[String], columns: &Columns) {
        for line in columns.lines(row) {
            self.line(&line);
        }
    }

    /// Rows in columns, each group of them under its title. The first row is the heading.
    pub fn titled(&mut self, heading: &[&str], rows: &[(String, Vec<String>)], most: &[usize]) {
        let heading = heading.iter().map(|cell| (*cell).to_owned()).collect();
        let cells: Vec<Vec<String>> =
            std::iter::once(heading).chain(rows.iter().map(|(_, cells)| cells.clone())).collect();
        let columns = Columns::fit(&cells, most, "    ");
        let mut title = "";
        for (at, row) in cells.iter().enumerate() {
            if let Some((own, _)) = at.checked_sub(1).and_then(|at| rows.get(at))
                && own != title
            {
                title = own;
                self.wrap(own, "  ", "      ");
            }
            self.row(row, &columns);
        }
    }

    pub fn pairs(&mut self, pairs: &[(String, String)]) {
        let rows: Vec<Vec<String>> =
            pairs.iter().map(|(name, value)| vec![clean(name), clean(value)]).collect();
        self.columns(&rows, &[38]);
    }
}

/// What someone typed, made safe to show: control characters and those that turn the direction of writing are spelled
/// out (`\u{1b}`), so that a name can neither clear the screen nor hide what stands after it.
pub fn clean(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for letter in text.chars() {
        let hidden = matches!(letter, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}');
        if letter.is_control() || hidden {
            shown.extend(letter.escape_unicode());
        } else {
            shown.push(letter);
        }
    }
    shown
}

/// Breaks a text at blanks; the first line begins with `first`, the others with `rest`. Words are never cut, except
/// those that are wider than the page.
pub fn wrapped(text: &str, width: usize, first: &str, rest: &str) -> Vec<String> {
    let options = Options::new(width)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    textwrap::wrap(text, options).into_iter().map(|line| line.trim_end().to_owned()).collect()
}

/// Columns on a terminal.
pub fn width_of(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// Fills up with blanks to `width` columns.
pub fn padded(text: &str, width: usize) -> String {
    let blanks = width.saturating_sub(width_of(text));
    format!("{text}{}", " ".repeat(blanks))
}

/// Cuts a text that is too wide and marks that it was cut.
pub fn cut(text: &str, width: usize) -> String {
    if width_of(text) <= width {
        return text.to_owned();
    }
    let mut kept = String::new();
    for letter in text.chars() {
        kept.push(letter);
        if width_of(&kept) + 2 > width {
            kept.pop();
            break;
        }
    }
    format!("{}..", kept.trim_end())
}

/// Columns that fit a set of rows, for rows that have something between them.
#[derive(Debug)]
pub(super) struct Columns {
    widths: Vec<usize>,
    indent: &'static str,
}

impl Columns {
    pub fn fit(rows: &[Vec<String>], most: &[usize], indent: &'static str) -> Self {
        Self { widths: widths(rows, most, WIDTH, indent), indent }
    }

    pub fn lines(&self, row: &[String]) -> Vec<String> {
        broken_row(row, &self.widths, self.indent)
    }
}

/// Rows in columns. Each column but the last is as wide as its widest cell, up to `most` of that column; cells that are
/// wider are broken over several lines, as are those of the last column at the edge of the page.
pub fn columns(rows: &[Vec<String>], most: &[usize], width: usize, indent: &str) -> Vec<String> {
    let widths = widths(rows, most, width, indent);
    rows.iter().flat_map(|row| broken_row(row, &widths, indent)).collect()
}

fn widths(rows: &[Vec<String>], most: &[usize], width: usize, indent: &str) -> Vec<usize> {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let mut widths = Vec::with_capacity(count);
    let mut left = width.saturating_sub(width_of(indent));
    for column in 0..count {
        let cells = rows.iter().filter_map(|row| row.get(column));
        let widest = cells.flat_map(|cell| cell.lines()).map(width_of).max().unwrap_or(0);
        let limit = most.get(column).copied().unwrap_or(usize::MAX);
        let own = widest.min(limit).min(left).max(1);
        widths.push(own);
        left = left.saturating_sub(own + GAP.len());
    }
    widths
}

const GAP: &str = "  ";

fn broken_row(row: &[String], widths: &[usize], indent: &str) -> Vec<String> {
    let cells: Vec<Vec<String>> =
        row.iter().zip(widths).map(|(cell, width)| wrapped(cell, *width, "", "")).collect();
    let height = cells.iter().map(Vec::len).max().unwrap_or(0);
    (0..height)
        .map(|at| {
            let parts: Vec<String> = cells
                .iter()
                .zip(widths)
                .map(|(cell, width)| padded(cell.get(at).map_or("", String::as_str), *width))
                .collect();
            format!("{indent}{}", parts.join(GAP)).trim_end().to_owned()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_typed_cannot_clear_the_screen_or_turn_the_writing_round() {
        assert_eq!(clean("bar\u{1b}[2J\r\u{202e}x — µm"), "bar\\u{1b}[2J\\u{d}\\u{202e}x — µm");
    }

    #[test]
    fn wide_letters_count_as_two_columns() {
        assert_eq!(padded("中", 4), "中  ");
        assert_eq!(cut("中中中中", 5), "中..");
        assert_eq!(cut("level", 5), "level");
        assert_eq!(cut("levelling", 6), "leve..");
    }

    #[test]
    fn a_cell_that_is_too_wide_is_broken_and_none_is_lost() {
        let rows = [vec!["L3".into(), "Bed twist over the whole bed".into(), "passed".into()]];
        assert_eq!(
            columns(&rows, &[4, 12, 10], 40, "  "),
            ["  L3  Bed twist     passed", "      over the", "      whole bed"]
        );
    }
}

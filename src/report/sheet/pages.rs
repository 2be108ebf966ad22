//! Blocks of lines onto pages of a printer: what belongs together stays together, each page says what it belongs to.

use crate::report::page::{clean, cut, padded, width_of, wrapped};

use super::Sheet;

pub const WIDTH: usize = 80;
pub const LINES: usize = 60;

/// Lines that stay together on a page, if they fit on one.
pub type Block = Vec<String>;

#[derive(Default)]
pub struct Pages {
    done: Vec<Vec<String>>,
    page: Vec<String>,
    /// The heading of a section, which stands by its first step.
    heading: Option<String>,
    /// The step that goes on when the page turns.
    goes_on: Option<String>,
}

/// More lines than this are not left blank to keep a step on one page.
const MUCH: usize = LINES / 3;

/// Lines of the head and the foot of each page.
pub const AROUND: usize = 4;

impl Pages {
    pub fn turn(&mut self) {
        if !self.page.is_empty() {
            self.done.push(std::mem::take(&mut self.page));
        }
    }

    pub fn announce(&mut self, section: &str) {
        self.heading = Some(clean(section)).filter(|title| !title.is_empty());
    }

    fn left(&self) -> usize {
        (LINES - AROUND).saturating_sub(self.page.len())
    }

    pub fn block(&mut self, block: Block) {
        if block.len() > self.left() {
            self.turn();
            self.page.extend(self.goes_on.iter().map(|step| format!("{step}, further")));
        }
        for line in block {
            if self.left() == 0 {
                self.turn();
            }
            // A page does not begin with a blank line.
            if !(line.is_empty() && self.page.is_empty()) {
                self.page.push(line);
            }
        }
    }

    /// A step stays on one page, unless that leaves much of the page before it blank. Then it is parted between what
    /// belongs together, its head with its first boxes.
    pub fn step(&mut self, name: &str, mut blocks: Vec<Block>) {
        if let Some(title) = self.heading.take()
            && let Some(first) = blocks.first_mut()
        {
            let title = wrapped(&title.to_uppercase(), WIDTH, "", "");
            first.splice(0..0, std::iter::once(String::new()).chain(title));
        }
        let all: usize = blocks.iter().map(Vec::len).sum();
        let first: usize = blocks.iter().take(2).map(Vec::len).sum();
        if first > self.left() || (all > self.left() && self.left() < MUCH) {
            self.turn();
        }
        let mut blocks = blocks.into_iter();
        blocks.by_ref().take(2).for_each(|block| self.block(block));
        self.goes_on = Some(clean(name));
        blocks.for_each(|block| self.block(block));
        self.goes_on = None;
    }

    pub fn print(mut self, sheet: &Sheet) -> String {
        self.turn();
        let count = self.done.len();
        let form = &sheet.form;
        let number = "Machine No. ____________________  Day ____-__-__";
        let digest = format!("text {}", sheet.digest.get(..8).unwrap_or_default());
        // The digest says which text it is; a long name of its revision gives way.
        let room = (WIDTH - number.len() - digest.len()).saturating_sub("  revision , ".len());
        let revision = form.revision.as_ref().map(|it| format!("revision {}, ", cut(&clean(it), room)));
        let version = revision.unwrap_or_default() + &digest;
        let mut text = String::new();
        for (index, page) in self.done.iter().enumerate() {
            if index > 0 {
                text.push('\u{c}');
            }
            let place = format!("page {} of {count}", index + 1);
            let title = cut(&clean(&form.title), WIDTH - place.len() - 2);
            text.push_str(&format!("{}{place}\n", padded(&title, WIDTH - place.len())));
            text.push_str(&format!("{}{version}\n", padded(number, WIDTH - width_of(&version))));
            text.push_str(&"=".repeat(WIDTH));
            text.push('\n');
            for line in page {
                text.push_str(line.trim_end());
                text.push('\n');
            }
        }
        text
    }
}

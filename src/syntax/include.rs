//! A procedure with the libraries that it includes, as one text: each is appended to the text of the file and its lines
//! stand where `include` stands, so that every place in it is a place in that one text.
//!
//! What a library is read from is the caller's: a folder, or the texts frozen in a record.

use std::collections::HashSet;

use super::ast::{File, Item, Line, Prose};
use super::{FILE_LIMIT, Parsed, parse, parse_bytes};
use crate::diagnostic::{Code, Problem};
use crate::source::{SourceFile, Span};

/// Gives the bytes of a library by its name, or says why they cannot be had.
pub type Reader<'r> = &'r mut dyn FnMut(&str) -> Result<Vec<u8>, String>;

/// A file with all that it includes.
#[derive(Clone, Debug)]
pub struct Whole {
    pub parsed: Parsed,
    /// Name and bytes of each library, in the order in which they were read.
    pub included: Vec<(String, Vec<u8>)>,
}

/// Reads a file and the libraries it includes. Their names begin with the folder of `name`.
pub fn parse_whole(name: &str, bytes: &[u8], read: Reader<'_>) -> Whole {
    let mut parsed = parse_bytes(name, bytes);
    if !parsed.file.items.iter().any(|line| matches!(line.what, Item::Include(_))) {
        return Whole { parsed, included: Vec::new() };
    }
    let folder = name.rfind(['/', '\\']).map_or("", |at| name.get(..=at).unwrap_or(""));
    let mut gathering = Gathering {
        read,
        folder,
        text: parsed.source.text().to_owned(),
        parts: vec![(name.to_owned(), 0)],
        broken: Vec::new(),
        problems: Vec::new(),
        included: Vec::new(),
        there: HashSet::new(),
        path: Vec::new(),
    };
    let items = std::mem::take(&mut parsed.file.items);
    parsed.file.items = gathering.items(items);
    parsed.file.broken.append(&mut gathering.broken);
    parsed.problems.append(&mut gathering.problems);
    parsed.source = SourceFile::whole(gathering.parts, gathering.text);
    Whole { parsed, included: gathering.included }
}

struct Gathering<'r> {
    read: Reader<'r>,
    /// Of the file that is walked; nothing outside it is read.
    folder: &'r str,
    text: String,
    parts: Vec<(String, usize)>,
    broken: Vec<Span>,
    problems: Vec<Problem>,
    included: Vec<(String, Vec<u8>)>,
    there: HashSet<String>,
    /// The libraries that are being read, each included by the one before it.
    path: Vec<String>,
}

impl Gathering<'_> {
    /// Lines with each `include` replaced by what it includes.
    fn items(&mut self, items: Vec<Line<Item>>) -> Vec<Line<Item>> {
        let mut whole = Vec::with_capacity(items.len());
        for line in items {
            match &line.what {
                Item::Include(path) => whole.extend(self.include(path)),
                _ => whole.push(line),
            }
        }
        whole
    }

    fn include(&mut self, path: &Prose) -> Vec<Line<Item>> {
        let mut fault = |code, message: String, help: &str| {
            self.problems.push(Problem::fault(code, path.span, message).help(help));
            Vec::new()
        };
        let written = path.plain().unwrap_or_default();
        let Some(name) = within(self.path.last().map_or("", String::as_str), &written) else {
            return fault(
                Code::IncludeOutside,
                format!("`{written}` does not lie in the folder of this file"),
                "put the library into a folder beneath it, and name it as seen from here: \"parts/bars.bedway\"",
            );
        };
        if let Some(at) = self.path.iter().position(|open| *open == name) {
            let around: Vec<&str> =
                self.path.iter().skip(at).map(String::as_str).chain([name.as_str()]).collect();
            let message = format!("these libraries include each other: {}", around.join(" > "));
            return fault(Code::IncludeCycle, message, "take one of the `include` lines away");
        }
        // Two libraries may rest on the same third one: it stands where it was included first.
        if self.there.contains(&name) {
            return Vec::new();
        }
        let bytes = match (self.read)(&name) {
            Ok(bytes) => bytes,
            Err(why) => {
                return fault(
                    Code::IncludeUnreadable,
                    format!("the library `{name}` cannot be read: {why}"),
                    "look at its name; it is named as seen from the file that includes it",
                );
            }
        };
        let shown = format!("{}{name}", self.folder);
        let alone = parse_bytes(shown.as_str(), &bytes);
        if alone.file.layout.is_empty() || self.text.len() + bytes.len() > FILE_LIMIT {
            let why = alone.problems.first().map_or("it is too long", |problem| problem.message.as_str());
            let message = format!("the library `{name}` cannot be read: {why}");
            return fault(Code::IncludeUnreadable, message, "see what `bedway check` says of it by itself");
        }
        let is_library = alone.file.items.iter().any(|line| matches!(line.what, Item::Library(_)));
        if !is_library && alone.file.broken.is_empty() {
            return fault(
                Code::IncludeNotALibrary,
                format!("`{name}` is no library"),
                "what is included begins with `language 1` and `library \"title\"`; a procedure is walked by itself",
            );
        }
        if !self.text.ends_with('\n') {
            self.text.push('\n');
        }
        let from = self.text.len();
        self.text.push_str(alone.source.text());
        let (file, problems) = parse::parse_from(&self.text, from);
        self.parts.push((shown, from));
        self.problems.extend(problems);
        self.included.push((name.clone(), bytes));
        self.there.insert(name.clone());
        self.path.push(name);
        let File { items, broken, .. } = file;
        self.broken.extend(broken);
        let items = items.into_iter().filter(|line| speaks_for_all(&line.what)).collect();
        let items = self.items(items);
        self.path.pop();
        items
    }
}

/// What a library says of itself, and its examples, stay with it.
fn speaks_for_all(item: &Item) -> bool {
    !matches!(
        item,
        Item::Library(_)
            | Item::Revision(_)
            | Item::Scope(_)
            | Item::Basis(_)
            | Item::Note(_)
            | Item::Decide(_)
            | Item::Example(_)
    )
}

/// A name as seen from the folder of `from`, taken to the folder of the file that is walked. None: outside it.
fn within(from: &str, written: &str) -> Option<String> {
    if written.is_empty() || written.starts_with('/') || written.contains(['\\', ':', '\0']) {
        return None;
    }
    let folder = from.rsplit_once('/').map_or("", |(folder, _)| folder);
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in written.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    (!parts.is_empty()).then(|| parts.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_library_is_named_from_where_it_is_included_and_never_outside_the_folder() {
        assert_eq!(within("", "parts/bars.bedway").as_deref(), Some("parts/bars.bedway"));
        assert_eq!(within("parts/bars.bedway", "steel.bedway").as_deref(), Some("parts/steel.bedway"));
        assert_eq!(within("parts/bars.bedway", "../heat.bedway").as_deref(), Some("heat.bedway"));
        for outside in ["../x.bedway", "/etc/x", "parts/../../x", "C:\\x", "a\\b", "", "."] {
            assert_eq!(within("", outside), None, "{outside}");
        }
    }
}

//! Problems as JSON for editors and build servers: the same content as on the terminal, all of them.

use serde::Serialize;

use super::{Problem, Severity};
use crate::source::{SourceFile, Span};

#[derive(Debug, Serialize)]
struct Report<'a> {
    file: &'a str,
    problems: Vec<Item<'a>>,
}

/// Lines and columns count from 1, columns in characters; the end is the column after the last one.
#[derive(Debug, Serialize)]
struct Item<'a> {
    code: &'static str,
    severity: &'static str,
    message: &'a str,
    /// Of an included file that it stands in.
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<&'a str>,
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    help: Option<&'a str>,
    labels: Vec<Place<'a>>,
}

#[derive(Debug, Serialize)]
struct Place<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<&'a str>,
    line: usize,
    column: usize,
    text: &'a str,
}

/// One object for the file, on one line: `{"file", "problems": [{"code", "severity", "message", "line", "column", ...}]}`.
pub fn to_json(source: &SourceFile, problems: &[Problem]) -> String {
    let mut places = Places { source, last: (0, 1, 1) };
    let problems = problems
        .iter()
        .map(|problem| {
            let Span { start, end } = problem.span();
            let (line, column) = places.place(start);
            let (end_line, end_column) = places.place(end);
            Item {
                code: problem.code.name(),
                severity: match problem.severity {
                    Severity::Fault => "fault",
                    Severity::Warning => "warning",
                },
                message: &problem.message,
                file: Some(source.part(start).0).filter(|name| *name != source.name()),
                line,
                column,
                end_line,
                end_column,
                help: problem.help.as_deref(),
                labels: problem
                    .labels
                    .iter()
                    .map(|(span, text)| {
                        let (line, column) = places.place(span.start);
                        let file = Some(source.part(span.start).0).filter(|name| *name != source.name());
                        Place { file, line, column, text }
                    })
                    .collect(),
            }
        })
        .collect();
    // Strings and numbers alone always serialise.
    serde_json::to_string(&Report { file: source.name(), problems }).unwrap_or_default()
}

/// Columns are counted on from the last place on the same line, so that many problems on one long line cost no more
/// than the line is long.
struct Places<'a> {
    source: &'a SourceFile,
    last: (usize, usize, usize),
}

impl Places<'_> {
    fn place(&mut self, offset: usize) -> (usize, usize) {
        let (from, line, column) = self.last;
        let offset = offset.min(self.source.text().len());
        let (line, column) = match self.source.text().get(from..offset) {
            Some(between) if self.source.line_span(from) == self.source.line_span(offset) => {
                (line, column + between.chars().count())
            }
            _ => self.source.place(offset),
        };
        self.last = (offset, line, column);
        (line, column)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Code;

    #[test]
    fn an_editor_gets_place_code_and_help() {
        let source = SourceFile::new("f.bedway", "ä b\nc d e\n");
        let problem =
            |start, end| Problem::fault(Code::NotText, Span::new(start, end), "wrong").help("type x");
        let json = to_json(&source, &[problem(3, 4), problem(7, 8), problem(9, 10)]);
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        let places: Vec<_> = (0..3)
            .map(|at| {
                let item = &value["problems"][at];
                (
                    item["line"].as_u64().unwrap(),
                    item["column"].as_u64().unwrap(),
                    item["end_column"].as_u64().unwrap(),
                )
            })
            .collect();
        assert_eq!(places, [(1, 3, 4), (2, 3, 4), (2, 5, 6)]);
        assert_eq!(value["file"], "f.bedway");
        assert_eq!(value["problems"][0]["code"], "line::not-text");
        assert_eq!(value["problems"][0]["severity"], "fault");
        assert_eq!(value["problems"][0]["help"], "type x");
    }
}

//! What the language has and this version does not work out yet: refused at its place, never passed over.

use crate::diagnostic::{Code, Problem};
use crate::source::Span;
use crate::syntax::ast::{Act, ExampleLine, Expected, Item, ReadLine, StepLine};

use super::Checker;

impl Checker<'_> {
    pub(super) fn not_yet(&mut self, span: Span, what: &str) {
        self.report(
            Problem::fault(Code::NotYet, span, format!("{what} is not there yet"))
                .label("this version of Bedway does not work this out")
                .help("leave it away for now; what was not worked out must not look as if it had been"),
        );
    }

    pub(super) fn refuse_what_is_not_there_yet(&mut self) {
        let file = self.file;
        for line in &file.items {
            match &line.what {
                Item::Library(_) => self.not_yet(line.span, "a `library`"),
                Item::Include(_) => self.not_yet(line.span, "`include`"),
                Item::Method(_) => self.not_yet(line.span, "a `method`"),
                Item::Step(step) => {
                    if let Some(follows) = &step.follows {
                        self.not_yet(follows.span, "`follows`");
                    }
                    for line in &step.lines {
                        self.refuse_in_step(&line.what);
                    }
                }
                Item::Example(example) => {
                    for line in &example.lines {
                        self.refuse_in_example(&line.what, line.span);
                    }
                }
                _ => {}
            }
        }
    }

    fn refuse_in_step(&mut self, line: &StepLine) {
        if let StepLine::Read(read) = line {
            for line in &read.lines {
                if let ReadLine::Join { .. } = &line.what {
                    self.not_yet(line.span, "joining a broken series (`join`)");
                }
            }
        }
    }

    fn refuse_in_example(&mut self, line: &ExampleLine, span: Span) {
        match line {
            ExampleLine::Expect(expect) => {
                if let Expected::Joined(_) = &expect.what {
                    self.not_yet(span, "a series that was joined (`joined`)");
                }
            }
            ExampleLine::Act(Act::Rejoin { .. }) => {
                self.not_yet(span, "joining a broken series (`rejoin`)");
            }
            _ => {}
        }
    }
}

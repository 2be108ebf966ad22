//! What the language has and this version does not work out yet: refused at its place, never passed over.

use crate::diagnostic::{Code, Problem};
use crate::source::Span;
use crate::syntax::ast::Item;

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
                }
                _ => {}
            }
        }
    }
}

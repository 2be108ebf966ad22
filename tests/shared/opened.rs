//! The first line of a record as tests and benches open one: of a procedure with this title, nothing else in it.

use bedway::walk::event::{Event, FORMAT};

pub fn opened(title: &str) -> Event {
    Event::Opened {
        format: FORMAT,
        language: 1,
        program: "test".to_owned(),
        rehearsal: false,
        title: title.to_owned(),
        files: Vec::new(),
        previous: None,
        parties: Vec::new(),
    }
}

//! Typed lines with a gauge beside them, where the lines come from a pipe: whichever comes first is next.

use std::io::{self, BufRead};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;

use super::lines::LineSource;
use super::{Cable, Typed};
use crate::cli::failure::Failure;
use crate::cli::gauge::{self, Heard};

#[derive(Debug)]
pub struct BesideGauge {
    next: Receiver<io::Result<Typed>>,
}

impl BesideGauge {
    /// Reads `keyboard` in a thread of its own.
    pub fn new(keyboard: impl BufRead + Send + 'static, cable: &Cable) -> Result<Self, Failure> {
        let (tell, next) = mpsc::channel();
        let gauge: Sender<io::Result<Typed>> = tell.clone();
        gauge::listen(&cable.path, cable.serial, move |heard| {
            let typed = match heard {
                Heard::Line { line, .. } => Typed::Gauge { line, late: false },
                Heard::News(news) => Typed::GaugeNews(news),
            };
            gauge.send(Ok(typed)).is_ok()
        })?;
        let mut keyboard = keyboard;
        thread::spawn(move || {
            loop {
                let typed = keyboard.next_line();
                let is_last = !matches!(typed, Ok(Typed::Line(_) | Typed::Unreadable(_)));
                if tell.send(typed).is_err() || is_last {
                    return;
                }
            }
        });
        Ok(Self { next })
    }
}

impl LineSource for BesideGauge {
    fn next_line(&mut self) -> io::Result<Typed> {
        // The gauge's thread keeps its end: this fails only when both are gone.
        self.next.recv().unwrap_or(Ok(Typed::End))
    }
}

//! A gauge on a cable: lines from a serial device or a pipe, read beside the keyboard by a thread of its own.
//!
//! The thread only reads and cuts lines; what they mean is the walk's. A device that is unplugged is told once, looked
//! for again, and told when it is back.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant};

use serial2::SerialPort;

use super::failure::Failure;

mod line_ends;
mod presses;
mod serial;

use line_ends::LineEnds;
use presses::Presses;
pub use serial::SerialSettings;

/// What is told of a gauge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A press: a line without its line end, as sent, and when it came.
    Line {
        line: String,
        at: Instant,
    },
    News(News),
}

/// What a person must know of the gauge itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct News {
    pub text: String,
    pub is_bad: bool,
}

impl News {
    fn bad(text: impl Into<String>) -> Self {
        Self { text: text.into(), is_bad: true }
    }

    fn good(text: impl Into<String>) -> Self {
        Self { text: text.into(), is_bad: false }
    }

    /// What stands before it on the screen.
    pub fn mark(&self) -> &'static str {
        if self.is_bad { "! " } else { "  " }
    }
}

/// What the thread hears on the cable.
#[derive(Debug)]
enum Raw {
    Line(String),
    Gone(String),
    Back,
}

/// Where lines come from.
#[derive(Clone, Debug)]
struct Source {
    path: PathBuf,
    serial: SerialSettings,
    is_pipe: bool,
}

/// How often a gauge that is gone is looked for, and how long a read may take before it is tried anew.
const PATIENCE: Duration = Duration::from_secs(2);

/// Starts to listen. `tell` is called for each thing that is to be told, and says whether anyone still listens.
pub fn listen(
    path: &Path,
    serial: SerialSettings,
    tell: impl FnMut(Heard) -> bool + Send + 'static,
) -> Result<(), Failure> {
    let source = Source { path: path.to_owned(), serial, is_pipe: is_pipe(path)? };
    // A device is opened at once, so that a wrong name is told before the walk begins. A pipe opens only when
    // somebody writes.
    let mut port = if source.is_pipe { None } else { Some(source.port().map_err(|it| fault(path, &it))?) };
    let (raw, heard) = mpsc::channel();
    thread::spawn(move || hand_on(&heard, tell));
    let mut tell = move |it| raw.send((Instant::now(), it)).is_ok();
    thread::spawn(move || {
        loop {
            let ended = match port.take() {
                Some(port) => source.follow_port(&port, &mut tell),
                None => source.follow_pipe(&mut tell),
            };
            let Err(reason) = ended else { return };
            if !tell(Raw::Gone(reason)) {
                return;
            }
            port = source.wait_for_it();
            if !tell(Raw::Back) {
                return;
            }
        }
    });
    Ok(())
}

/// Hands on what was heard, presses once nothing has followed them for a moment.
fn hand_on(heard: &Receiver<(Instant, Raw)>, mut tell: impl FnMut(Heard) -> bool) {
    let mut presses = Presses::default();
    loop {
        let next = match presses.due() {
            Some(due) => heard.recv_timeout(due.saturating_duration_since(Instant::now())),
            None => heard.recv().map_err(|_| RecvTimeoutError::Disconnected),
        };
        let (told, goes_on) = match next {
            Ok((at, Raw::Line(line))) => (presses.line(line, at), true),
            Ok((_, Raw::Gone(reason))) => {
                let text = format!(
                    "The gauge is gone: {reason}. Go on by keyboard; it is heard again once it is back."
                );
                let mut told = presses.rest();
                told.push(Heard::News(News::bad(text)));
                (told, true)
            }
            Ok((_, Raw::Back)) => (vec![Heard::News(News::good("The gauge is back."))], true),
            Err(RecvTimeoutError::Timeout) => (presses.time(Instant::now()), true),
            Err(RecvTimeoutError::Disconnected) => (presses.rest(), false),
        };
        if !told.into_iter().all(&mut tell) || !goes_on {
            return;
        }
    }
}

fn fault(path: &Path, fault: &io::Error) -> Failure {
    let path = path.display();
    Failure::environment(match fault.kind() {
        io::ErrorKind::PermissionDenied => {
            format!("the gauge at {path} may not be opened by you; often the group `dialout` may: {fault}")
        }
        _ => format!("the gauge at {path} cannot be opened: {fault}"),
    })
}

fn is_pipe(path: &Path) -> Result<bool, Failure> {
    // The ports of some systems are no files.
    if cfg!(windows) {
        return Ok(false);
    }
    let kind = fs::metadata(path).map_err(|it| fault(path, &it))?.file_type();
    #[cfg(unix)]
    {
        use std::os::unix::fs::FileTypeExt as _;
        if kind.is_fifo() {
            return Ok(true);
        }
        if kind.is_char_device() {
            return Ok(false);
        }
    }
    let hint = if kind.is_file() { "; answers in a file are given with --answers" } else { "" };
    let path = path.display();
    Err(Failure::usage(format!("--from takes a serial device or a named pipe, and {path} is neither{hint}")))
}

impl Source {
    fn port(&self) -> io::Result<SerialPort> {
        let mut port = SerialPort::open(&self.path, self.serial)?;
        port.set_read_timeout(PATIENCE)?;
        // What was pressed before the walk belongs to no question of it.
        port.discard_input_buffer()?;
        Ok(port)
    }

    /// Until nobody listens any more, or the device is gone.
    fn follow_port(&self, port: &SerialPort, tell: &mut dyn FnMut(Raw) -> bool) -> Result<(), String> {
        let mut lines = LineEnds::default();
        let mut bytes = [0; 256];
        loop {
            let count = match port.read(&mut bytes) {
                Ok(0) => return Err(lines.cut_off("it was unplugged or switched off")),
                Ok(count) => count,
                Err(fault) if is_passing(&fault) => continue,
                Err(fault) => return Err(lines.cut_off(&fault.to_string())),
            };
            for line in lines.take(bytes.get(..count).unwrap_or_default()) {
                if !tell(Raw::Line(line)) {
                    return Ok(());
                }
            }
        }
    }

    /// A pipe is written to by one program after the other: its end is not the end of the gauge.
    fn follow_pipe(&self, tell: &mut dyn FnMut(Raw) -> bool) -> Result<(), String> {
        loop {
            let mut pipe = File::open(&self.path).map_err(|fault| fault.to_string())?;
            let mut lines = LineEnds::default();
            let mut bytes = [0; 256];
            loop {
                let count = match pipe.read(&mut bytes) {
                    Ok(count) => count,
                    Err(fault) if is_passing(&fault) => continue,
                    Err(fault) => return Err(lines.cut_off(&fault.to_string())),
                };
                // The last line of a writer needs no line end.
                let heard = match count {
                    0 => lines.rest().into_iter().collect(),
                    _ => lines.take(bytes.get(..count).unwrap_or_default()),
                };
                for line in heard {
                    if !tell(Raw::Line(line)) {
                        return Ok(());
                    }
                }
                if count == 0 {
                    break;
                }
            }
        }
    }

    fn wait_for_it(&self) -> Option<SerialPort> {
        loop {
            thread::sleep(PATIENCE);
            if self.is_pipe {
                if is_pipe(&self.path).is_ok_and(|it| it) {
                    return None;
                }
            } else if let Ok(port) = self.port() {
                return Some(port);
            }
        }
    }
}

fn is_passing(fault: &io::Error) -> bool {
    matches!(fault.kind(), io::ErrorKind::TimedOut | io::ErrorKind::Interrupted | io::ErrorKind::WouldBlock)
}

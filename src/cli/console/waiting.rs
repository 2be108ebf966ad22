//! Waits for a key or for a word of another thread, without looking again and again.

use std::io;
use std::time::Duration;

/// A changed window is told by a signal that may come just before the wait begins: so long it goes unseen at most.
const AT_MOST: Duration = Duration::from_secs(1);

#[cfg(unix)]
pub use unix::Waker;

#[cfg(not(unix))]
pub use other::Waker;

#[cfg(unix)]
mod unix {
    use super::*;
    use std::io::{PipeReader, PipeWriter, Read, Write};

    use rustix::event::{PollFd, PollFlags, Timespec, poll};

    #[derive(Debug)]
    pub struct Waker(PipeReader);

    /// The other thread's end.
    #[derive(Debug)]
    pub struct Wake(PipeWriter);

    impl Wake {
        /// False once nobody waits any more.
        pub fn wake(&self) -> bool {
            (&self.0).write_all(&[1]).is_ok()
        }
    }

    impl Waker {
        pub fn new() -> io::Result<(Self, Wake)> {
            let (reader, writer) = io::pipe()?;
            Ok((Self(reader), Wake(writer)))
        }

        /// Until a key is there, another thread has something, or the time is over. False: the terminal is gone.
        pub fn wait(&mut self, time: Option<Duration>) -> io::Result<bool> {
            let time = Timespec::try_from(time.unwrap_or(AT_MOST).min(AT_MOST)).ok();
            let stdin = io::stdin();
            let mut watched = [PollFd::new(&stdin, PollFlags::IN), PollFd::new(&self.0, PollFlags::IN)];
            match poll(&mut watched, time.as_ref()) {
                Ok(_) => {}
                Err(rustix::io::Errno::INTR) => return Ok(true),
                Err(fault) => return Err(fault.into()),
            }
            let [keys, word] = watched.map(|it| it.revents());
            if word.contains(PollFlags::IN) {
                // One byte a word; more of them stay for the next wait.
                let _ = self.0.read(&mut [0])?;
            }
            Ok(!keys.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL))
        }
    }
}

#[cfg(not(unix))]
mod other {
    use super::*;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, Ordering};

    /// Where keys and pipes cannot be waited for together, it is looked for both in turn.
    const LOOK: Duration = Duration::from_millis(50);

    #[derive(Debug)]
    pub struct Waker(Arc<AtomicBool>);

    #[derive(Debug)]
    pub struct Wake(Arc<AtomicBool>);

    impl Wake {
        pub fn wake(&self) -> bool {
            self.0.store(true, Ordering::Release);
            true
        }
    }

    impl Waker {
        pub fn new() -> io::Result<(Self, Wake)> {
            let word = Arc::new(AtomicBool::new(false));
            Ok((Self(Arc::clone(&word)), Wake(word)))
        }

        pub fn wait(&mut self, time: Option<Duration>) -> io::Result<bool> {
            let mut left = time.unwrap_or(AT_MOST).min(AT_MOST);
            while !self.0.swap(false, Ordering::Acquire) && !left.is_zero() {
                let now = left.min(LOOK);
                if crossterm::event::poll(now)? {
                    break;
                }
                left -= now;
            }
            Ok(true)
        }
    }
}

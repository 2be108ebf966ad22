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
    use std::os::fd::AsFd;

    use rustix::event::{PollFd, PollFlags, Timespec, poll};

    /// The end that waits; none once there is nobody who could wake it.
    #[derive(Debug)]
    pub struct Waker(Option<PipeReader>);

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
            Ok((Self(Some(reader)), Wake(writer)))
        }

        /// Until a key is there, another thread has something, or the time is over. False: the terminal is gone.
        pub fn wait(&mut self, time: Option<Duration>) -> io::Result<bool> {
            let events = self.wait_beside(&io::stdin(), time.unwrap_or(AT_MOST).min(AT_MOST))?;
            Ok(!events.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL))
        }

        /// What there is of `keys`: nothing, if a word came or the time was over.
        fn wait_beside(&mut self, keys: &impl AsFd, time: Duration) -> io::Result<PollFlags> {
            let time = Timespec::try_from(time).ok();
            let mut watched = vec![PollFd::new(keys, PollFlags::IN)];
            watched.extend(self.0.as_ref().map(|words| PollFd::new(words, PollFlags::IN)));
            match poll(&mut watched, time.as_ref()) {
                Ok(_) => {}
                Err(rustix::io::Errno::INTR) => return Ok(PollFlags::empty()),
                Err(fault) => return Err(fault.into()),
            }
            let keys = watched[0].revents();
            let word = watched.get(1).map_or(PollFlags::empty(), PollFd::revents);
            if word.contains(PollFlags::IN) {
                // One byte a word; more of them stay for the next wait.
                let _ = self.0.as_mut().map(|words| words.read(&mut [0])).transpose()?;
            } else if !word.is_empty() {
                // Left in, it would end every wait at once.
                self.0 = None;
            }
            Ok(keys)
        }
    }

    #[cfg(test)]
    mod tests {
        use super::*;

        const SOON: Duration = Duration::from_millis(1);
        const NOTHING: PollFlags = PollFlags::empty();

        #[test]
        fn a_key_and_a_word_end_the_wait() {
            let (keys, mut keyboard) = io::pipe().unwrap();
            let (mut waker, wake) = Waker::new().unwrap();
            assert!(wake.wake());
            assert_eq!(waker.wait_beside(&keys, AT_MOST).unwrap(), NOTHING);
            keyboard.write_all(b"1").unwrap();
            assert_eq!(waker.wait_beside(&keys, AT_MOST).unwrap(), PollFlags::IN);
        }

        /// A walk without a gauge would otherwise keep a whole processor busy at every question.
        #[test]
        fn once_nobody_can_wake_it_only_keys_and_time_end_the_wait() {
            let (keys, _keyboard) = io::pipe().unwrap();
            let (mut waker, wake) = Waker::new().unwrap();
            drop(wake);
            waker.wait_beside(&keys, SOON).unwrap();
            assert!(waker.0.is_none());
            assert_eq!(waker.wait_beside(&keys, SOON).unwrap(), NOTHING);
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

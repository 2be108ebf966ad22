//! The terminal's keys one by one, undrawn, for as long as somebody is asked at it.
//!
//! Not only while a line is typed: a Ctrl-C that comes between two questions would otherwise be a signal and end the
//! walk without a word of what stands, and letters typed ahead would be drawn twice.

use std::io;

use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};

/// They come so while this lives; then the terminal is as it was before.
pub struct Keys {
    modes: Modes,
    pastes: bool,
}

impl Keys {
    /// `pastes`: the terminal can tell pasted text from typed text.
    pub fn begin(pastes: bool) -> io::Result<Self> {
        let keys = Self { modes: Modes::now()?, pastes };
        keys.take()?;
        Ok(keys)
    }

    fn take(&self) -> io::Result<()> {
        self.modes.keys_one_by_one()?;
        if self.pastes {
            crossterm::execute!(io::stdout(), EnableBracketedPaste)?;
        }
        Ok(())
    }

    fn give_back(&self) {
        // A terminal that is gone cannot be put right.
        if self.pastes {
            let _ = crossterm::execute!(io::stdout(), DisableBracketedPaste);
        }
        let _ = self.modes.restore();
    }

    /// Ctrl-Z: the shell takes over until the walk is called back.
    pub fn suspend(&self) -> io::Result<()> {
        self.give_back();
        stop_until_called();
        self.take()
    }
}

impl Drop for Keys {
    fn drop(&mut self) {
        self.give_back();
    }
}

#[cfg(unix)]
use unix::{Modes, stop_until_called};

#[cfg(not(unix))]
use other::{Modes, stop_until_called};

#[cfg(unix)]
mod unix {
    use std::io;

    use rustix::process::{Signal, getpid, kill_process};
    use rustix::termios::{OptionalActions, Termios, tcgetattr, tcsetattr};

    pub struct Modes(Termios);

    impl Modes {
        pub fn now() -> io::Result<Self> {
            Ok(Self(tcgetattr(io::stdin())?))
        }

        pub fn keys_one_by_one(&self) -> io::Result<()> {
            let mut modes = self.0.clone();
            modes.make_raw();
            // Lines that are shown end as ever.
            modes.output_modes = self.0.output_modes;
            Ok(tcsetattr(io::stdin(), OptionalActions::Now, &modes)?)
        }

        pub fn restore(&self) -> io::Result<()> {
            Ok(tcsetattr(io::stdin(), OptionalActions::Now, &self.0)?)
        }
    }

    pub fn stop_until_called() {
        let _ = kill_process(getpid(), Signal::TSTP);
    }
}

#[cfg(not(unix))]
mod other {
    use std::io;

    /// Kept by the library.
    pub struct Modes;

    impl Modes {
        pub fn now() -> io::Result<Self> {
            Ok(Self)
        }

        pub fn keys_one_by_one(&self) -> io::Result<()> {
            crossterm::terminal::enable_raw_mode()
        }

        pub fn restore(&self) -> io::Result<()> {
            crossterm::terminal::disable_raw_mode()
        }
    }

    pub fn stop_until_called() {}
}

//! A bench with a real terminal to type in, for tests that look at the screen as a person does.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use bedway::record::{Record, read};
use bedway::walk::event::Event;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use tempfile::TempDir;

pub const BEDWAY: &str = env!("CARGO_BIN_EXE_bedway");

/// Long enough for a machine that is busy with other tests; nothing is asserted about how long it took.
const PATIENCE: Duration = Duration::from_secs(60);

/// A folder with the procedure, a home for keys, and a terminal to type in.
pub struct Bench {
    pub folder: TempDir,
}

pub struct Terminal {
    pub child: Box<dyn Child + Send + Sync>,
    pub master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    screen: Arc<Mutex<String>>,
    seen: usize,
}

impl Bench {
    pub fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let procedure = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/transcripts/drill-press.bedway");
        std::fs::copy(procedure, folder.path().join("drill.bedway")).unwrap();
        Self { folder }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn record(&self) -> Record {
        let bytes = std::fs::read(self.path("walk.record.jsonl")).unwrap();
        read(&bytes).unwrap_or_else(|damaged| panic!("{}", damaged.damage))
    }

    pub fn last_event(&self) -> Event {
        self.record().lines.last().unwrap().event.clone()
    }

    pub fn terminal(&self, arguments: &[&str], columns: u16) -> Terminal {
        self.terminal_with(arguments, columns, &[])
    }

    /// With these variables of the environment set.
    pub fn terminal_with(&self, arguments: &[&str], columns: u16, set: &[(&str, &str)]) -> Terminal {
        self.spawned(BEDWAY, arguments, columns, set)
    }

    /// A line of the shell, `"$@"` in it for the program and these arguments.
    #[cfg(unix)]
    pub fn shell(&self, line: &str, arguments: &[&str]) -> Terminal {
        let arguments: Vec<&str> = ["-c", line, "sh", BEDWAY].iter().chain(arguments).copied().collect();
        self.spawned("sh", &arguments, 80, &[])
    }

    fn spawned(&self, program: &str, arguments: &[&str], columns: u16, set: &[(&str, &str)]) -> Terminal {
        let size = PtySize { rows: 24, cols: columns, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(program);
        command.args(arguments);
        command.cwd(self.folder.path());
        command.env("XDG_CONFIG_HOME", self.path("config"));
        command.env("TERM", "xterm");
        command.env("LC_ALL", "C.UTF-8");
        command.env_remove("NO_COLOR");
        command.env_remove("BEDWAY_PASSPHRASE");
        for (name, value) in set {
            command.env(name, value);
        }
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let screen = Arc::new(Mutex::new(String::new()));
        let mut reader = pair.master.try_clone_reader().unwrap();
        let shared = Arc::clone(&screen);
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut buffer) {
                shared.lock().unwrap().push_str(&String::from_utf8_lossy(&buffer[..count]));
            }
        });
        let keyboard = pair.master.take_writer().unwrap();
        Terminal { child, master: pair.master, keyboard, screen, seen: 0 }
    }

    pub fn run(&self, arguments: &[&str]) -> (i32, String) {
        let output = Command::new(BEDWAY).args(arguments).current_dir(self.folder.path()).output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
        (output.status.code().unwrap(), text.into_owned())
    }
}

impl Terminal {
    /// Waits until this stands on the screen, after what was waited for before.
    pub fn sees(&mut self, text: &str) {
        let begun = Instant::now();
        loop {
            let screen = plain(&self.screen.lock().unwrap());
            if let Some(at) = screen.get(self.seen..).and_then(|new| new.find(text)) {
                self.seen += at + text.len();
                return;
            }
            assert!(begun.elapsed() < PATIENCE, "waited for {text:?} in vain:\n{screen}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Waits until one of these stands on the screen: which.
    pub fn sees_one_of(&mut self, texts: &[&str]) -> usize {
        let begun = Instant::now();
        loop {
            let screen = plain(&self.screen.lock().unwrap());
            let new = screen.get(self.seen..).unwrap_or_default();
            let found = texts.iter().enumerate().filter_map(|(which, text)| Some((new.find(text)?, which)));
            if let Some((at, which)) = found.min() {
                self.seen += at + texts[which].len();
                return which;
            }
            assert!(begun.elapsed() < PATIENCE, "waited for {texts:?} in vain:\n{screen}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Waits until the row at the cursor reads so.
    pub fn row_reads(&mut self, text: &str) {
        let begun = Instant::now();
        loop {
            let screen = plain(&self.screen.lock().unwrap());
            if screen.lines().last() == Some(text) {
                return;
            }
            assert!(begun.elapsed() < PATIENCE, "waited for the row {text:?} in vain:\n{screen}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    pub fn keys(&mut self, keys: &str) {
        self.keyboard.write_all(keys.as_bytes()).unwrap();
        self.keyboard.flush().unwrap();
    }

    /// Waits for a question, then types its answer.
    pub fn answers(&mut self, question: &str, typed: &str) {
        self.sees(question);
        self.sees("> ");
        self.keys(&format!("{typed}\r"));
    }

    pub fn ends(&mut self) -> u32 {
        self.child.wait().unwrap().exit_code()
    }

    /// The letters as they were sent.
    pub fn raw(&self) -> String {
        self.screen.lock().unwrap().clone()
    }

    pub fn all(&self) -> String {
        plain(&self.screen.lock().unwrap())
    }
}

/// What a terminal shows of it: the row at the cursor is written over, all rows above it stay.
pub fn plain(raw: &str) -> String {
    let (mut rows, mut row, mut column) = (String::new(), Vec::new(), 0);
    let mut letters = raw.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '\u{1b}' if letters.peek() == Some(&'[') => {
                letters.next();
                let mut told = String::new();
                let end = letters.by_ref().find(|letter| {
                    told.push(*letter);
                    letter.is_ascii_alphabetic()
                });
                match end {
                    Some('K') => row.truncate(column),
                    Some('C') => column += told.trim_end_matches('C').parse::<usize>().unwrap_or(1),
                    _ => {}
                }
            }
            '\r' => column = 0,
            '\u{8}' => column = column.saturating_sub(1),
            '\u{7}' => {}
            '\n' => {
                rows.extend(row.drain(..));
                rows.push('\n');
                column = 0;
            }
            other => {
                row.resize(row.len().max(column + 1), ' ');
                row[column] = other;
                column += 1;
            }
        }
    }
    rows.extend(row);
    rows
}

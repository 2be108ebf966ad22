//! Walks in a real terminal: typing, Ctrl-C, Ctrl-D, a closed window, a killed process, a narrow screen.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use bedway::record::{Record, read};
use bedway::walk::event::Event;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use tempfile::TempDir;

const BEDWAY: &str = env!("CARGO_BIN_EXE_bedway");

/// Long enough for a machine that is busy with other tests; nothing is asserted about how long it took.
const PATIENCE: Duration = Duration::from_secs(60);

/// A folder with the procedure, a home for keys, and a terminal to type in.
struct Bench {
    folder: TempDir,
}

struct Terminal {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keyboard: Box<dyn Write + Send>,
    screen: Arc<Mutex<String>>,
    seen: usize,
}

impl Bench {
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let procedure = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/transcripts/drill-press.bedway");
        std::fs::copy(procedure, folder.path().join("drill.bedway")).unwrap();
        Self { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn record(&self) -> Record {
        let bytes = std::fs::read(self.path("walk.record.jsonl")).unwrap();
        read(&bytes).unwrap_or_else(|damaged| panic!("{}", damaged.damage))
    }

    fn last_event(&self) -> Event {
        self.record().lines.last().unwrap().event.clone()
    }

    fn terminal(&self, arguments: &[&str], columns: u16) -> Terminal {
        let size = PtySize { rows: 24, cols: columns, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(BEDWAY);
        command.args(arguments);
        command.cwd(self.folder.path());
        command.env("XDG_CONFIG_HOME", self.path("config"));
        command.env("TERM", "xterm");
        command.env_remove("NO_COLOR");
        command.env_remove("BEDWAY_PASSPHRASE");
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

    fn run(&self, arguments: &[&str]) -> (i32, String) {
        let output = Command::new(BEDWAY).args(arguments).current_dir(self.folder.path()).output().unwrap();
        let text = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
        (output.status.code().unwrap(), text.into_owned())
    }
}

impl Terminal {
    /// Waits until this stands on the screen, after what was waited for before.
    fn sees(&mut self, text: &str) {
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

    fn keys(&mut self, keys: &str) {
        self.keyboard.write_all(keys.as_bytes()).unwrap();
        self.keyboard.flush().unwrap();
    }

    /// Waits for a question, then types its answer.
    fn answers(&mut self, question: &str, typed: &str) {
        self.sees(question);
        self.sees("> ");
        self.keys(&format!("{typed}\r"));
    }

    fn ends(&mut self) -> u32 {
        self.child.wait().unwrap().exit_code()
    }

    fn all(&self) -> String {
        plain(&self.screen.lock().unwrap())
    }
}

/// What a terminal shows of it: without the sequences that move the cursor and switch bold on and off.
fn plain(raw: &str) -> String {
    let mut text = String::new();
    let mut letters = raw.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '\u{1b}' if letters.peek() == Some(&'[') => {
                letters.next();
                while letters.next().is_some_and(|letter| !letter.is_ascii_alphabetic() && letter != '~') {}
            }
            '\r' => {}
            other => text.push(other),
        }
    }
    text
}

fn begin(bench: &Bench) -> Terminal {
    let mut terminal = bench.terminal(&["walk", "drill.bedway", "--record", "walk.record.jsonl"], 80);
    terminal.answers("Your name", "Ann Example");
    terminal.answers("Serial number", "DP-0031");
    terminal.answers("Radius of the sweep", "150");
    terminal
}

#[test]
fn a_walk_is_typed_signed_by_two_people_and_verified() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.answers("Which drive", "belt");
    terminal.answers("Which dial", "DG-4, 2030-01-31");
    terminal.answers("at the front of the table", "0,02");
    terminal.sees("+0.02 mm, table high");
    terminal.answers("at the back of the table", "0");
    terminal.answers("R2", "0.01");
    terminal.answers("R2", "-0.01");
    terminal.answers("guard shut by itself", "yes");
    terminal.answers("stop button latch", "yes");
    terminal.answers("cracked, missing or leaking", "none");
    terminal.answers("owner is at the machine", "Bo Example");
    terminal.answers("Chuck key and bar are out", "yes");
    terminal.answers("How does it run", "hum");
    terminal.answers("As it stands: accepted", "sign");
    terminal.answers("Ann Example, operator: sign now?", "yes");
    for ask in ["A new passphrase", "The same once more"] {
        terminal.sees(ask);
        terminal.keys("three blind mice\r");
    }
    terminal.sees("Signed by Ann Example, operator.");
    terminal.answers("Who signs as owner?", "Bo Example");
    for ask in ["A new passphrase", "The same once more"] {
        terminal.sees(ask);
        terminal.keys("see how they run\r");
    }
    terminal.sees("Signed by Bo Example, owner.");
    assert_eq!(terminal.ends(), 0);
    assert!(!terminal.all().contains("blind mice"), "a passphrase was shown");
    let (status, said) = bench.run(&["verify", "walk.record.jsonl"]);
    assert_eq!(status, 0, "{said}");
}

#[test]
fn ctrl_c_and_ctrl_d_leave_the_walk_in_order_and_it_goes_on_at_the_same_question() {
    for (key, reason) in [("\u{3}", "Ctrl-C"), ("\u{4}", "end of input")] {
        let bench = Bench::new();
        let mut terminal = begin(&bench);
        terminal.sees("Which drive");
        terminal.sees("> ");
        terminal.keys(key);
        terminal.sees("bedway walk --resume walk.record.jsonl");
        assert_eq!(terminal.ends(), 1);
        assert_eq!(bench.last_event(), Event::Paused { reason: reason.to_owned() });

        let mut again = bench.terminal(&["walk", "--resume", "walk.record.jsonl"], 80);
        again.sees("Taken up again");
        again.answers("Which drive", "gears");
        again.sees("Which dial");
        again.sees("> ");
        again.keys("\u{3}");
        again.ends();
    }
}

#[cfg(unix)]
#[test]
fn a_killed_walk_goes_on_with_every_answer_that_was_taken() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.answers("Which drive", "belt");
    terminal.sees("Which dial");
    terminal.sees("> ");
    // Typed, but Enter was not pressed: that much a power cut may cost.
    terminal.keys("DG-");
    let process = terminal.child.process_id().unwrap().to_string();
    assert!(Command::new("kill").args(["-9", &process]).status().unwrap().success());
    terminal.ends();

    // Power also cuts a line in two.
    let path = bench.path("walk.record.jsonl");
    let bytes = std::fs::read(&path).unwrap();
    std::fs::write(&path, &bytes[..bytes.len() - 20]).unwrap();
    let mut again = bench.terminal(&["walk", "--resume", "walk.record.jsonl"], 80);
    again.sees("The last line was torn");
    again.sees("walk.torn");
    again.answers("Which drive", "gears");
    again.sees("Which dial");
    again.sees("> ");
    again.keys("\u{3}");
    again.ends();
    assert!(bench.path("walk.torn").exists());
}

#[test]
fn ctrl_c_at_a_passphrase_signs_nothing_and_the_command_can_be_given_again() {
    let bench = Bench::new();
    let procedure = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/transcripts/whole-walk.answers");
    let answers = procedure.to_string_lossy().into_owned();
    let (status, said) =
        bench.run(&["walk", "drill.bedway", "--record", "walk.record.jsonl", "--answers", &answers]);
    assert_eq!(status, 0, "{said}");
    let before = bench.record().lines.len();
    let mut terminal = bench.terminal(&["sign", "walk.record.jsonl", "--as", "Ann Example, operator"], 80);
    terminal.sees("A new passphrase");
    terminal.keys("half of it\u{3}");
    terminal.sees("Nothing was signed");
    assert_eq!(terminal.ends(), 4);
    assert_eq!(bench.record().lines.len(), before);
    assert!(!terminal.all().contains("half of it"), "{}", terminal.all());

    let mut again = bench.terminal(&["sign", "walk.record.jsonl", "--as", "Ann Example, operator"], 80);
    for ask in ["A new passphrase", "The same once more"] {
        again.sees(ask);
        again.keys("three blind mice\r");
    }
    again.sees("Signed by Ann Example, operator.");
    assert_eq!(again.ends(), 0);
    // The key is kept, so that it is asked for once the next time, and a wrong passphrase is told.
    let mut other = bench.terminal(&["sign", "walk.record.jsonl", "--as", "Ann Example, operator"], 80);
    other.sees("has signed it as operator already");
    assert_eq!(other.ends(), 2);
}

#[test]
fn a_second_walk_of_the_same_record_is_refused_while_the_first_one_runs() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.sees("Which drive");
    let (status, said) = bench.run(&["walk", "--resume", "walk.record.jsonl"]);
    assert_eq!(status, 4, "{said}");
    assert!(said.contains("another walk has it open"), "{said}");
    terminal.keys("\u{3}");
    terminal.ends();
}

#[test]
fn a_record_is_never_overwritten() {
    let bench = Bench::new();
    let mut terminal = begin(&bench);
    terminal.sees("Which drive");
    terminal.keys("\u{3}");
    terminal.ends();
    let before = std::fs::read(bench.path("walk.record.jsonl")).unwrap();
    let (status, said) = bench.run(&["walk", "drill.bedway", "--record", "walk.record.jsonl"]);
    assert_eq!(status, 4, "{said}");
    assert!(said.contains("never overwritten") && said.contains("--resume walk.record.jsonl"), "{said}");
    assert_eq!(std::fs::read(bench.path("walk.record.jsonl")).unwrap(), before);
}

#[test]
fn sixty_columns_are_enough_and_a_resized_window_does_no_harm() {
    let bench = Bench::new();
    let mut terminal = bench.terminal(&["walk", "drill.bedway", "--record", "walk.record.jsonl"], 60);
    terminal.answers("Your name", "Ann Example");
    terminal.sees("Serial number");
    terminal.master.resize(PtySize { rows: 30, cols: 62, pixel_width: 0, pixel_height: 0 }).unwrap();
    terminal.sees("> ");
    terminal.keys("DP-0031\r");
    terminal.answers("Radius of the sweep", "150");
    terminal.answers("Which drive", "belt");
    terminal.answers("Which dial", "DG-4");
    terminal.sees("at the front of the table");
    terminal.sees("> ");
    terminal.keys("\u{3}");
    terminal.sees("--resume");
    terminal.ends();
    for line in terminal.all().lines() {
        assert!(bedway::report::width_of(line) <= 62, "{line}");
    }
}

#[test]
fn nothing_but_text_is_sent_when_colour_is_not_wanted() {
    let bench = Bench::new();
    let mut child = Command::new(BEDWAY)
        .args(["walk", "drill.bedway", "--record", "walk.record.jsonl"])
        .current_dir(bench.folder.path())
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(b"Ann Example\nDP-0031\n150\n").unwrap();
    let output = child.wait_with_output().unwrap();
    let screen = String::from_utf8(output.stdout).unwrap();
    assert!(!screen.contains('\u{1b}'), "{screen}");
    assert!(screen.contains("Which drive") && screen.contains("--resume walk.record.jsonl"), "{screen}");
    assert_eq!(output.status.code(), Some(1));
}

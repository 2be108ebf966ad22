//! One short walk with all that happens on a bench day, over a disk that fails at each operation in turn: whatever
//! fails, the walk is taken up and comes out the same.

use std::cell::{Cell, RefCell};
use std::io;
use std::rc::Rc;

use bedway::cli::clock::Clock;
use bedway::cli::console::{Console, Shown, Typed};
use bedway::cli::failure::Failure;
use bedway::cli::load::Loaded;
use bedway::cli::session::{Ending, Session};
use bedway::cli::walk::{opened, take_up};
use bedway::record::{Digest, Fault, FaultyStore, MemoryStore, OpenFault, Store, Writer, read};
use bedway::walk::event::{Event, PutRight};
use bedway::walk::machine::Machine;
use bedway::walk::replay::{follows, verify};
use jiff::{Timestamp, ZonedDateTime, tz::TimeZone};

use crate::walking::{lines, procedure, program, transcript};

/// Stands still until a line is typed, so that the rows of a series stand at the same times however often the walk was
/// broken off.
#[derive(Debug, Default)]
struct Told(Cell<i64>);

impl Clock for Told {
    fn now(&self) -> ZonedDateTime {
        let seconds = 1_772_439_240 + self.0.get() * 60;
        ZonedDateTime::new(Timestamp::from_second(seconds).unwrap(), TimeZone::UTC)
    }
}

/// Types the lines of the day from one of them on, each at its minute.
#[derive(Debug)]
struct Hand<'a> {
    day: &'a [(i64, &'a str)],
    next: usize,
    clock: &'a Told,
    /// How many lines of the record stand before each line that is typed.
    stood: Vec<u64>,
    store: MemoryStore,
    shown: String,
}

impl Console for Hand<'_> {
    fn width(&mut self) -> usize {
        72
    }

    fn show(&mut self, lines: &[Shown]) -> io::Result<()> {
        for line in lines {
            self.shown.push_str(&line.text);
            self.shown.push(' ');
        }
        Ok(())
    }

    fn read(&mut self, _due: Option<std::time::Duration>) -> io::Result<Typed> {
        // Asked where the walk was broken off, and never in one go: the dial stands as it stood.
        let shown: Vec<String> =
            std::mem::take(&mut self.shown).split_whitespace().map(str::to_owned).collect();
        if shown.join(" ").contains("the walk was left.") {
            return Ok(Typed::Line("yes".to_owned()));
        }
        let Some((minute, line)) = self.day.get(self.next) else { return Ok(Typed::End) };
        self.clock.0.set(*minute);
        self.next += 1;
        self.stood.push(count(&self.store));
        Ok(Typed::Line((*line).to_owned()))
    }

    fn secret(&mut self, _ask: &str) -> io::Result<Option<String>> {
        Ok(None)
    }

    fn is_interactive(&self) -> bool {
        false
    }
}

fn count(store: &MemoryStore) -> u64 {
    store.bytes().iter().filter(|byte| **byte == b'\n').count() as u64
}

fn photo(name: &str) -> io::Result<String> {
    Ok(Digest::of(name.as_bytes()).to_string())
}

/// Goes on from a line of the day until it is over or something fails; how many lines stood before each.
fn walk_from<S: Store>(
    loaded: &Loaded,
    day: &[(i64, &str)],
    from: usize,
    inner: &MemoryStore,
    store: impl Fn() -> S,
) -> (Result<Ending, Failure>, Vec<u64>) {
    let clock = Told::default();
    clock.0.set(from.checked_sub(1).map_or(0, |before| day[before].0));
    let mut hand = Hand {
        day,
        next: from,
        clock: &clock,
        stood: Vec::new(),
        store: inner.clone(),
        shown: String::new(),
    };
    let mut ending = Ok(Ending::Paused);
    let mut begun = false;
    // Paused on purpose, it goes on with the next line.
    while matches!(ending, Ok(Ending::Paused)) && (!begun || hand.next < day.len()) {
        ending = match inner.bytes().is_empty() {
            true => begin(loaded, store(), &mut hand, &clock),
            false => go_on(store(), &mut hand, &clock),
        };
        begun = true;
    }
    (ending, hand.stood)
}

fn begin<S: Store>(loaded: &Loaded, store: S, hand: &mut Hand, clock: &Told) -> Result<Ending, Failure> {
    let writer = Writer::begin(store)?;
    let program = program(loaded);
    let first = opened(&program, vec![loaded.frozen.clone()], None, false);
    let mut session = Session::new(Machine::new(program), writer, hand, clock, &photo);
    session.open(first)?;
    session.run()
}

fn go_on<S: Store>(store: S, hand: &mut Hand, clock: &Told) -> Result<Ending, Failure> {
    let (writer, resumed) = Writer::resume(store)?;
    let mut session = take_up(writer, &resumed.record, resumed.torn, None, false, hand, clock)?;
    session.photos = &photo;
    session.run()
}

fn day(text: &str) -> Vec<(i64, &str)> {
    let typed = text.lines().filter(|line| !line.starts_with('#'));
    typed.map(|line| line.split_once('|').unwrap()).map(|(at, line)| (at.parse().unwrap(), line)).collect()
}

/// The events without those that only tell of interruptions.
fn told(store: &MemoryStore) -> Vec<String> {
    let told = lines(store).into_iter().filter(|line| {
        !matches!(
            line.event,
            Event::Resumed { .. } | Event::Paused { .. } | Event::Broken { zero_intact: true, .. }
        )
    });
    // Line numbers move by the lines that tell of the interruption; what follows from an entry may be written when the
    // walk is taken up; and a reason that was not written yet is lost, while what it is for is not.
    told.map(|line| match line.event {
        Event::StepOpened { step, number, after } => {
            format!("{} {step} {number}, {}", line.time, after.len())
        }
        Event::Corrected { answer, reason, .. } => format!("{} corrected {answer:?} {reason}", line.time),
        Event::PutRight(by) => format!("{} {:?}", line.time, PutRight { of: 0, ..by }),
        Event::Kept { query, .. } => format!("kept {query}"),
        Event::Changed { step, was, now, .. } => format!("{step} was {was}, now {now}"),
        Event::Closed { verdict, open, stale, .. } => format!("closed {verdict} {open:?} {stale:?}"),
        event if follows(&event) => format!("{event:?}"),
        event => format!("{} {event:?}", line.time),
    })
    .collect()
}

/// The day at its end, with its procedure.
pub fn walked() -> (Loaded, MemoryStore) {
    let whole = Whole::walked();
    (whole.loaded, whole.store)
}

struct Whole {
    loaded: Loaded,
    text: String,
    store: MemoryStore,
    /// How many lines stood before each line was typed.
    stood: Vec<u64>,
}

impl Whole {
    fn walked() -> Self {
        let (loaded, text, store) =
            (procedure("day.bedway"), transcript("day.answers"), MemoryStore::default());
        let (ending, stood) = walk_from(&loaded, &day(&text), 0, &store, || store.clone());
        assert_eq!(ending.ok(), Some(Ending::Closed), "{:#?}", told(&store));
        Self { loaded, text, store, stood }
    }

    /// The line of the day to go on with where so much stands: the first of which something given is missing.
    fn next(&self, stands: usize) -> usize {
        let whole = lines(&self.store);
        let missing = (0..self.stood.len()).find(|&at| {
            let end = self.stood.get(at + 1).map_or(whole.len(), |end| *end as usize);
            let given = (self.stood[at] as usize..end).rfind(|&line| !follows(&whole[line].event));
            given.is_some_and(|given| given >= stands)
        });
        let mut next = missing.unwrap_or(self.stood.len());
        // What was said back and not taken is typed again.
        while next > 0 && self.stood[next - 1] == self.stood[next.min(self.stood.len() - 1)] {
            next -= 1;
        }
        next
    }

    fn go_on_from(&self, store: &MemoryStore, stands: usize, why: &str) {
        let day = day(&self.text);
        if stands < lines(&self.store).len() {
            let (ending, _) = walk_from(&self.loaded, &day, self.next(stands), store, || store.clone());
            assert_eq!(ending.ok(), Some(Ending::Closed), "{why}: {:#?}", told(store));
        }
        let (found, expected) = (told(store), told(&self.store));
        for (found, expected) in found.iter().zip(&expected) {
            assert_eq!(found, expected, "{why}");
        }
        assert_eq!(found.len(), expected.len(), "{why}");
    }
}

#[test]
fn a_day_with_everything_on_it_stands_whole_on_its_record() {
    let whole = Whole::walked();
    let events: Vec<Event> = lines(&whole.store).into_iter().map(|line| line.event).collect();
    let has = |what: &str, of: fn(&Event) -> bool| {
        assert!(events.iter().any(of), "no {what}: {:#?}", told(&whole.store))
    };
    has("adjustment", |it| matches!(it, Event::Adjusted(_)));
    has("correction", |it| matches!(it, Event::Corrected { .. }));
    has("move put right", |it| matches!(it, Event::PutRight(by) if by.now.is_some()));
    has("note put right", |it| matches!(it, Event::PutRight(by) if by.answer.is_some()));
    has("instrument put right", |it| matches!(it, Event::PutRight(by) if by.card.is_some()));
    has("withdrawn advice", |it| matches!(it, Event::Withdrawn { .. }));
    has("remeasure", |it| matches!(it, Event::SetOpened { .. }));
    has("re-test", |it| matches!(it, Event::StepOpened { number: 2, .. }));
    has("joined series", |it| matches!(it, Event::Joined { agreed: true, .. }));
    has("broken series in time", |it| matches!(it, Event::Broken { reading, .. } if reading == "temp"));
    has("series that is over", |it| matches!(it, Event::SeriesEnded { .. }));
    has("picture of a defect", |it| matches!(it, Event::Defect { photo: Some(_), .. }));
    has("mended defect", |it| matches!(it, Event::Mended { .. }));
    has("stop", |it| matches!(it, Event::Stopped { .. }));
    has("stop that is cleared", |it| matches!(it, Event::Cleared { .. }));
    has("hold", |it| matches!(it, Event::Held { .. }));
    has("odd entry that was kept", |it| matches!(it, Event::Kept { .. }));
    has("pause", |it| matches!(it, Event::Paused { .. }));
    let events = lines(&whole.store);
    let events = events.iter().map(|line| (line.time.as_str(), &line.event));
    verify(program(&whole.loaded), events).unwrap();
}

/// Every operation of the store fails once, in every way; the walk says so, is taken up from what stands, and goes on
/// with the line that was not taken. Nothing is lost, nothing stands twice.
#[test]
fn whatever_operation_fails_on_a_whole_day_the_same_record_comes_out() {
    let whole = Whole::walked();
    let day = day(&whole.text);
    for fault in [Fault::Full, Fault::Half, Fault::Dead] {
        for at in 0.. {
            let why = format!("operation {at}, {fault:?}");
            let inner = MemoryStore::default();
            let failing = Shared(Rc::new(RefCell::new(FaultyStore::new(inner.clone(), at, fault))));
            let (ending, _) = walk_from(&whole.loaded, &day, 0, &inner, || failing.clone());
            if let Ok(ending) = ending {
                assert_eq!(ending, Ending::Closed, "{why}");
                assert!(at > 100, "a day takes more operations than that");
                break;
            }
            let stands = match Writer::resume(inner.clone()) {
                Ok((_, resumed)) => resumed.record.lines.len(),
                Err(OpenFault::NothingRecorded { .. }) => {
                    inner.clone().truncate(0).unwrap();
                    0
                }
                Err(other) => panic!("{why}: {other}"),
            };
            whole.go_on_from(&inner, stands, &why);
        }
    }
}

/// The power goes at any byte: the whole lines before it stand, and nothing else does, so that what comes of a cut does not
/// hang on where in a line it falls.
#[test]
fn at_whatever_byte_a_day_is_cut_its_whole_lines_stand() {
    let whole = Whole::walked();
    let bytes = whole.store.bytes();
    let starts = read(&bytes).unwrap().starts;
    for (stands, start) in starts.iter().map(|start| *start as usize).enumerate().skip(1) {
        let end = starts.get(stands + 1).map_or(bytes.len(), |end| *end as usize);
        for cut in start..end {
            let found =
                read(&bytes[..cut]).unwrap_or_else(|damaged| panic!("byte {cut}: {}", damaged.damage));
            assert_eq!((found.lines.len(), found.length as usize), (stands, start), "byte {cut}");
            let torn = found.torn.map(|torn| torn.bytes).unwrap_or_default();
            assert_eq!(torn, bytes[start..cut], "byte {cut}");
        }
    }
}

/// The power goes within any line: at its first byte, in its middle, at its last.
#[test]
fn wherever_a_day_is_cut_the_same_record_comes_out() {
    let whole = Whole::walked();
    let bytes = whole.store.bytes();
    let starts = read(&bytes).unwrap().starts;
    for (stands, start) in starts.iter().map(|start| *start as usize).enumerate().skip(1) {
        let end = starts.get(stands + 1).map_or(bytes.len(), |end| *end as usize);
        for torn in [0, 1, (end - start) / 2, end - start - 1] {
            let store = MemoryStore::new(bytes[..start + torn].to_vec());
            whole.go_on_from(&store, stands, &format!("cut in line {} after {torn} bytes", stands + 1));
        }
    }
}

/// One failing store for all sessions of a walk, so that its operations are counted over the whole day.
#[derive(Clone, Debug)]
struct Shared(Rc<RefCell<FaultyStore<MemoryStore>>>);

impl Store for Shared {
    fn name(&self) -> String {
        self.0.borrow().name()
    }

    fn read_all(&mut self) -> io::Result<Vec<u8>> {
        self.0.borrow_mut().read_all()
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.0.borrow_mut().append(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.0.borrow_mut().sync()
    }

    fn truncate(&mut self, length: u64) -> io::Result<()> {
        self.0.borrow_mut().truncate(length)
    }

    fn read_beside(&mut self, suffix: &str) -> io::Result<Option<Vec<u8>>> {
        self.0.borrow_mut().read_beside(suffix)
    }

    fn append_beside(&mut self, suffix: &str, bytes: &[u8]) -> io::Result<()> {
        self.0.borrow_mut().append_beside(suffix, bytes)
    }
}

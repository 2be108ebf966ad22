//! A record shows every change made to it afterwards, and names the line.

use bedway::record::{
    AppendFault, Damage, DamageKind, Digest, Ends, Line, MemoryStore, OpenFault, Record, Writer, find_end,
    read,
};
use bedway::walk::event::{Answer, Entry, Event, FORMAT, FileText, How};

pub const OPERATOR: &str = "operator";

pub fn time(second: usize) -> String {
    format!("2026-03-02T09:{:02}:{:02}+01:00", second / 60 % 60, second % 60)
}

pub fn opened(parties: &[&str]) -> Event {
    let text = "bedway 1\nprocedure \"Bench lathe \\ Prüfung\"\n\tstep level\n".to_owned();
    Event::Opened {
        format: FORMAT,
        language: 1,
        program: "0.1.0".to_owned(),
        rehearsal: false,
        title: "Bench lathe".to_owned(),
        files: vec![FileText {
            name: "lathe.bedway".to_owned(),
            sha256: Digest::of(text.as_bytes()).to_string(),
            text,
        }],
        previous: None,
        parties: parties.iter().map(|party| (*party).to_owned()).collect(),
    }
}

pub fn noted(text: &str) -> Event {
    Event::Noted { step: None, text: text.to_owned() }
}

pub fn closed() -> Event {
    Event::Closed {
        verdict: "accepted".to_owned(),
        exceptions: vec!["step nose waived".to_owned()],
        open: vec![],
        stale: vec![],
    }
}

fn answer(typed: &str) -> Answer {
    Answer {
        typed: typed.to_owned(),
        unit: Some("mm".to_owned()),
        value: typed.replace(',', "."),
        sha256: None,
    }
}

/// A short walk with what makes bytes awkward: quotes, control characters, other scripts, keys left out.
pub fn walk() -> Vec<Event> {
    vec![
        opened(&["witness"]),
        Event::Person { role: OPERATOR.to_owned(), name: "Ann \"A\" Example".to_owned() },
        Event::StepOpened { step: "level".to_owned(), number: 1, after: vec![] },
        Event::Entered(Entry {
            step: "level".to_owned(),
            number: 1,
            set: 1,
            name: "bubble".to_owned(),
            stations: vec!["near".to_owned(), "front".to_owned()],
            answer: Some(answer("+0,006")),
            reason: None,
            how: How::Typed,
        }),
        Event::Corrected { of: 4, answer: Some(answer("-0,006")), reason: "sign \t misread\n".to_owned() },
        noted("中文 – \u{2028}\u{7f}\u{1} end"),
        closed(),
    ]
}

pub fn written(events: Vec<Event>) -> Vec<u8> {
    let store = MemoryStore::default();
    let mut writer = Writer::begin(store.clone()).unwrap();
    for (second, event) in events.into_iter().enumerate() {
        writer.append(&time(second), OPERATOR, event).unwrap();
    }
    store.bytes()
}

pub fn lines(bytes: &[u8]) -> Vec<Vec<u8>> {
    bytes.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect()
}

pub fn events(record: &Record) -> Vec<Event> {
    record.lines.iter().map(|line| line.event.clone()).collect()
}

fn damage(bytes: &[u8]) -> (Damage, usize) {
    let damaged = read(bytes).expect_err("damage is found");
    (damaged.damage, damaged.good.lines.len())
}

/// Writes the lines anew with sums and chain that fit, as someone would who wants to hide a change.
pub fn rechained(changed: &[Line]) -> Vec<u8> {
    let mut prev = Digest::ZERO;
    let mut bytes = Vec::new();
    for (index, line) in changed.iter().enumerate() {
        let (_, sealed) =
            Line::seal(index as u64 + 1, &line.time, &line.who, line.event.clone(), prev).unwrap();
        prev = Digest::of(&sealed);
        bytes.extend(sealed);
    }
    bytes
}

#[test]
fn what_was_written_is_read_back_alike() {
    let bytes = written(walk());
    let record = read(&bytes).unwrap();
    assert_eq!(events(&record), walk());
    assert_eq!(record.lines[3].seq, 4);
    assert_eq!(record.lines[3].time, time(3));
    assert_eq!(record.length, bytes.len() as u64);
    assert_eq!(record.end, Digest::of(&bytes));
    assert!(record.torn.is_none() && record.clock_went_back.is_empty());
}

/// The chain can be checked by hand with `sha256sum` (GNU coreutils), which is the reference here.
#[test]
#[cfg(unix)]
fn sums_are_those_of_sha256sum() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lathe.record.jsonl");
    std::fs::write(&path, written(walk())).unwrap();
    let shell = |script: &str| {
        let output =
            std::process::Command::new("sh").arg("-c").arg(script).arg("sh").arg(&path).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap().split_whitespace().next().unwrap().to_owned()
    };
    let record = read(&std::fs::read(&path).unwrap()).unwrap();
    let sum = shell(r#"sed -n 4p "$1" | tr -d '\n' | sed 's/,"sum":"[0-9a-f]*"}$//' | sha256sum"#);
    assert_eq!(sum, record.lines[3].sum.to_string());
    assert_eq!(shell(r#"sed -n 3p "$1" | sha256sum"#), record.lines[3].prev.to_string());
    assert_eq!(shell(r#"sha256sum "$1""#), record.end.to_string());
}

#[test]
fn every_changed_byte_is_found_and_its_line_named() {
    let bytes = written(walk());
    let count = lines(&bytes).len();
    for flip in [0x01, 0x20, 0x80, 0xff] {
        let mut line = 1;
        for at in 0..bytes.len() {
            let mut changed = bytes.clone();
            changed[at] ^= flip;
            match read(&changed) {
                Err(damaged) => {
                    assert_eq!(damaged.damage.line, line, "byte {at} ^ {flip:#x}: {}", damaged.damage);
                    assert_eq!(damaged.good.lines.len() as u64, line - 1, "byte {at} ^ {flip:#x}");
                }
                // Without its end, or with a zero in it, a last line looks like one whose writing was cut off.
                Ok(record) => {
                    assert_eq!(line, count as u64, "byte {at} ^ {flip:#x}");
                    assert_eq!(record.lines.len(), count - 1);
                    assert!(record.torn.is_some_and(|torn| changed.ends_with(&torn.bytes)));
                }
            }
            if bytes[at] == b'\n' {
                line += 1;
            }
        }
    }
}

#[test]
fn cut_at_every_byte_it_gives_the_whole_lines_and_goes_on_from_there() {
    let bytes = written(walk());
    let first = lines(&bytes)[0].len();
    for cut in 0..=bytes.len() {
        let left = &bytes[..cut];
        let whole = left.iter().filter(|byte| **byte == b'\n').count();
        let kept: usize = lines(&bytes)[..whole].iter().map(Vec::len).sum();
        let store = MemoryStore::new(left.to_vec());
        let resumed = Writer::resume(store.clone());
        if cut < first {
            assert!(matches!(resumed, Err(OpenFault::NothingRecorded { .. })), "cut at {cut}");
            assert_eq!(store.bytes(), left, "what cannot be resumed is left as it is");
            continue;
        }
        let (mut writer, resumed) = resumed.unwrap();
        assert_eq!(events(&resumed.record), walk()[..whole]);
        let torn = resumed.torn.map(|torn| (torn.sha256, torn.bytes));
        let expected = (cut > kept).then(|| (Digest::of(&left[kept..]), left[kept..].to_vec()));
        assert_eq!(store.beside("torn"), expected.as_ref().map(|(_, bytes)| bytes.clone()), "cut at {cut}");
        assert_eq!(torn, expected);
        writer
            .append(&time(90), OPERATOR, Event::Resumed { torn: None, file_now: None, temperature: None })
            .unwrap();
        assert_eq!(read(&store.bytes()).unwrap().lines.len(), whole + 1, "cut at {cut}");
    }
}

#[test]
fn zeros_left_by_a_loss_of_power_are_a_torn_line() {
    let bytes = written(walk());
    let start: usize = lines(&bytes)[..6].iter().map(Vec::len).sum();
    let mut within = bytes.clone();
    within[start..start + 40].fill(0);
    assert_eq!(read(&within).unwrap().torn.unwrap().bytes, &within[start..]);
    let after = [bytes.clone(), vec![0; 512]].concat();
    let record = read(&after).unwrap();
    assert_eq!((record.lines.len(), record.torn.unwrap().bytes), (7, vec![0; 512]));
}

#[test]
fn missing_doubled_and_swapped_lines_are_named() {
    let whole = lines(&written(walk()));
    for k in 0..whole.len() {
        let mut doubled = whole.clone();
        doubled.insert(k, whole[k].clone());
        let (found, good) = damage(&doubled.concat());
        assert_eq!((found.kind, found.line, good), (DamageKind::Doubled, k as u64 + 2, k + 1));
        assert_eq!((found.found, found.expected), (format!("{}", k + 1), format!("{}", k + 2)));
        if k + 1 == whole.len() {
            continue;
        }
        let mut missing = whole.clone();
        missing.remove(k);
        let (found, good) = damage(&missing.concat());
        assert_eq!((found.kind, found.line, good), (DamageKind::Missing, k as u64 + 1, k));
        let mut swapped = whole.clone();
        swapped.swap(k, k + 1);
        let (found, good) = damage(&swapped.concat());
        assert_eq!((found.kind, found.line, good), (DamageKind::Swapped, k as u64 + 1, k));
    }
}

#[test]
fn a_line_from_another_walk_does_not_follow() {
    let mut mixed = lines(&written(walk()));
    let mut other = walk();
    other[1] = Event::Person { role: OPERATOR.to_owned(), name: "Someone Else".to_owned() };
    mixed[4] = lines(&written(other))[4].clone();
    let (found, good) = damage(&mixed.concat());
    assert_eq!((found.kind, found.line, good), (DamageKind::Chain, 5, 4));
    assert!(found.to_string().starts_with("line 5 was not written after the line that stands before it"));
}

#[test]
fn a_record_has_one_form_even_with_sums_that_fit() {
    let line = |text: &str| {
        let summed = text.replace("PREV", &"0".repeat(64));
        format!("{summed},\"sum\":\"{}\"}}\n", Digest::of(summed.as_bytes()))
    };
    let plain = String::from_utf8(lines(&written(walk()))[0].clone()).unwrap();
    let body = plain.split_once("\"event\"").unwrap().1.split_once(",\"prev\"").unwrap().0;
    let head = "{\"seq\":1,\"time\":\"2026-03-02T09:00:00+01:00\",\"who\":\"operator\",";
    let good = line(&format!("{head}\"event\"{body},\"prev\":\"PREV\""));
    assert_eq!(good, plain);
    for (other, why) in [
        (good_with(head, body, "\"title\":", "\"title\": "), "a blank"),
        (good_with(head, body, "ü", "\\u00fc"), "a needless escape"),
        (good_with(head, body, "\\u0009", "\\t"), "a short escape"),
        (good_with(head, body, "\\u000a", "\\u000A"), "upper-case digits"),
        (good_with(head, body, ",\"parties\"", ",\"previous\":null,\"parties\""), "null"),
        (good_with(head, body, ",\"parties\"", ",\"rehearsal\":false,\"parties\""), "a key out of order"),
        (good_with(head, body, ",\"language\":1", ",\"language\":1,\"language\":1"), "a key twice"),
        (good_with(head, body, "\"language\":1", "\"language\":1.0"), "a number spelt otherwise"),
        (good_with(head, body, ",\"parties\"", ",\"more\":\"x\",\"parties\""), "an unknown key"),
        (
            good_with("{\"seq\":01,", body, "", "").replacen(
                "01,",
                "01,\"time\":\"2026-03-02T09:00:00+01:00\",\"who\":\"operator\",",
                1,
            ),
            "a leading zero",
        ),
        (good_with(&head.replace("09:00:00+01:00", "08:00:00Z"), body, "", ""), "a time without offset"),
        (good_with(&head.replace("operator", "\\u006fperator"), body, "", ""), "an escaped name"),
    ] {
        let (found, good) = damage(line(&other).as_bytes());
        assert_eq!((found.kind, found.line, good), (DamageKind::Form, 1, 0), "{why}: {found}");
    }
}

fn good_with(head: &str, body: &str, from: &str, to: &str) -> String {
    assert!(body.contains(from), "{from}");
    let body = if from.is_empty() { body.to_owned() } else { body.replacen(from, to, 1) };
    format!("{head}\"event\"{body},\"prev\":\"PREV\"")
}

#[test]
fn an_unknown_kind_or_a_later_format_is_refused_and_not_skipped() {
    let reseal = |bytes: &[u8], from: &str, to: &str| {
        let text = String::from_utf8(bytes.to_vec()).unwrap().replacen(from, to, 1);
        let summed = text.split_once(",\"sum\"").unwrap().0.to_owned();
        format!("{summed},\"sum\":\"{}\"}}\n", Digest::of(summed.as_bytes())).into_bytes()
    };
    let whole = lines(&written(walk()));
    let mut later = whole.clone();
    later[5] = reseal(&whole[5], "\"event\":\"noted\"", "\"event\":\"weighed\"");
    let (found, good) = damage(&later.concat());
    assert_eq!((found.kind, found.line, good), (DamageKind::Later, 6, 5));
    assert!(found.to_string().contains("made by a later version"), "{found}");
    assert!(found.to_string().contains("`weighed`"), "{found}");

    let next = format!("\"format\":{}", FORMAT + 1);
    for to in [next.clone(), format!("{next},\"shape\":\"new\"")] {
        let later = reseal(&whole[0], &format!("\"format\":{FORMAT}"), &to);
        let (found, _) = damage(&later);
        assert_eq!((found.kind, found.line), (DamageKind::Later, 1));
        assert!(found.to_string().contains("made by a later version"), "{found}");
    }
}

#[test]
fn a_clock_that_goes_back_is_noted_and_not_refused() {
    let store = MemoryStore::default();
    let mut writer = Writer::begin(store.clone()).unwrap();
    writer.append("2026-03-02T09:00:00+01:00", OPERATOR, opened(&[])).unwrap();
    // The same instant in another zone, then an hour back.
    writer.append("2026-03-02T08:00:00+00:00", OPERATOR, noted("zone changed")).unwrap();
    writer.append("2026-03-02T08:00:00+01:00", OPERATOR, noted("clock set back")).unwrap();
    writer.append("2026-03-02T08:00:01+01:00", OPERATOR, noted("goes on")).unwrap();
    assert_eq!(read(&store.bytes()).unwrap().clock_went_back, [3]);
}

#[test]
fn lines_cut_from_the_end_are_found_by_the_digest_that_was_kept() {
    let bytes = written(walk());
    let kept = read(&bytes).unwrap().end;
    let shorter = lines(&bytes)[..5].concat();
    let cut_back = read(&shorter).unwrap();
    assert_eq!(find_end(&shorter, &cut_back, kept), Ends::Never);
    let record = read(&bytes).unwrap();
    assert_eq!(find_end(&bytes, &record, kept), Ends::Here);
    assert_eq!(find_end(&bytes, &record, cut_back.end), Ends::Earlier(5));
}

#[test]
fn entries_stand_only_where_they_can() {
    let store = MemoryStore::default();
    let mut writer = Writer::begin(store.clone()).unwrap();
    let refused = |fault: Result<Line, AppendFault>| match fault {
        Err(AppendFault::Misplaced { found, expected }) => (found, expected),
        other => panic!("{other:?}"),
    };
    let signing = || Event::Signing {
        party: OPERATOR.to_owned(),
        name: "Ann".to_owned(),
        identity: "ann".to_owned(),
        key: "ssh-ed25519 AAAA".to_owned(),
        verdict: "accepted".to_owned(),
        exceptions: vec![],
    };
    let mut add = |event| writer.append(&time(0), OPERATOR, event);
    assert_eq!(refused(add(noted("too soon"))).0, "noted");
    add(opened(&[])).unwrap();
    assert_eq!(refused(add(opened(&[]))).0, "opened");
    assert_eq!(refused(add(signing())), ("signing".to_owned(), "`closed` before the first `signing`"));
    assert_eq!(refused(add(Event::Amended { text: "x".to_owned(), name: None })).0, "amended");
    add(closed()).unwrap();
    add(signing()).unwrap();
    add(Event::Signed { bytes: 1, signature: "x".to_owned() }).unwrap();
    for late in [walk()[2].clone(), walk()[3].clone(), walk()[4].clone(), closed()] {
        refused(add(late));
    }
    for fine in [noted("after"), Event::Amended { text: "serial number".to_owned(), name: None }, signing()] {
        add(fine).unwrap();
    }
    // A reader holds the same order against lines that were written by other means.
    let mut record = read(&store.bytes()).unwrap();
    record.lines[4].event = walk()[3].clone();
    let (found, good) = damage(&rechained(&record.lines));
    assert_eq!((found.kind, found.line, good), (DamageKind::Misplaced, 5, 4));
}

#[test]
fn bytes_that_are_no_record_are_refused_in_plain_words() {
    for (bytes, part) in [
        (&b""[..], "no whole line"),
        (b"\n", "line 1"),
        (b"{}\n", "line 1"),
        (b"\xff\xfe\n", "no text"),
        (b"hello world\n", "line 1"),
        (&[0; 4096], "no whole line"),
    ] {
        let (found, good) = damage(bytes);
        assert!(found.to_string().contains(part), "{found}");
        assert_eq!(good, 0);
    }
}

proptest::proptest! {
    #[test]
    fn any_text_comes_back_as_it_was_typed(text in "\\PC*|[\\x00-\\x1f\"\\\\/\u{7f}\u{85}a]*", who in ".*") {
        let store = MemoryStore::default();
        let mut writer = Writer::begin(store.clone()).unwrap();
        writer.append(&time(0), &who, opened(&[])).unwrap();
        writer.append(&time(1), &who, noted(&text)).unwrap();
        let record = read(&store.bytes()).unwrap();
        proptest::prop_assert_eq!(&record.lines[1].event, &noted(&text));
        proptest::prop_assert_eq!(&record.lines[1].who, &who);
    }

    /// Parts of a good record in any order, with anything between them: never more is believed than was written.
    #[test]
    fn only_what_was_written_is_believed(
        parts in proptest::collection::vec((0_usize..2000, 0_usize..2000, proptest::collection::vec(0_u8..=255, 0..4)), 1..4),
    ) {
        let bytes = written(walk());
        let mut mixed = Vec::new();
        for (from, length, between) in parts {
            let from = if from % 2 == 0 { 0 } else { from.min(bytes.len()) };
            mixed.extend_from_slice(&bytes[from..bytes.len().min(from + length)]);
            mixed.extend_from_slice(&between);
        }
        let record = read(&mixed).unwrap_or_else(|damaged| *damaged.good);
        let believed = events(&record);
        proptest::prop_assert_eq!(&believed[..], &walk()[..believed.len()]);
    }
}

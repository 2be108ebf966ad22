//! A record keeps what was entered, whatever happens to the disk.

use bedway::record::{
    AppendFault, Fault, FaultyStore, FileStore, MemoryStore, OpenFault, Store, Writer, read,
};

use bedway::walk::event::Event;

use crate::record::{OPERATOR, events, lines, noted, opened, time, walk, written};

/// Walks over a store that fails at operation `at`, to the end or until the writer stops; whether the fault struck.
fn walk_over_faults(inner: &MemoryStore, at: u64, fault: Fault) -> bool {
    let mut store = FaultyStore::new(inner.clone(), at, fault);
    let mut struck = false;
    let mut writer = match Writer::begin(&mut store as &mut dyn Store) {
        Ok(writer) => Ok(writer),
        Err(OpenFault::Store(_)) => return true,
        Err(other) => panic!("{other}"),
    };
    for (second, event) in walk().into_iter().enumerate() {
        let Ok(open) = &mut writer else { break };
        match open.append(&time(second), OPERATOR, event.clone()) {
            Ok(_) => {}
            Err(AppendFault::NotWritten { stands, fault }) => {
                struck = true;
                assert_eq!(stands, second as u64);
                assert!(fault.to_string().contains("disk"), "{fault}");
                let whole = read(&inner.bytes()).map_or(0, |record| record.lines.len());
                assert_eq!(whole, second, "an entry that is said not to stand does not stand");
                // The cause is gone: the same entry again.
                open.append(&time(second), OPERATOR, event).unwrap();
            }
            Err(AppendFault::Unsure { stands, .. }) => {
                struck = true;
                assert_eq!(stands, second as u64);
                assert!(matches!(open.append(&time(0), OPERATOR, noted("x")), Err(AppendFault::Stuck)));
                writer = Err(());
            }
            Err(other) => panic!("{other}"),
        }
    }
    struck
}

#[test]
fn whatever_operation_fails_no_entry_is_lost_or_doubled() {
    for fault in [Fault::Full, Fault::Half, Fault::Dead] {
        let mut at = 0;
        loop {
            let inner = MemoryStore::default();
            let struck = walk_over_faults(&inner, at, fault);
            // As after a crash: take up what is there and enter what is not.
            let (mut writer, stands) = match Writer::resume(inner.clone()) {
                Ok((writer, resumed)) => (writer, resumed.record.lines.len()),
                Err(OpenFault::NothingRecorded { .. }) => {
                    inner.clone().truncate(0).unwrap();
                    (Writer::begin(inner.clone()).unwrap(), 0)
                }
                Err(other) => panic!("operation {at} {fault:?}: {other}"),
            };
            for (second, event) in walk().into_iter().enumerate().skip(stands) {
                writer.append(&time(second), OPERATOR, event).unwrap();
            }
            let record = read(&inner.bytes()).unwrap();
            assert_eq!(events(&record), walk(), "operation {at} {fault:?}");
            if !struck {
                assert!(at > 10, "the walk takes more operations than that");
                break;
            }
            at += 1;
        }
    }
}

#[test]
fn a_torn_line_is_never_lost_whatever_fails_while_it_is_set_aside() {
    let bytes = written(walk());
    let (left, last) = bytes.split_at(bytes.len() - lines(&bytes)[6].len());
    let torn = &last[..100];
    for fault in [Fault::Full, Fault::Half, Fault::Dead] {
        for at in 0..6 {
            let inner = MemoryStore::new([left, torn].concat());
            let first = Writer::resume(FaultyStore::new(inner.clone(), at, fault));
            if at >= 5 {
                assert!(first.is_ok());
            } else {
                assert!(matches!(first, Err(OpenFault::Store(_))), "operation {at}");
            }
            drop(first);
            let (_, resumed) = Writer::resume(inner.clone()).unwrap();
            assert_eq!(resumed.record.lines.len(), 6);
            assert_eq!(inner.bytes(), left);
            assert!(inner.beside("torn").unwrap().ends_with(torn), "operation {at} {fault:?}");
        }
    }
}

/// The power may go a second time, between the torn line set aside and the line that names it.
#[test]
fn a_torn_line_is_named_on_the_record_whenever_the_power_goes_again() {
    let bytes = written(walk());
    let (left, last) = bytes.split_at(bytes.len() - lines(&bytes)[6].len());
    let store = MemoryStore::new([left, &last[..100]].concat());
    let (writer, resumed) = Writer::resume(store.clone()).unwrap();
    assert_eq!(resumed.torn.unwrap().bytes, &last[..100]);
    drop(writer);

    // Not named yet, so it is given once more, and so is what is torn meanwhile.
    let (mut writer, resumed) = Writer::resume(store.clone()).unwrap();
    assert_eq!(resumed.torn.unwrap().bytes, &last[..100]);
    writer.store().append(b"{\"seq\":7,\"time").unwrap();
    drop(writer);
    let (mut writer, resumed) = Writer::resume(store.clone()).unwrap();
    let torn = resumed.torn.unwrap();
    assert_eq!(torn.bytes, [&last[..100], b"{\"seq\":7,\"time"].concat());

    let named = bedway::walk::event::Torn { bytes: torn.bytes.len() as u64, sha256: torn.sha256.to_string() };
    let event = Event::Resumed { torn: Some(named), file_now: None, temperature: None };
    writer.append(&time(7), OPERATOR, event).unwrap();
    drop(writer);
    let (_, resumed) = Writer::resume(store.clone()).unwrap();
    assert!(resumed.torn.is_none(), "named once is enough");
    assert_eq!(store.beside("torn").unwrap(), torn.bytes);
}

#[test]
fn an_entry_costs_one_append_and_one_sync_however_long_the_record_is() {
    let store = MemoryStore::default();
    let mut writer = Writer::begin(store.clone()).unwrap();
    writer.append(&time(0), OPERATOR, opened(&[])).unwrap();
    for entry in 0..1000 {
        let (appends, syncs, reads) = store.counts();
        writer.append(&time(entry), OPERATOR, noted("one more")).unwrap();
        assert_eq!(store.counts(), (appends + 1, syncs + 1, reads));
    }
}

#[test]
fn a_file_is_never_overwritten_and_has_one_writer() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lathe.record.jsonl");
    let mut writer = Writer::begin(FileStore::create(&path).unwrap()).unwrap();
    writer.append(&time(0), OPERATOR, opened(&[])).unwrap();
    let before = std::fs::read(&path).unwrap();

    let again = FileStore::create(&path).unwrap_err().to_string();
    assert!(again.contains("it exists already and is never overwritten"), "{again}");
    let second = FileStore::open(&path).unwrap_err().to_string();
    assert!(second.contains("another walk has it open"), "{second}");
    assert_eq!(std::fs::read(&path).unwrap(), before);

    drop(writer);
    assert!(matches!(Writer::begin(FileStore::open(&path).unwrap()), Err(OpenFault::NotEmpty(_))));
    let (mut writer, _) = Writer::resume(FileStore::open(&path).unwrap()).unwrap();
    writer.append(&time(1), OPERATOR, noted("goes on")).unwrap();
    assert_eq!(read(&std::fs::read(&path).unwrap()).unwrap().lines.len(), 2);
}

#[test]
#[cfg(unix)]
fn a_record_that_was_moved_away_takes_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lathe.record.jsonl");
    let moved = folder.path().join("elsewhere");
    let mut writer = Writer::begin(FileStore::create(&path).unwrap()).unwrap();
    writer.append(&time(0), OPERATOR, opened(&[])).unwrap();
    std::fs::rename(&path, &moved).unwrap();
    let fault = writer.append(&time(1), OPERATOR, noted("where to?")).unwrap_err();
    assert!(fault.to_string().contains("was it moved, or a disk unplugged?"), "{fault}");
    assert!(matches!(fault, AppendFault::NotWritten { stands: 1, .. }));
    std::fs::rename(&moved, &path).unwrap();
    writer.append(&time(1), OPERATOR, noted("back again")).unwrap();
    assert_eq!(read(&std::fs::read(&path).unwrap()).unwrap().lines.len(), 2);
}

#[test]
fn a_torn_line_is_moved_to_a_file_beside_the_record() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("lathe.record.jsonl");
    let bytes = written(walk());
    std::fs::write(&path, &bytes[..bytes.len() - 9]).unwrap();
    let (writer, resumed) = Writer::resume(FileStore::open(&path).unwrap()).unwrap();
    let torn = resumed.torn.unwrap();
    assert_eq!(std::fs::read(folder.path().join("lathe.torn")).unwrap(), torn.bytes);
    assert_eq!(std::fs::read(&path).unwrap().len() as u64, writer.length());
    assert_eq!(read(&std::fs::read(&path).unwrap()).unwrap().lines.len(), 6);
}

#[test]
fn a_damaged_record_is_not_resumed_and_not_touched() {
    let mut bytes = written(walk());
    bytes[40] ^= 1;
    let store = MemoryStore::new(bytes.clone());
    let fault = Writer::resume(store.clone()).map(|_| ()).unwrap_err().to_string();
    assert!(fault.contains("is damaged and was left as it is: line 1 was changed"), "{fault}");
    assert_eq!(store.bytes(), bytes);
}

//! A wait is measured by the clock, whatever comes between.

use bedway::cli::load;
use bedway::record::MemoryStore;
use bedway::walk::event::Event;

use super::walking::{lines, resume, walk};

const SOAK: &str = "\
language 1
procedure \"Soak\"
decide simple
section one \"One\"
step A \"Bar at the temperature of the room\"
  wait 90 min \"Bar on the bed, doors shut\"
  observe even \"Do bar and bed feel the same?\" yes or no
  require even
";

#[test]
fn a_wait_that_was_begun_is_over_after_a_night_without_power() {
    let loaded = load::check("soak.bedway", SOAK.as_bytes());
    let store = MemoryStore::default();
    let before = walk(&loaded, store.clone(), "Ann Example\n\n\n");
    assert!(before.screen.contains("2 min of 90 min are over"), "{}", before.screen);

    // Two hours later the doors were shut all the time: Enter ends the wait, it is not begun again.
    let night = store.bytes();
    let after = resume(store.clone(), "yes\n\nyes\n");
    assert!(after.screen.contains("A PASSED"), "{}", after.screen);
    let count = |wanted: fn(&Event) -> bool| lines(&store).iter().filter(|line| wanted(&line.event)).count();
    assert_eq!(count(|event| matches!(event, Event::WaitStarted { .. })), 1);
    assert_eq!(count(|event| matches!(event, Event::WaitDone { .. })), 1);

    // Or they were not: then it begins again.
    let store = MemoryStore::new(night);
    let after = resume(store.clone(), "no\n\n");
    assert!(after.screen.contains("Did it go on"), "{}", after.screen);
    assert!(after.screen.contains("min of 90 min are over"), "{}", after.screen);
}

const TWO: &str = "\
language 1
procedure \"Two waits\"
decide simple
section one \"One\"
step A \"Glue\"
  wait 90 min \"Glue sets\"
  observe firm \"Is it firm?\" yes or no
  require firm
step B \"Bar\"
  wait 60 min \"Bar on the bed\"
  observe even \"Do bar and bed feel the same?\" yes or no
  require even
";

#[test]
fn the_wait_of_one_step_does_not_count_for_another() {
    let loaded = load::check("two.bedway", TWO.as_bytes());
    let answers = format!("Ann Example\n\n{}take B\n\n\n", "note still here\n".repeat(70));
    let walked = walk(&loaded, MemoryStore::default(), &answers);
    assert!(walked.screen.contains("60 min by the clock. Enter begins it."), "{}", walked.screen);
    assert!(walked.screen.contains("2 min of 60 min are over"), "{}", walked.screen);
}

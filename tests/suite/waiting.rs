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

    // Two hours later: Enter ends the wait, it is not begun again.
    let after = resume(store.clone(), "\nyes\n");
    assert!(after.screen.contains("A PASSED"), "{}", after.screen);
    let count = |wanted: fn(&Event) -> bool| lines(&store).iter().filter(|line| wanted(&line.event)).count();
    assert_eq!(count(|event| matches!(event, Event::WaitStarted { .. })), 1);
    assert_eq!(count(|event| matches!(event, Event::WaitDone { .. })), 1);
}

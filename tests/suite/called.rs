//! What a colleague calls and a typist types in a shop: halves, one unit for a whole row, days with points, pictures
//! dropped on the window and put right afterwards. Nothing of it is guessed at.

use bedway::record::{Digest, MemoryStore};
use bedway::walk::event::{Answer, Event};

use crate::brought::text;
use crate::walking::{lines, walk};

const SHOP: &str = r#"language 1
procedure "Called"
decide simple
fact received "Day it was received" date
instrument level "Block level"
  scale       0.02 mm/m per div
  resolution  0.2 div
instrument dial "Dial"
  resolution  0.001 mm
section one "One"
step A "As received"
  observe view "Photograph" photo
    over    side  front, rear
  observe sound "How does it sound?" one of smooth, hum
step B "Bed"
  read tilt in div using level
    over    place  head, tail
    plus    "front high"
    minus   "front low"
  read gap in mm using dial
    over    part  one, two, three
    unsigned
    usual   from 0 mm to 0.1 mm
    not read allowed
  let most "Greatest gap" = greatest(gap over part)
  tolerance most at most 0.1 mm
"#;

fn typed(answers: &str) -> (String, Vec<Event>) {
    let store = MemoryStore::default();
    let walked = walk(&text(SHOP), store.clone(), &format!("Ann Example\n{answers}"));
    let screen = walked.screen.split_whitespace().collect::<Vec<_>>().join(" ");
    (screen, lines(&store).into_iter().map(|line| line.event).collect())
}

/// To the readings of B.
const TO_BED: &str = "2026-11-24\nfront.jpg\nrear.jpg\nsmooth\nLV-1\nDI-1\n";

fn values(events: &[Event], name: &str) -> Vec<String> {
    let of = |event: &Event| match event {
        Event::Entered(entry) if entry.name == name => entry.answer.as_ref().map(|it| it.value.clone()),
        _ => None,
    };
    events.iter().filter_map(of).collect()
}

#[test]
fn half_a_division_is_half_of_one() {
    let (screen, events) = typed(&format!("{TO_BED}half a division\nminus 1/4\n"));
    assert_eq!(values(&events, "tilt"), ["0.5", "-0.25"], "{screen}");
    assert!(screen.contains("-0.25 div, front low"), "{screen}");
    let (screen, events) = typed(&format!("{TO_BED}1 1/2\n"));
    assert!(screen.contains("1 1/2 may be one value or two."), "{screen}");
    assert_eq!(values(&events, "tilt"), <[&str; 0]>::default());
}

#[test]
fn one_unit_behind_a_row_is_for_all_only_where_that_is_said() {
    let to_gap = format!("{TO_BED}0 0\nyes\n");
    let (screen, events) = typed(&format!("{to_gap}0.4 0.4 0.4 thou\n0.4 0.4 0.4 all in thou\nyes\n"));
    assert!(screen.contains("Only the last value says thou; the others would be mm."), "{screen}");
    assert!(screen.contains("0.4 0.4 0.4 all in thou"), "{screen}");
    assert_eq!(values(&events, "gap"), ["0.01016"; 3], "{screen}");
    assert!(screen.contains("= one: 0.01016 mm (0.4 thou)"), "{screen}");
    // With the unit of the question behind it there is nothing to ask, nor where every other value is nought.
    let (_, events) = typed(&format!("{to_gap}0.01 0.02 0.03 mm\nyes\n"));
    assert_eq!(values(&events, "gap"), ["0.01", "0.02", "0.03"]);
    let (_, events) = typed(&format!("{to_gap}0 0 4 um\nyes\n"));
    assert_eq!(values(&events, "gap"), ["0", "0", "0.004"]);
    let (_, events) = typed(&format!("{to_gap}0.01; 0.02; not read \"behind the wall\"\nyes\n"));
    assert_eq!(values(&events, "gap"), ["0.01", "0.02"]);
}

#[test]
fn a_row_far_off_names_its_usual_range_once() {
    let (screen, _) = typed(&format!("{TO_BED}0 0\nyes\n4 5 0.01\n"));
    assert!(screen.contains("4 mm, 5 mm are outside the usual 0 mm to 0.1 mm. Are they right?"), "{screen}");
}

#[test]
fn a_date_is_taken_with_points_and_with_the_words_of_its_question() {
    let to_level = "24.11.2026\nfront.jpg\nrear.jpg\nsmooth\n";
    for said in
        ["LV-1, calibrated until 2027-03-01", "LV-1 calibrated until 2027-03-01", "LV-1, until 1.3.2027"]
    {
        let (screen, events) = typed(&format!("{to_level}{said}\n"));
        assert!(screen.contains("= 2026-11-24"), "{screen}");
        let card = events.iter().find_map(|event| match event {
            Event::Instrument(card) => Some((card.number.as_str(), card.calibrated_until.as_deref())),
            _ => None,
        });
        assert_eq!(card, Some(("LV-1", Some("2027-03-01"))), "{said}");
    }
}

#[test]
fn several_words_that_are_no_answer_are_refused_as_they_were_said() {
    let (screen, _) = typed("2026-11-24\nfront.jpg\nrear.jpg\nnot sure\n");
    assert!(screen.contains("\"not sure\" is not one of the answers."), "{screen}");
}

#[test]
fn a_picture_that_was_named_wrong_is_put_right_by_command_and_by_going_back() {
    let of = |events: &[Event]| -> Vec<Answer> {
        let corrected = |event: &Event| match event {
            Event::Corrected { answer, .. } => answer.clone(),
            _ => None,
        };
        events.iter().filter_map(corrected).collect()
    };
    let taken = "2026-11-24\n'rear.jpg'\n\"rear.jpg\"\n";
    for line in [
        "correct A.view[side front] = front.jpg \"wrong side\"",
        "correct A.view[front] front.jpg wrong side",
        "correct view[front] = \"front.jpg\" \"wrong side\"",
    ] {
        let (screen, events) = typed(&format!("{taken}{line}\n"));
        let [answer] = of(&events).try_into().expect(&screen);
        assert_eq!(answer.value, "front.jpg", "{line}");
        assert_eq!(answer.sha256, Some(Digest::of(b"front.jpg").to_string()), "{line}");
    }
    let (screen, events) = typed("2026-11-24\nrear.jpg\n:back\nfront.jpg\nrear.jpg\nsmooth\n");
    assert_eq!(of(&events).len(), 1, "{screen}");
    let (screen, events) = typed(&format!("{taken}correct A.view[front] = missing.jpg\n"));
    assert!(screen.contains("The picture missing.jpg cannot be read: there is no such file."), "{screen}");
    assert_eq!(of(&events), []);
}

#[test]
fn correct_with_a_step_alone_says_which_answers_it_has() {
    let (screen, _) =
        typed(&format!("{TO_BED}0 0\nyes\ncorrect B head 0.2\ncorrect B.tilt[head] = 0.2, misheard\n"));
    assert!(screen.contains("It has B.tilt, B.gap. Type it so: correct B.tilt[PLACE] = VALUE"), "{screen}");
    assert!(screen.contains("corrected: +0.2 div, front high"), "{screen}");
}

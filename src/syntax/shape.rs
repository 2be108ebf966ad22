//! How each line is written, as shown to someone whose line could not be read. Capital words are for the author to fill
//! in. One exhaustive list by the rule that reads the line; it decides nothing.

use super::block::LineKind;
use super::grammar::Rule;
use crate::diagnostic::Problem;

/// A problem that has no better help shows how such a line is written.
pub(super) fn shown(problem: Problem, line: LineKind) -> Problem {
    match (&problem.help, of(line)) {
        (None, Some(shape)) => {
            problem.help(format!("such a line is written: `{shape}`{}", besides(line.rule)))
        }
        (Some(help), Some(shape)) if !besides(line.rule).is_empty() => {
            let help = format!("{help}; such a line is written: `{shape}`{}", besides(line.rule));
            problem.help(help)
        }
        _ => problem,
    }
}

/// What may stand in such a line besides, where one line cannot show it all.
fn besides(rule: Rule) -> &'static str {
    match rule {
        Rule::uncertainty_line => {
            ", also `fresh` or `scale`; for `k 2` may stand `rectangular`, `triangular`, `arcsine`, `trapezoidal flat 0.0005 mm` or `rectangular give or take 0.0005 mm`; \
             `with 8 degrees of freedom` may follow. Draws are chosen above, by `decide guarded U by draws`"
        }
        Rule::set_up_line => {
            "; for `k 2` may stand `rectangular`, `triangular`, `arcsine`, `trapezoidal flat 0.0005 mm` or `rectangular give or take 0.0005 mm`; `with 8 degrees of freedom` \
             may follow. `zero`, `fresh` and `scale` belong to an `instrument`; draws are chosen by `decide guarded U by draws`"
        }
        Rule::decide_line => ", also `guarded U` or `guarded 95 %`; `by draws` may follow each",
        _ => "",
    }
}

/// The whole line with its first word, or None where the line has no shape of its own to show.
fn of(line: LineKind) -> Option<String> {
    let rest = match line.rule {
        Rule::text_line => r#""TEXT""#,
        Rule::name_text_line => r#"NAME "WHAT OR WHO IT IS""#,
        Rule::number_line => "NUMBER",
        Rule::names_line => "NAME, NAME",
        Rule::name_line => "NAME",
        Rule::when_line => "when CONDITION",
        Rule::when_text_line => r#"when CONDITION "WHAT TO DO""#,
        Rule::expression_line => "CONDITION",
        Rule::sum_line => "RESULT",
        Rule::over_line => "NAME STATION, STATION",
        Rule::range_line => "from LEAST to GREATEST",
        Rule::decide_line => "simple",
        Rule::fact_line => r#"NAME "QUESTION" in UNIT"#,
        Rule::let_line => r#"NAME "WHAT IT IS" = VALUE"#,
        Rule::table_line => r#"NAME "WHAT IT IS" over NAME in UNIT"#,
        Rule::row_line => return Some("when CONDITION up to LENGTH then LIMIT".to_owned()),
        Rule::section_line => r#"NAME "TITLE""#,
        Rule::step_line => r#"NAME "WHAT IS TESTED""#,
        Rule::crosscheck_line => r#"NAME "WHY" RESULT against RESULT within LIMIT"#,
        Rule::resolution_line => "0.01 mm",
        Rule::scale_line => "0.02 mm/m per div",
        Rule::uncertainty_line => "zero 0.001 mm k 2",
        Rule::gauge_line => r#""NUMBER" is INSTRUMENT or INSTRUMENT"#,
        Rule::calibrated_line => "until 2027-03-01",
        Rule::needs_line => "STEP done, STEP passed",
        Rule::keeps_line => r#"STEP "WHAT STAYS AS IT IS""#,
        Rule::wait_line => r#"20 min "FOR WHAT""#,
        Rule::read_line => "NAME in UNIT using INSTRUMENT",
        Rule::adjustment_line => r#"NAME "WHAT IS MOVED" in UNIT"#,
        Rule::remedy_line => r#"when CONDITION "ADVICE""#,
        Rule::advise_line => "ADJUSTMENT = AMOUNT",
        Rule::predicts_line => "RESULT by CHANGE",
        Rule::tolerance_line => "RESULT from LEAST to GREATEST",
        Rule::set_up_line => r#"set_up 0.001 mm k 2 on RESULT "WHY""#,
        Rule::times_line => "3",
        Rule::high_low_line => "and low",
        Rule::there_back_line => "and back",
        Rule::sense_line => "stays with the machine",
        Rule::station_line => r#"AXIS STATION plus "WHICH WAY" minus "WHICH WAY""#,
        Rule::remeasure_rule_line => "latest counts",
        Rule::not_read_line => "read allowed",
        Rule::open_ended_line => "ended allowed",
        Rule::given_line => "NAME = ANSWER, NAME = ANSWER",
        Rule::using_line => "INSTRUMENT resolution 0.01 mm",
        Rule::list_line => r#"STEP.AXIS = "ONE", "ANOTHER""#,
        Rule::previous_line => "STEP.NAME = VALUE",
        Rule::enter_line => "STEP.NAME = VALUE, VALUE",
        Rule::confirm_line => "STEP yes",
        Rule::correct_line => r#"STEP.NAME[STATION] = VALUE "REASON""#,
        Rule::remeasure_line => "STEP.NAME = VALUE, VALUE",
        Rule::adjust_line => "STEP.ADJUSTMENT = AMOUNT",
        Rule::altered_line => r#"STEP "WHAT WAS DONE""#,
        Rule::step_text_line => r#"STEP "TEXT""#,
        Rule::again_line => "STEP",
        Rule::day_line => "2026-03-02",
        Rule::defects_line => "STEP done",
        Rule::end_line => "STEP.READING",
        Rule::break_line => r#"STEP.NAME "WHAT HAPPENED""#,
        Rule::waive_line => r#"STEP "REASON" by PARTY"#,
        Rule::held_line => "STEP by PARTY",
        Rule::mended_line => r#"NUMBER "HOW""#,
        Rule::accepted_line => r#"NUMBER "REASON" by PARTY"#,
        Rule::justify_line => r#"STEP.ADJUSTMENT "REASON""#,
        Rule::expect_line => "STEP passes",
        _ => return None,
    };
    Some(format!("{} {rest}", line.word))
}

/// The words after which an outcome is expected, so that a misspelt one finds its neighbour.
pub(super) const STATES: [&str; 10] = [
    "passes",
    "fails",
    "undecided",
    "invalid",
    "recorded",
    "stale",
    "blocked",
    "skipped",
    "waived",
    "stopped",
];

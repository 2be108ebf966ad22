//! Two walks side by side, as documents (JSON): a record under another revision, and two records compared.

use schemars::JsonSchema;
use serde::Serialize;

use super::document::Rule;
use super::fill::rule;
use crate::report::compare::{self, Change, Comparison};
use crate::report::sides::{Figure, Tries};
use crate::report::under::{self, Under};
use crate::walk::carry::Remarks;

pub const UNDER_SCHEMA: &str = "bedway judge 1";
pub const COMPARE_SCHEMA: &str = "bedway compare 1";

/// What another revision of a procedure says of the entries of a record. Never the signed verdict.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct UnderDocument {
    /// What a reader must know before all else; first that this is not the signed verdict.
    pub warning: String,
    /// `bedway judge 1`.
    pub schema: String,
    /// The procedure frozen in the record, and the verdict on the record.
    pub recorded: Walk,
    /// The procedure judged under here, and the verdict that it comes to.
    pub under: Walk,
    /// Each rule and each reported result.
    pub rows: Vec<UnderRow>,
    /// What was taken over, and what was not.
    pub remarks: Remarks,
    /// Exceptions under the other revision, and what is open or stale.
    pub exceptions: Vec<String>,
    /// Steps that are open under it.
    pub open: Vec<String>,
    /// Steps that would have to be read again.
    pub stale: Vec<String>,
}

/// A procedure and the verdict that it comes to.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Walk {
    /// As its text says.
    pub title: String,
    /// As its text says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub revision: Option<String>,
    /// The file it is from: a record, or a procedure.
    pub file: String,
    /// Of the text of the procedure.
    pub sha256: String,
    /// How it holds a value against its limit, with the edition.
    pub decision: String,
    /// What the whole comes to under it.
    pub verdict: String,
}

/// One rule or reported result, as found and as left.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct UnderRow {
    /// Its name in the procedure.
    pub step: String,
    /// What is judged, in words.
    pub what: String,
    /// As it stands on the record.
    pub recorded: FoundAndLeft,
    /// Under the other revision.
    pub under: FoundAndLeft,
    /// The verdict, as found or as left, is another.
    pub turns: bool,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct FoundAndLeft {
    /// The first try.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<Rule>,
    /// Absent where there was one try: as left is as found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left: Option<Rule>,
}

/// Two records of a machine, compared.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct CompareDocument {
    /// What a reader must know before all else.
    pub warning: String,
    /// `bedway compare 1`.
    pub schema: String,
    /// The earlier record.
    pub then: RecordOf,
    /// The later record.
    pub now: RecordOf,
    /// The verdict of the older entries under the newer revision, not what was signed; absent under one revision.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub then_under_now: Option<String>,
    /// Facts of the machine that are not the same.
    pub facts_apart: Vec<Apart>,
    /// Instruments that are not the same.
    pub instruments_apart: Vec<Apart>,
    /// Each rule and each reported result that both have.
    pub rows: Vec<CompareRow>,
    /// What only the earlier record has.
    pub only_then: Vec<String>,
    /// What only the later record has.
    pub only_now: Vec<String>,
    /// How the earlier entries were taken over under the newer revision.
    pub remarks: Remarks,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct RecordOf {
    /// The name of the file.
    pub file: String,
    /// Of its whole lines.
    pub sha256: String,
    /// The time of its first line.
    pub opened: String,
    /// The time of its last line.
    pub last: String,
    /// The procedure frozen in it.
    pub procedure: Walk,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct Apart {
    /// What it is.
    pub what: String,
    /// In the earlier record.
    pub then: String,
    /// In the later one.
    pub now: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct CompareRow {
    /// Its name in the procedure.
    pub step: String,
    /// What is judged, in words.
    pub what: String,
    /// As it was signed, under its own revision.
    pub then: FoundAndLeft,
    /// The same entries under the newer revision.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub then_under_now: Option<FoundAndLeft>,
    /// The later record.
    pub now: FoundAndLeft,
    /// From how it was left then to how it was found now.
    pub between: ChangePart,
    /// From found to left now.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub work: Option<ChangePart>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ChangePart {
    /// `changed`, `no change that can be told`, `uncertainty not known`, `the same`, `not compared`.
    pub kind: String,
    /// Later less earlier, exact.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference: Option<String>,
    /// Of the difference.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// U of the difference.
    #[serde(rename = "U", skip_serializing_if = "Option::is_none")]
    pub expanded: Option<String>,
    /// The length that both were brought to first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub per: Option<String>,
    /// The earlier figure was turned round first: its plus and minus had been the other way.
    pub turned: bool,
    /// Why it could not be compared.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

pub fn under(found: &Under) -> UnderDocument {
    UnderDocument {
        warning: found.warnings.join(" "),
        schema: UNDER_SCHEMA.to_owned(),
        recorded: walk(&found.recorded),
        under: walk(&found.under),
        rows: found.rows.iter().map(under_row).collect(),
        remarks: found.remarks.clone(),
        exceptions: found.exceptions.clone(),
        open: found.open.clone(),
        stale: found.stale.clone(),
    }
}

pub fn comparison(found: &Comparison) -> CompareDocument {
    let apart = |items: &[(String, String, String)]| {
        let one = |(what, then, now): &(String, String, String)| Apart {
            what: what.clone(),
            then: then.clone(),
            now: now.clone(),
        };
        items.iter().map(one).collect()
    };
    CompareDocument {
        warning: found.warnings.join(" "),
        schema: COMPARE_SCHEMA.to_owned(),
        then: record(&found.old),
        now: record(&found.new),
        then_under_now: found.old_under_new.clone(),
        facts_apart: apart(&found.facts),
        instruments_apart: apart(&found.instruments),
        rows: found.rows.iter().map(compare_row).collect(),
        only_then: found.only_old.clone(),
        only_now: found.only_new.clone(),
        remarks: found.remarks.clone(),
    }
}

fn walk(walk: &under::Walk) -> Walk {
    Walk {
        title: walk.title.clone(),
        revision: walk.revision.clone(),
        file: walk.file.clone(),
        sha256: walk.sha256.clone(),
        decision: walk.decision.clone(),
        verdict: walk.verdict.clone(),
    }
}

fn record(which: &compare::Which) -> RecordOf {
    RecordOf {
        file: which.file.clone(),
        sha256: which.end.clone(),
        opened: which.opened.clone(),
        last: which.last.clone(),
        procedure: walk(&which.walk),
    }
}

fn under_row(row: &under::Row) -> UnderRow {
    UnderRow {
        step: row.step.clone(),
        what: row.what.clone(),
        recorded: tries(&row.recorded, &row.what),
        under: tries(&row.under, &row.what),
        turns: row.turns,
    }
}

fn compare_row(row: &compare::Row) -> CompareRow {
    CompareRow {
        step: row.step.clone(),
        what: row.what.clone(),
        then: tries(&row.old, &row.what),
        then_under_now: row.old_under_new.as_ref().map(|it| tries(it, &row.what)),
        now: tries(&row.new, &row.what),
        between: change(&row.between),
        work: row.work.as_ref().map(change),
    }
}

fn tries(tries: &Tries, what: &str) -> FoundAndLeft {
    let of = |figure: &Figure| rule(&figure.held, what.to_owned());
    FoundAndLeft { found: tries.found.as_ref().map(of), left: tries.left.as_ref().map(of) }
}

fn change(change: &Change) -> ChangePart {
    ChangePart {
        kind: change.kind.words().to_owned(),
        difference: change.difference.clone(),
        unit: change.unit.clone(),
        expanded: change.expanded.clone(),
        per: change.per.clone(),
        turned: change.turned,
        why: change.why.clone(),
    }
}

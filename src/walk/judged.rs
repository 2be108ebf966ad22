//! What follows from the entries of a try, as it stands on the record.

use serde::{Deserialize, Serialize};

/// A try of a step as judged: results exact in their shown unit, limits as scaled, verdicts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JudgedStep {
    pub step: String,
    #[serde(rename = "try")]
    pub number: u32,
    pub state: String,
    pub results: Vec<ResultLine>,
    pub rules: Vec<RuleLine>,
    /// What is advised: texts and amounts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub advice: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResultLine {
    pub name: String,
    /// One for each cell: an exact decimal, `p/q`, a word, or "awaited", "not read: ...", "invalid: ...".
    pub values: Vec<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// The sense in words, of a single value that has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub says: Option<String>,
    /// U = 2u of each cell of a reported result, to six significant digits; empty where it could not be worked out.
    #[serde(rename = "U", default, skip_serializing_if = "Vec::is_empty")]
    pub expanded: Vec<String>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RuleLine {
    pub name: String,
    pub verdict: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lower: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub upper: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<UncertaintyLine>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
}

/// How uncertain the value of a rule is, in the unit of the rule; figures to six significant digits.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UncertaintyLine {
    /// The decision rule with its edition: "guarded U (ISO 14253-1:1998)".
    pub rule: String,
    pub u: String,
    pub k: String,
    /// U = k u.
    #[serde(rename = "U")]
    pub expanded: String,
    /// Effective degrees of freedom, where they are not infinitely many.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub freedom: Option<String>,
    /// Probability that the true value lies within the limits.
    pub conformity: String,
    /// What the number of draws leaves open of it, where draws tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conformity_from: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conformity_to: Option<String>,
    /// How u was worked out; of draws their seed and number.
    pub method: String,
    /// Each contribution to u, the greatest first.
    pub budget: Vec<String>,
}

//! What the signatures of a record prove, and what they do not.

use std::fmt;

use super::{AllowedSigners, Amending, Listed, NAMESPACE, fingerprint, verify};
use crate::record::line::{Line, check_time};
use crate::record::reader::Record;
use crate::walk::event::{Event, HoldSignature};

/// In a line of a hold, what stands behind all that its witness signs.
const SIGNED: &[u8] = b",\"signed\":";

/// One signature, or the beginning of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignatureFinding {
    /// The number of the `signed` line, or of the `signing` line when nothing was signed after it.
    pub line: u64,
    pub time: String,
    pub party: String,
    pub name: String,
    pub identity: String,
    /// `SHA256:...`, empty when the key cannot be read.
    pub fingerprint: String,
    pub verdict: String,
    pub exceptions: Vec<String>,
    /// The step, where it is the signature of a witness at a hold; verdict and exceptions are empty then.
    pub hold: Option<String>,
    /// Under what this person added after the signing, and no word on the verdict.
    pub amends: bool,
    pub standing: Standing,
}

/// How far a signature can be relied on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// It fits, and the signers file gives this key to this identity (line of that file).
    Proved { line: u64 },
    /// It fits, and nothing but this record says whose key that is.
    KnownOnlyFromRecord,
    /// It fits, but the signers file does not give this key to this identity: why.
    NotAllowed(String),
    /// It does not hold: why.
    Bad(String),
    /// Someone began to sign here and did not.
    NotSigned,
}

impl Standing {
    /// Whether the signature covers what stands before it: someone with that key signed exactly these bytes.
    pub fn fits(&self) -> bool {
        matches!(self, Self::Proved { .. } | Self::KnownOnlyFromRecord)
    }
}

impl fmt::Display for SignatureFinding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, time, party, name, identity, fingerprint, standing, amends, .. } = self;
        let hold = self.hold.as_ref().map(|step| format!(", witness of {step}")).unwrap_or_default();
        let amends = if *amends { ", of what was added" } else { "" };
        write!(f, "line {line}, {time}: {name}, {party}{hold}{amends} ({identity}, key {fingerprint}): ")?;
        match standing {
            Standing::Proved { line } => {
                write!(f, "signature good, and line {line} of the signers file says that this is their key")
            }
            Standing::KnownOnlyFromRecord => {
                write!(
                    f,
                    "signature good, but the key is known only from this record: it does not prove who signed"
                )
            }
            Standing::NotAllowed(reason) => write!(f, "signature NOT accepted: {reason}"),
            Standing::Bad(reason) => write!(f, "signature NOT good: {reason}"),
            Standing::NotSigned => write!(f, "began to sign here and did not"),
        }
    }
}

/// All that the signatures of a record say.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Signatures {
    pub findings: Vec<SignatureFinding>,
    /// Those of witnesses at hold points, over what stood before each. Not a word on the verdict.
    pub holds: Vec<SignatureFinding>,
    /// Line and step of those on an early record that do not cover their own line.
    pub unbound_holds: Vec<(u64, String)>,
    /// Parties that are expected and have no signature on the verdict that fits: `operator` and those of the procedure.
    pub missing: Vec<String>,
    /// Lines (first, last) after the last signature that fits: covered by none.
    pub uncovered: Option<(u64, u64)>,
    /// What was added, without a signature after it that fits, of who added it.
    pub amending: Amending,
    /// Signatures with a key that has signed for someone else before, and for whom: they prove one person, not two.
    pub shared_keys: Vec<(u64, String)>,
    /// Lines that contradict others, and how.
    pub contradictions: Vec<(u64, String)>,
}

impl Signatures {
    /// Whether nothing signed is wrong. Says nothing about who is missing, nor whether keys are known.
    pub fn hold(&self) -> bool {
        let wrong = |finding: &SignatureFinding| {
            matches!(finding.standing, Standing::Bad(_) | Standing::NotAllowed(_))
        };
        self.contradictions.is_empty()
            && self.amending.unsigned.is_empty()
            && !self.findings.iter().chain(&self.holds).any(wrong)
    }
}

/// Checks every signature of a record over the bytes it was read from. Without `signers`, and for identities that are
/// not in them, a key is known only from the record.
pub fn check_signatures(bytes: &[u8], record: &Record, signers: Option<&AllowedSigners>) -> Signatures {
    let mut found = Signatures::default();
    let mut expected = vec!["operator".to_owned()];
    let mut pending: Option<&Line> = None;
    let mut closed: Option<(&String, &Vec<String>)> = None;
    let mut last_fitting = None;
    let mut keys: Vec<(&String, &String)> = Vec::new();

    for (line, start) in record.lines.iter().zip(&record.starts) {
        match &line.event {
            Event::Opened { parties, .. } => {
                for party in parties {
                    if !expected.contains(party) {
                        expected.push(party.clone());
                    }
                }
            }
            Event::Closed { verdict, exceptions, .. } => closed = Some((verdict, exceptions)),
            Event::Signing { verdict, exceptions, .. } => {
                if let Some(begun) = pending.replace(line) {
                    found.findings.extend(finding(begun, begun, Standing::NotSigned));
                }
                if closed != Some((verdict, exceptions)) {
                    let how = "the verdict and exceptions signed are not those the walk was closed with";
                    found.contradictions.push((line.seq, how.to_owned()));
                }
            }
            Event::Signed { bytes: count, signature } => {
                let Some(signing) = pending.take() else {
                    let how = "a signature without a `signing` line that says whose it is";
                    found.contradictions.push((line.seq, how.to_owned()));
                    continue;
                };
                let covered = usize::try_from(*start).ok().and_then(|start| bytes.get(..start));
                let standing = match covered {
                    Some(covered) if count == start => match &signing.event {
                        Event::Signing { identity, key, .. } => {
                            judge(identity, key, line, covered, signature, signers)
                        }
                        _ => Standing::Bad("no `signing` line says whose it is".to_owned()),
                    },
                    _ => Standing::Bad(format!(
                        "it says that it covers {count} bytes, but {start} stand before it"
                    )),
                };
                if let Event::Signing { party, key, .. } = &signing.event {
                    note_key(&mut keys, &mut found.shared_keys, line.seq, key, party);
                }
                let mut amends = false;
                if let Event::Signing { party, name, .. } = &signing.event {
                    amends = found.amending.by(party, name).next().is_some();
                    if standing.fits() {
                        last_fitting = Some(line.seq);
                        found.amending.sign(party, name);
                    }
                }
                found
                    .findings
                    .extend(finding(signing, line, standing).map(|it| SignatureFinding { amends, ..it }));
            }
            Event::Amended { .. } => found.amending.read(line),
            Event::Held { step, party, name, signed: Some(signed) } => {
                let HoldSignature { identity, key, signature, .. } = signed;
                let standing = match covered_by_hold(bytes, *start, signed.bytes) {
                    Ok(covered) => judge(identity, key, line, covered, signature, signers),
                    Err(how) => Standing::Bad(how),
                };
                if signed.bytes.is_none() && standing.fits() {
                    found.unbound_holds.push((line.seq, step.clone()));
                }
                note_key(&mut keys, &mut found.shared_keys, line.seq, key, party);
                found.holds.push(SignatureFinding {
                    line: line.seq,
                    time: line.time.clone(),
                    party: party.clone(),
                    name: name.clone(),
                    identity: identity.clone(),
                    fingerprint: fingerprint(key).unwrap_or_default(),
                    verdict: String::new(),
                    exceptions: Vec::new(),
                    hold: Some(step.clone()),
                    amends: false,
                    standing,
                });
            }
            _ => {}
        }
    }
    if let Some(begun) = pending {
        found.findings.extend(finding(begun, begun, Standing::NotSigned));
    }
    let on_the_verdict = |it: &&SignatureFinding| it.standing.fits() && !it.amends;
    let signed = |party: &String| found.findings.iter().filter(on_the_verdict).any(|it| it.party == *party);
    found.missing = expected.into_iter().filter(|party| !signed(party)).collect();
    let last = record.lines.len() as u64;
    found.uncovered = last_fitting.filter(|fitting| *fitting < last).map(|fitting| (fitting + 1, last));
    found
}

/// The bytes that a witness has signed: up to the word `signed` of their own line, so that the step, the party and the
/// name are among them; on an early record those before the line.
fn covered_by_hold(bytes: &[u8], start: u64, count: Option<u64>) -> Result<&[u8], String> {
    let size = |count: u64| usize::try_from(count).unwrap_or(usize::MAX);
    let start = size(start);
    let Some(count) = count.map(size) else { return Ok(bytes.get(..start).unwrap_or_default()) };
    let line = bytes.get(start..).unwrap_or_default();
    let word = line.windows(SIGNED.len()).position(|window| window == SIGNED);
    let end = start + word.unwrap_or_default();
    match bytes.get(..count).filter(|_| count == end) {
        Some(covered) => Ok(covered),
        None => Err(format!("it says that it covers {count} bytes, but {end} stand before it")),
    }
}

/// Remembers whose key it is, and notes it if it has signed for another party before.
fn note_key<'a>(
    keys: &mut Vec<(&'a String, &'a String)>,
    shared: &mut Vec<(u64, String)>,
    line: u64,
    key: &'a String,
    party: &'a String,
) {
    let other = keys.iter().find(|(known, by)| *known == key && *by != party);
    shared.extend(other.map(|(_, by)| (line, (*by).clone())));
    keys.push((key, party));
}

fn judge(
    identity: &str,
    key: &str,
    signed: &Line,
    covered: &[u8],
    signature: &str,
    signers: Option<&AllowedSigners>,
) -> Standing {
    if let Err(fault) = verify(key, covered, signature) {
        return Standing::Bad(fault.to_string());
    }
    let (Some(signers), Ok(time)) = (signers, check_time(&signed.time)) else {
        return Standing::KnownOnlyFromRecord;
    };
    match signers.judge(identity, key, NAMESPACE, time) {
        Listed::Yes { line } => Standing::Proved { line },
        Listed::Unknown => Standing::KnownOnlyFromRecord,
        Listed::OtherKey { line } => {
            Standing::NotAllowed(format!("line {line} of the signers file gives `{identity}` another key"))
        }
        Listed::Refused { line, reason } => {
            Standing::NotAllowed(format!("line {line} of the signers file: {reason}"))
        }
    }
}

fn finding(signing: &Line, at: &Line, standing: Standing) -> Option<SignatureFinding> {
    let Event::Signing { party, name, identity, key, verdict, exceptions } = &signing.event else {
        return None;
    };
    Some(SignatureFinding {
        line: at.seq,
        time: at.time.clone(),
        party: party.clone(),
        name: name.clone(),
        identity: identity.clone(),
        fingerprint: fingerprint(key).unwrap_or_default(),
        verdict: verdict.clone(),
        exceptions: exceptions.clone(),
        hold: None,
        amends: false,
        standing,
    })
}

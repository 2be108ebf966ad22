//! Signatures over a record, in the form that `ssh-keygen -Y sign` writes and `ssh-keygen -Y verify` checks (SSHSIG:
//! the file PROTOCOL.sshsig of OpenSSH; Ed25519 keys in it: RFC 8709). Namespace `bedway`, hash SHA-512.
//!
//! A signature covers all bytes of the record before its own line, from the first. Nothing here decides whether someone
//! may sign, and nothing asks for a passphrase: the caller hands in a way to ask.

mod allowed;
mod amending;
mod check;
mod key;
mod short_scalar;

use ssh_key::{HashAlg, PublicKey, SshSig};
use thiserror::Error;

use super::line::{Line, opening};
use super::store::{Store, StoreFault};
use super::writer::{AppendFault, Writer};
use crate::walk::event::{Event, HoldSignature};

pub use allowed::{AllowedSigners, Listed, SignersFault};
pub use amending::{Added, Amending, same_person};
pub use check::{SignatureFinding, Signatures, Standing, check_signatures};
pub use key::{CryptoRngCore, KeyFault, OsRng, SigningKey};

/// What keeps a signature over a record from being used as one over anything else.
pub const NAMESPACE: &str = "bedway";

/// Why a signature does not hold.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SignatureFault {
    #[error("it cannot be read as an SSH signature ({0})")]
    Form(String),
    #[error("it was made for `{0}`, not for `bedway`")]
    Namespace(String),
    #[error("it was made over a {0} hash, not over SHA-512")]
    Hash(String),
    #[error("the key named in the record cannot be read ({0})")]
    Key(String),
    #[error("it was made with the key {made}, not with the key {named} that the record names")]
    OtherKey { made: String, named: String },
    #[error("it does not fit the bytes that stand before it, or was not made with that key")]
    Wrong,
}

/// Checks an armoured signature over exactly `bytes` against an OpenSSH public key line.
pub fn verify(key: &str, bytes: &[u8], armoured: &str) -> Result<(), SignatureFault> {
    let key = PublicKey::from_openssh(key).map_err(|fault| SignatureFault::Key(fault.to_string()))?;
    let signature = SshSig::from_pem(armoured).map_err(|fault| SignatureFault::Form(fault.to_string()))?;
    if signature.version() != SshSig::VERSION {
        return Err(SignatureFault::Form(format!("version {}", signature.version())));
    }
    if signature.namespace() != NAMESPACE {
        return Err(SignatureFault::Namespace(signature.namespace().to_owned()));
    }
    if signature.hash_alg() != HashAlg::Sha512 {
        return Err(SignatureFault::Hash(signature.hash_alg().to_string()));
    }
    if signature.public_key() != key.key_data() {
        let made = signature.public_key().fingerprint(HashAlg::Sha256).to_string();
        return Err(SignatureFault::OtherKey { made, named: key.fingerprint(HashAlg::Sha256).to_string() });
    }
    key.verify(NAMESPACE, bytes, &signature).map_err(|_| SignatureFault::Wrong)
}

/// `SHA256:...` of a public key line, as `ssh-keygen -l` shows it.
pub fn fingerprint(key: &str) -> Result<String, SignatureFault> {
    let key = PublicKey::from_openssh(key).map_err(|fault| SignatureFault::Key(fault.to_string()))?;
    Ok(key.fingerprint(HashAlg::Sha256).to_string())
}

/// What a party puts its signature to.
#[derive(Debug, Clone)]
pub struct Statement {
    /// `operator`, or one of the parties of the procedure.
    pub party: String,
    pub name: String,
    pub verdict: String,
    /// As shown to this person.
    pub exceptions: Vec<String>,
}

/// A signature that stands in the record.
#[derive(Debug)]
pub struct SignedLines {
    pub signing: Line,
    pub signed: Line,
    pub identity: String,
    /// The file beside the record that holds the same signature (`IDENTITY.sig`, after the name of the record), or why
    /// it could not be written. The record is signed in either case.
    pub beside: Result<String, StoreFault>,
    /// The file beside the record that holds the line of this key for a file of allowed signers.
    pub signer: Result<String, StoreFault>,
}

/// Why nothing was signed.
#[derive(Debug, Error)]
pub enum SignFault {
    #[error(transparent)]
    Append(#[from] AppendFault),
    #[error(transparent)]
    Store(#[from] StoreFault),
    #[error(transparent)]
    Key(#[from] KeyFault),
}

/// Writes `signing`, signs all bytes up to there, writes `signed`, and the signature once more beside the record.
pub fn sign_record<S: Store>(
    writer: &mut Writer<S>,
    key: &SigningKey,
    time: &str,
    who: &str,
    identity: &str,
    statement: Statement,
) -> Result<SignedLines, SignFault> {
    let identity = to_identity(identity);
    let Statement { party, name, verdict, exceptions } = statement;
    let public = key.public_line()?;
    let signing =
        Event::Signing { party, name, identity: identity.clone(), key: public.clone(), verdict, exceptions };
    let signing = writer.append(time, who, signing)?;
    let bytes = writer.bytes()?;
    let signature = key.sign(&bytes)?;
    let event = Event::Signed { bytes: bytes.len() as u64, signature: signature.clone() };
    let signed = writer.append(time, who, event)?;
    let beside = put_beside(writer.store(), &identity, "sig", &signature);
    let signer = put_signer(writer, &identity, &public);
    Ok(SignedLines { signing, signed, identity, beside, signer })
}

/// Signs for the witness of a hold all that stands in the record, and of the line that comes next that it is they, for
/// which party and at which step.
pub fn sign_hold<S: Store>(
    writer: &mut Writer<S>,
    lines: &[Line],
    key: &SigningKey,
    (time, who): (&str, &str),
    held: &Event,
) -> Result<HoldSignature, SignFault> {
    let name = if let Event::Held { name, .. } = held { name } else { "" };
    let identity = identity_for(lines, name);
    let mut covered = writer.bytes()?;
    covered.extend(opening(writer.seq() + 1, time, who, held).map_err(AppendFault::from)?);
    let signature = key.sign(&covered)?;
    Ok(HoldSignature { bytes: Some(covered.len() as u64), identity, key: key.public_line()?, signature })
}

/// Puts the line of a key for a file of allowed signers beside the record, as `IDENTITY.signer`: it is too long for a
/// screen to be copied from.
pub fn put_signer<S: Store>(writer: &mut Writer<S>, identity: &str, key: &str) -> Result<String, StoreFault> {
    let line = format!("{identity} namespaces=\"{NAMESPACE}\" {key}\n");
    put_beside(writer.store(), identity, "signer", &line)
}

/// A second signature of the same person goes to `IDENTITY.2.sig`, and so on: none is overwritten.
fn put_beside<S: Store>(
    store: &mut S,
    identity: &str,
    ending: &str,
    text: &str,
) -> Result<String, StoreFault> {
    let mut number = 1_u32;
    loop {
        let suffix = match number {
            1 => format!("{identity}.{ending}"),
            _ => format!("{identity}.{number}.{ending}"),
        };
        let fault = |source| StoreFault::new("could not write beside the record", suffix.clone(), source);
        match store.read_beside(&suffix).map_err(fault)? {
            Some(there) if there == text.as_bytes() => return Ok(suffix),
            Some(_) => number += 1,
            None => {
                store.append_beside(&suffix, text.as_bytes()).map_err(fault)?;
                return Ok(suffix);
            }
        }
    }
}

/// The principal under which a person signs this record: the one used before, or one made from the name that nobody
/// else has here.
pub fn identity_for(lines: &[Line], name: &str) -> String {
    let mut taken = Vec::new();
    for line in lines {
        let (signer, identity) = match &line.event {
            Event::Signing { name, identity, .. } => (name, identity),
            Event::Held { name, signed: Some(signed), .. } => (name, &signed.identity),
            _ => continue,
        };
        if signer == name {
            return identity.clone();
        }
        taken.push(identity.as_str());
    }
    let base = to_identity(name);
    let numbered = (2_u32..).map(|number| format!("{base}-{number}"));
    let mut candidates = std::iter::once(base.clone()).chain(numbered);
    candidates.find(|candidate| !taken.contains(&candidate.as_str())).unwrap_or(base)
}

/// A name in the letters `a`-`z`, digits and single hyphens: safe in a file name, in a signers file and on a command
/// line. `Jörg d'Été` gives `joerg-d-ete`; letters of other scripts give their code, so that names stay apart.
pub fn to_identity(name: &str) -> String {
    let mut identity = String::new();
    for letter in name.chars().flat_map(char::to_lowercase) {
        match letter {
            'a'..='z' | '0'..='9' => identity.push(letter),
            'ä' | 'æ' => identity.push_str("ae"),
            'ö' | 'ø' | 'œ' => identity.push_str("oe"),
            'ü' => identity.push_str("ue"),
            'å' => identity.push_str("aa"),
            'ß' => identity.push_str("ss"),
            'þ' => identity.push_str("th"),
            'à' | 'á' | 'â' | 'ã' | 'ā' | 'ă' | 'ą' => identity.push('a'),
            'ç' | 'ć' | 'č' => identity.push('c'),
            'ď' | 'ð' | 'đ' => identity.push('d'),
            'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ė' | 'ę' | 'ě' => identity.push('e'),
            'ğ' => identity.push('g'),
            'ì' | 'í' | 'î' | 'ï' | 'ī' | 'ı' => identity.push('i'),
            'ł' | 'ľ' => identity.push('l'),
            'ñ' | 'ń' | 'ň' => identity.push('n'),
            'ò' | 'ó' | 'ô' | 'õ' | 'ō' | 'ő' => identity.push('o'),
            'ř' => identity.push('r'),
            'ś' | 'š' | 'ş' | 'ș' => identity.push('s'),
            'ť' | 'ț' => identity.push('t'),
            'ù' | 'ú' | 'û' | 'ū' | 'ů' | 'ű' => identity.push('u'),
            'ý' | 'ÿ' => identity.push('y'),
            'ź' | 'ż' | 'ž' => identity.push('z'),
            other if other.is_alphanumeric() => identity.push_str(&format!("u{:04x}", u32::from(other))),
            _ if !identity.is_empty() && !identity.ends_with('-') => identity.push('-'),
            _ => {}
        }
    }
    let identity = identity.trim_end_matches('-');
    let kept: String = identity.chars().take(64).collect();
    if kept.is_empty() { "signer".to_owned() } else { kept }
}

#[cfg(test)]
mod tests {
    use super::to_identity;

    #[test]
    fn an_identity_is_safe_wherever_it_is_written() {
        for (name, identity) in [
            ("Ann Example", "ann-example"),
            ("  J. Jörg  d'Été ", "j-joerg-d-ete"),
            ("../../etc/passwd", "etc-passwd"),
            ("-rf *", "rf"),
            ("!x,y\"", "x-y"),
            ("中 A", "u4e2d-a"),
            ("...", "signer"),
        ] {
            assert_eq!(to_identity(name), identity, "{name}");
            assert_eq!(to_identity(identity), identity, "an identity gives itself");
        }
    }
}

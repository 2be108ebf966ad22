//! How a reader checks the record and its signatures with `ssh-keygen` and `sha256sum` alone.

use super::model::{Proof, SignatureLine};

/// Where a record ends in this, its signatures lie beside it under what stands before.
const ENDING: &str = ".record.jsonl";

/// The two commands of the pipe that checks a signature.
pub fn command(it: &SignatureLine, proof: &Proof) -> [String; 2] {
    let side = proof.record.strip_suffix(ENDING).unwrap_or(&proof.record);
    let (record, signature) = (quoted(&proof.record), quoted(&format!("{side}.{}.sig", it.identity)));
    [
        format!("head -c {} {record} |", it.bytes),
        format!(
            "ssh-keygen -Y verify -f allowed_signers -I {} -n bedway -s {signature}",
            quoted(&it.identity)
        ),
    ]
}

/// What the commands rest on; empty where nobody has signed.
pub fn explained(signatures: &[SignatureLine], proof: &Proof) -> Vec<String> {
    if signatures.iter().all(|it| it.bytes == 0) {
        return Vec::new();
    }
    let record = quoted(&proof.record);
    vec![
        "allowed_signers holds a line for each person, identity and key, as that person has confirmed it to you. The \
         .signer files beside the record hold the keys as the record names them."
            .to_owned(),
        format!("The record itself: sha256sum {record} must give {}.", proof.end),
        format!(
            "A .sig file that is lost stands in the record as well, behind the BYTES that head takes: tail -c +$((BYTES + \
             1)) {record} | head -n 1 | sed 's/.*\"signature\":\"//; s/\".*//; s/\\\\u000a/\\n/g'"
        ),
    ]
}

/// A name as a shell takes it for one word and nothing else.
fn quoted(name: &str) -> String {
    let plain = |letter: char| letter.is_alphanumeric() || "._-+=@%,".contains(letter);
    match name.chars().all(plain) && !name.starts_with('-') && !name.is_empty() {
        true => name.to_owned(),
        // A path in front keeps a name that begins with a dash from being read as an option.
        false => {
            format!("{}'{}'", if name.starts_with('-') { "./" } else { "" }, name.replace('\'', "'\\''"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_one_word_to_the_shell() {
        assert_eq!(quoted("lathe-2026.record.jsonl"), "lathe-2026.record.jsonl");
        assert_eq!(quoted("Bo's lathe; rm x"), "'Bo'\\''s lathe; rm x'");
        assert_eq!(quoted("-n.record.jsonl"), "./'-n.record.jsonl'");
    }
}

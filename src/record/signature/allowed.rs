//! The file that says whose key is whose: OpenSSH's allowed signers (ssh-keygen(1), ALLOWED SIGNERS).
//!
//! ```text
//! ann-example                                  ssh-ed25519 AAAA... comment
//! *@shop,!bo@shop namespaces="bedway",valid-before="20300101Z" ssh-rsa AAAA...
//! ```
//!
//! Its lines are judged in order and as `ssh-keygen -Y verify` judges them. A line that cannot be read only matters to
//! those it names. Dates without `Z` are in the time zone handed in.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use ssh_key::PublicKey;
use std::fmt;

/// The lines of a signers file.
#[derive(Debug, Clone, Default)]
pub struct AllowedSigners {
    lines: Vec<SignersLine>,
}

#[derive(Debug, Clone)]
struct SignersLine {
    number: u64,
    principals: String,
    entry: Result<Entry, String>,
}

#[derive(Debug, Clone)]
struct Entry {
    options: Options,
    key: PublicKey,
}

#[derive(Debug, Clone, Default)]
struct Options {
    authority: bool,
    namespaces: Option<String>,
    valid_after: Option<Timestamp>,
    valid_before: Option<Timestamp>,
}

/// A line of a signers file that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignersFault {
    pub line: u64,
    pub reason: String,
}

impl fmt::Display for SignersFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {} of the signers file cannot be read: {}", self.line, self.reason)
    }
}

/// How a signers file stands to a key and the one who says it is theirs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Listed {
    /// This line gives this key to this identity.
    Yes { line: u64 },
    /// No line names this identity.
    Unknown,
    /// Lines name this identity, none with this key.
    OtherKey { line: u64 },
    /// A line gives this key to this identity, but not for this: why.
    Refused { line: u64, reason: String },
}

impl AllowedSigners {
    /// Reads a whole file. Lines that cannot be read are kept as such ([`faults`](Self::faults)).
    pub fn parse(text: &str, zone: &TimeZone) -> Self {
        let mut lines = Vec::new();
        for (index, line) in text.lines().enumerate() {
            let line = line.trim_matches([' ', '\t', '\r']);
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let (principals, rest) = principals(line);
            let entry = match rest {
                Some(rest) => entry(rest, zone),
                None => Err("no key stands after the names".to_owned()),
            };
            lines.push(SignersLine { number: index as u64 + 1, principals: principals.to_owned(), entry });
        }
        Self { lines }
    }

    /// The lines that cannot be read, for a warning.
    pub fn faults(&self) -> Vec<SignersFault> {
        let fault = |line: &SignersLine| {
            line.entry.as_ref().err().map(|reason| SignersFault { line: line.number, reason: reason.clone() })
        };
        self.lines.iter().filter_map(fault).collect()
    }

    /// Whether `key` (an OpenSSH public key line) is that of `identity` in `namespace` at `time`.
    pub fn judge(&self, identity: &str, key: &str, namespace: &str, time: Timestamp) -> Listed {
        let Ok(key) = PublicKey::from_openssh(key) else { return Listed::Unknown };
        let mut listed = Listed::Unknown;
        for SignersLine { number, principals, entry } in &self.lines {
            if !matches_list(identity, principals) {
                continue;
            }
            let line = *number;
            let refused = |reason: String| Listed::Refused { line, reason };
            let entry = match entry {
                Ok(entry) => entry,
                Err(reason) => {
                    if listed == Listed::Unknown {
                        listed = refused(reason.clone());
                    }
                    continue;
                }
            };
            if entry.options.authority || entry.key.key_data() != key.key_data() {
                if listed == Listed::Unknown {
                    listed = Listed::OtherKey { line };
                }
                continue;
            }
            match entry.options.refusal(namespace, time) {
                None => return Listed::Yes { line },
                Some(reason) => listed = refused(reason),
            }
        }
        listed
    }
}

impl Options {
    fn refusal(&self, namespace: &str, time: Timestamp) -> Option<String> {
        if let Some(namespaces) = &self.namespaces
            && !matches_list(namespace, namespaces)
        {
            return Some(format!("the key is for `{namespaces}` only, not for `{namespace}`"));
        }
        if let Some(after) = self.valid_after.filter(|after| time < *after) {
            return Some(format!("the key is valid only after {after}"));
        }
        if let Some(before) = self.valid_before.filter(|before| time > *before) {
            return Some(format!("the key was valid only before {before}"));
        }
        None
    }
}

/// The first word, which may stand in quotes, and what follows it.
fn principals(line: &str) -> (&str, Option<&str>) {
    let (names, rest) = match line.strip_prefix('"') {
        Some(quoted) => match quoted.split_once('"') {
            Some((names, rest)) => (names, rest),
            None => return (quoted, None),
        },
        None => line.split_at(line.find([' ', '\t']).unwrap_or(line.len())),
    };
    let rest = rest.trim_start_matches([' ', '\t']);
    (names, (!rest.is_empty()).then_some(rest))
}

fn entry(rest: &str, zone: &TimeZone) -> Result<Entry, String> {
    if let Some(key) = public_key(rest) {
        return Ok(Entry { options: Options::default(), key });
    }
    let end = end_of_options(rest);
    let (words, key) = rest.split_at(end);
    let options = options(words, zone)?;
    let key = public_key(key.trim_start()).ok_or("its key cannot be read")?;
    Ok(Entry { options, key })
}

fn public_key(text: &str) -> Option<PublicKey> {
    let mut words = text.split_ascii_whitespace();
    let (kind, data) = (words.next()?, words.next()?);
    PublicKey::from_openssh(&format!("{kind} {data}")).ok()
}

/// The first blank that stands outside quotes.
fn end_of_options(text: &str) -> usize {
    let (mut quoted, mut escaped) = (false, false);
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => quoted = !quoted,
            b' ' | b'\t' if !quoted => return at,
            _ => {}
        }
    }
    text.len()
}

fn options(text: &str, zone: &TimeZone) -> Result<Options, String> {
    let mut options = Options::default();
    let mut rest = text;
    loop {
        let end = rest.find(['=', ',']).unwrap_or(rest.len());
        let (name, after) = rest.split_at(end);
        let (value, after) = match after.strip_prefix('=') {
            Some(value) => quoted(name, value)?,
            None => (None, after),
        };
        let twice = |there: bool| if there { Err(format!("`{name}` stands twice")) } else { Ok(()) };
        match (name.to_ascii_lowercase().as_str(), value) {
            ("cert-authority", None) => options.authority = true,
            ("namespaces", Some(value)) => {
                twice(options.namespaces.is_some())?;
                options.namespaces = Some(value);
            }
            ("valid-after", Some(value)) => {
                twice(options.valid_after.is_some())?;
                options.valid_after = Some(instant(&value, zone)?);
            }
            ("valid-before", Some(value)) => {
                twice(options.valid_before.is_some())?;
                options.valid_before = Some(instant(&value, zone)?);
            }
            _ => return Err(format!("`{name}` is neither a kind of key nor an option")),
        }
        match after.strip_prefix(',') {
            Some(next) => rest = next,
            None if after.is_empty() => break,
            None => return Err(format!("`{after}` stands after `{name}`")),
        }
    }
    if let (Some(after), Some(before)) = (options.valid_after, options.valid_before)
        && before <= after
    {
        return Err("it ends to be valid before it begins".to_owned());
    }
    Ok(options)
}

/// A value in double quotes, in which `\"` is a quote, and what follows it.
fn quoted<'a>(name: &str, text: &'a str) -> Result<(Option<String>, &'a str), String> {
    let inner =
        text.strip_prefix('"').ok_or_else(|| format!("the value of `{name}` must stand in quotes"))?;
    let mut value = String::new();
    let mut letters = inner.char_indices().peekable();
    while let Some((at, letter)) = letters.next() {
        match letter {
            '"' => return Ok((Some(value), inner.get(at + 1..).unwrap_or_default())),
            '\\' if letters.next_if(|(_, next)| *next == '"').is_some() => value.push('"'),
            other => value.push(other),
        }
    }
    Err(format!("the quote after `{name}=` is not closed"))
}

/// `YYYYMMDD`, `YYYYMMDDHHMM` or `YYYYMMDDHHMMSS`, with `Z` for UTC.
fn instant(text: &str, zone: &TimeZone) -> Result<Timestamp, String> {
    let fault =
        || format!("`{text}` is no time such as 20300101, 203001011200 or 20300101120000, with Z for UTC");
    let (digits, zone) = match text.strip_suffix(['Z', 'z']) {
        Some(digits) => (digits, &TimeZone::UTC),
        None => (text, zone),
    };
    if ![8, 12, 14].contains(&digits.len()) || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(fault());
    }
    let part =
        |from: usize, to: usize| digits.get(from..to).map_or(Some(0), |digits| digits.parse::<i8>().ok());
    let when = (|| {
        let year = digits.get(0..4)?.parse().ok()?;
        let (hour, minute, second) = (part(8, 10)?, part(10, 12)?, part(12, 14)?);
        DateTime::new(year, part(4, 6)?, part(6, 8)?, hour, minute, second, 0).ok()
    })();
    when.and_then(|when| zone.to_timestamp(when).ok()).ok_or_else(fault)
}

/// Comma-separated patterns; one that begins with `!` and fits rules the text out, wherever it stands.
fn matches_list(text: &str, list: &str) -> bool {
    let mut found = false;
    for pattern in list.split(',') {
        match pattern.strip_prefix('!') {
            Some(pattern) if matches(text.as_bytes(), pattern.as_bytes()) => return false,
            Some(_) => {}
            None => found |= matches(text.as_bytes(), pattern.as_bytes()),
        }
    }
    found
}

/// `*` stands for any bytes, `?` for one. Goes back only to the last `*`, so that no pattern takes long.
fn matches(text: &[u8], pattern: &[u8]) -> bool {
    let (mut at, mut next) = (0, 0);
    let mut star: Option<(usize, usize)> = None;
    while at < text.len() {
        match pattern.get(next) {
            Some(b'*') => {
                star = Some((at, next));
                next += 1;
            }
            Some(b'?') => (at, next) = (at + 1, next + 1),
            Some(byte) if text.get(at) == Some(byte) => (at, next) = (at + 1, next + 1),
            _ => match star {
                Some((from, pattern_at)) => {
                    star = Some((from + 1, pattern_at));
                    (at, next) = (from + 1, pattern_at + 1);
                }
                None => return false,
            },
        }
    }
    pattern.get(next..).unwrap_or_default().iter().all(|byte| *byte == b'*')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_and_their_negation() {
        for (text, list, fits) in [
            ("ann", "ann", true),
            ("ann", "bo,ann", true),
            ("ann", "a*", true),
            ("ann", "a?n", true),
            ("ann", "a?", false),
            ("ann", "*,!ann", false),
            ("ann", "!ann,*", false),
            ("ann", "!bo", false),
            ("ann", "!bo,*", true),
            ("ann@shop", "*@shop", true),
            ("Ann", "ann", false),
            ("aaaaaaaaaaaaaaaaaaaaaaaaaaaaaab", "*a*a*a*a*a*a*a*a*a*c", false),
        ] {
            assert_eq!(matches_list(text, list), fits, "{text} in {list}");
        }
    }

    #[test]
    fn a_date_without_z_is_in_the_zone_handed_in() {
        let zone = TimeZone::fixed(jiff::tz::offset(2));
        let shown = |text| instant(text, &zone).map(|instant| instant.to_string());
        assert_eq!(shown("20300101").unwrap(), "2029-12-31T22:00:00Z");
        assert_eq!(shown("20300101Z").unwrap(), "2030-01-01T00:00:00Z");
        assert_eq!(shown("203001011230").unwrap(), "2030-01-01T10:30:00Z");
        assert_eq!(shown("20300101123015Z").unwrap(), "2030-01-01T12:30:15Z");
        for bad in ["2030", "20301301", "2030010125", "20300101250000", "2030-01-01", ""] {
            assert!(shown(bad).is_err(), "{bad}");
        }
    }
}

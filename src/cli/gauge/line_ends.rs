//! Cuts what comes down a cable into lines: CR, LF or both end one; empty lines are none.

/// Of a longer line no more is kept; it is no reading anyway.
const LONGEST: usize = 200;

#[derive(Debug, Default)]
pub struct LineEnds {
    bytes: Vec<u8>,
}

impl LineEnds {
    /// The lines that these bytes end.
    pub fn take(&mut self, bytes: &[u8]) -> Vec<String> {
        let mut lines = Vec::new();
        for byte in bytes {
            match byte {
                b'\r' | b'\n' => lines.extend(self.rest()),
                byte if self.bytes.len() < LONGEST => self.bytes.push(*byte),
                _ => {}
            }
        }
        lines
    }

    /// What stands without a line end.
    pub fn rest(&mut self) -> Option<String> {
        let bytes = std::mem::take(&mut self.bytes);
        let text = match String::from_utf8(bytes) {
            Ok(text) => text,
            // Small devices send the degree sign of the older table, whose codes are those of Unicode.
            Err(other) => other.into_bytes().into_iter().map(char::from).collect(),
        };
        (!text.trim().is_empty()).then_some(text)
    }

    /// Why the gauge is gone, and what it had half sent.
    pub fn cut_off(&mut self, reason: &str) -> String {
        match self.rest() {
            Some(half) => format!("{reason}; \"{}\" was cut off and is not taken", half.trim()),
            None => reason.to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_with_cr_lf_or_both_wherever_the_bytes_are_cut() {
        let sent = b"+0.012\r\n-0.004\r0.5\n\r\n 0.6";
        for cut in 0..=sent.len() {
            let mut ends = LineEnds::default();
            let mut lines = ends.take(&sent[..cut]);
            lines.extend(ends.take(&sent[cut..]));
            assert_eq!(lines, ["+0.012", "-0.004", "0.5"], "cut at {cut}");
            assert_eq!(ends.rest().as_deref(), Some(" 0.6"));
        }
    }

    #[test]
    fn noise_is_bounded_and_an_old_degree_sign_is_read() {
        let mut ends = LineEnds::default();
        assert_eq!(ends.take(b"21.4\xb0C\r"), ["21.4\u{b0}C"]);
        assert_eq!(ends.take(&[b'7'; 100_000]).len(), 0);
        assert_eq!(ends.take(b"\r")[0].len(), LONGEST);
    }
}
